"""The key of the bay's drawing: what the numbers and lines stand for, and the scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from matplotlib.axes import Axes

from flightsim.report.draw.numbered import MOST_NUMBERS, Thing
from flightsim.report.draw.sheet import Sheet, scale_bar
from flightsim.report.draw.style import (
    GREY,
    GUARD_COLOUR,
    GUARD_DASHES,
    GUARD_LINE,
    HAIR_LINE,
    HEAD_FACE,
    INK,
    OPENING_DASHES,
    SMALL,
    THIN_LINE,
    TINY,
    WALL_LINE,
    ZONE_DASHES,
    ZONE_FACE,
    bare_axes_at,
)

ROW = 0.165  # inches between the key's rows
LINES_HEIGHT = 1.42  # inches that the line styles take
LINES: tuple[tuple[str, str, float, Any], ...] = (
    ("wall, roof, floor", INK, WALL_LINE, "-"),
    ("guard (bold above)", GUARD_COLOUR, GUARD_LINE, GUARD_DASHES),
    ("thing in the room; * fragile", INK, THIN_LINE, "-"),
    ("opening (slanted above)", INK, THIN_LINE, OPENING_DASHES),
)
WEIGHTS, STYLES = {"guard": "bold"}, {"opening": "italic"}


def draw_key(sheet: Sheet, numbered: Sequence[Thing], unit: str, people: bool) -> None:
    """The list of numbers, the line styles and the scale bar, in the sheet's free quarter."""
    left, bottom, width, height = sheet.key
    axes = bare_axes_at(sheet.figure, left, bottom, width, height)
    axes.set_xlim(0, width)
    axes.set_ylim(0, height)
    _list(axes, numbered, width, height)
    _line_styles(axes, people)
    _bar(sheet, unit)


def _list(axes: Axes, numbered: Sequence[Thing], width: float, height: float) -> None:
    """One column where it fits, else two in smaller letters."""
    names = [(f"{k + 1}  {thing.label}{' *' if thing.fragile else ''}", thing.kind) for k, thing in enumerate(numbered)]
    shown = names[:MOST_NUMBERS]
    if len(names) > MOST_NUMBERS:
        shown.append((f"and {len(names) - MOST_NUMBERS} more, not numbered", ""))
    one_column = len(shown) * ROW < height - LINES_HEIGHT
    rows = len(shown) if one_column else -(-len(shown) // 2)
    for k, (text, kind) in enumerate(shown):
        axes.text(
            (k // rows) * width / 2.0, height - 0.1 - (k % rows) * ROW, text, fontsize=SMALL if one_column else TINY,
            va="center", fontweight=WEIGHTS.get(kind, "normal"), fontstyle=STYLES.get(kind, "normal"),
        )  # fmt: skip


def _line_styles(axes: Axes, people: bool) -> None:
    top = 1.09
    for k, (text, colour, width, dashes) in enumerate(LINES):
        y = top - ROW * k
        axes.plot([0.0, 0.5], [y, y], color=colour, linewidth=width, linestyle=dashes)
        axes.text(0.6, y, text, fontsize=TINY, va="center")
    y = top - ROW * len(LINES)
    axes.plot([0.25], [y], marker="+", markersize=9, color=INK, markeredgewidth=0.9)
    axes.text(0.6, y, "tee", fontsize=TINY, va="center")
    if people:
        y -= ROW
        for left, face in ((0.0, ZONE_FACE), (0.25, HEAD_FACE)):
            look: dict[str, Any] = {
                "facecolor": face,
                "edgecolor": GREY,
                "linewidth": HAIR_LINE,
                "linestyle": ZONE_DASHES,
            }
            axes.fill([left, left + 0.25, left + 0.25, left], [y - 0.05, y - 0.05, y + 0.05, y + 0.05], **look)
        axes.text(0.6, y, "where people are; head", fontsize=TINY, va="center")


def _bar(sheet: Sheet, unit: str) -> None:
    """The scale bar, in axes of its own at the plan's scale."""
    left, bottom, width, _ = sheet.key
    inch = sheet.plan.inch
    axes = bare_axes_at(sheet.figure, left, bottom - 0.17, width, 0.32)
    axes.set_xlim(-0.08 * inch, (width - 0.08) * inch)
    axes.set_ylim(0, 0.32 * inch)
    scale_bar(replace(sheet.plan, axes=axes), unit, (0.0, 0.03 * inch))
