"""What changes do: each target before and after beside its limit, and the bay as found beside the bay as changed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from flightsim.bay.parts import Bay, Role
from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.linework import PLAN, SIDE, draw_bay, draw_people, draw_tee
from flightsim.report.draw.projection import silhouettes
from flightsim.report.draw.sheet import Panel, view_at
from flightsim.report.draw.style import BLUE, GREY, INK, NORMAL, SMALL, TINY, VERMILLION, axes_at, heading, new_figure
from flightsim.report.words.improve_steps import Moved
from flightsim.scenario.reading.display import Display
from flightsim.study.run.open_bay import OpenBay

_WIDTH, _ROW, _HEAD, _FOOT, _LEFT, _RIGHT = 9.0, 0.27, 0.85, 0.75, 2.3, 1.3  # inches
_LONGEST = 34  # characters of a name beside its row
_DOWN = 0.2  # of a row: how far under the first mark the second stands
_PAD, _TITLE = 0.2, 0.3  # inches round a view of the bay, and over it


def targets_figure(pairs: Sequence[Moved], changed: bool = True) -> Figure:
    """A row a target that is a rate: hollow as found, filled as changed, a bar to the bound, dashes the limit.

    changed: whether anything was; else what is filled is the bay as found, on fresh shots, and nothing became worse.
    """
    rates = [pair for pair in pairs if pair.after.kind == "rate"]
    tall = _ROW * max(len(rates), 1)
    figure = new_figure(_WIDTH, _HEAD + tall + _FOOT)
    axes = axes_at(figure, _LEFT, _FOOT, _WIDTH - _LEFT - _RIGHT, tall)
    low, high = _ends(rates)
    axes.set_xscale("log")
    axes.set_xlim(low, high)
    axes.set_ylim(max(len(rates), 1) - 0.5, -0.5)
    for row, pair in enumerate(rates):
        _row(axes, row, pair, low, changed)
    axes.set_yticks(range(len(rates)), [_short(pair.name) for pair in rates])
    ticks = [x for k in range(8) if low <= (x := 10.0**-k) <= high]
    axes.set_xticks(ticks, ["all" if x == 1.0 else f"1 in {round(1.0 / x):,}" for x in ticks])
    axes.minorticks_off()
    axes.grid(axis="x", linewidth=0.3, color="0.85")
    _key(figure, "changed" if changed else "on fresh shots")
    heading(
        figure, "The targets, before and after", "share of all balls as they are played; scale by tens, left is better"
    )
    return figure


def _row(axes: Axes, row: int, pair: Moved, low: float, changed: bool) -> None:
    was, now = (max(target.rate or 0.0, low) for target in (pair.before, pair.after))
    limit, colour = pair.after.limit, BLUE if pair.after.good else VERMILLION
    axes.plot([limit, limit], [row - 0.38, row + 0.38], color=INK, linewidth=1.3, linestyle=(0, (2.5, 1.5)))
    bounds = [bound for bound in (pair.after.upper, pair.after.worst_upper if pair.after.severe else None) if bound]
    if bounds:
        axes.plot([now, max(bounds)], [row + _DOWN, row + _DOWN], color=colour, linewidth=0.9)
        axes.plot([max(bounds)], [row + _DOWN], marker="|", markersize=6, color=colour)
    axes.plot([was], [row - _DOWN], marker="o" if pair.before.rate else "<", markersize=4.5, color=GREY,
              markerfacecolor="none")  # fmt: skip
    axes.plot([now], [row + _DOWN], marker="o" if pair.after.rate else "<", markersize=4.5, color=colour)
    words = ("met" if pair.after.good else "not yet") + (", worse" if pair.worse and changed else "")
    axes.annotate(words, (1.0, row), (6, 0), xycoords=("axes fraction", "data"), textcoords="offset points",
                  fontsize=SMALL, va="center", color=INK, fontweight="normal" if pair.after.good else "bold",
                  annotation_clip=False)  # fmt: skip


def _ends(pairs: Sequence[Moved]) -> tuple[float, float]:
    there = [x for pair in pairs for target in (pair.before, pair.after)
             for x in (target.rate, target.limit, target.upper, target.severe and target.worst_upper) if x]  # fmt: skip
    return min(there, default=1e-4) / 3.0, min(1.0, 2.0 * max(there, default=0.5))


def _short(name: str) -> str:
    return name if len(name) <= _LONGEST else f"{name[: _LONGEST - 3]}..."


def _key(figure: Figure, now: str) -> None:
    handles = [
        Line2D([], [], linestyle="none", marker="o", markersize=4.5, color=GREY, markerfacecolor="none",
               label="as found"),
        Line2D([], [], marker="o", markersize=4.5, color=BLUE, linewidth=0.9, label=f"{now}, met; bar to its bound"),
        Line2D([], [], marker="o", markersize=4.5, color=VERMILLION, linewidth=0.9, label=f"{now}, not yet met"),
        Line2D([], [], color=INK, linewidth=1.3, linestyle=(0, (2.5, 1.5)), label="the limit asked"),
    ]  # fmt: skip
    wide, tall = figure.get_size_inches()
    figure.legend(handles=handles, loc="lower left", bbox_to_anchor=(0.25 / wide, 0.1 / tall), ncol=4, fontsize=SMALL,
                  frameon=False, borderaxespad=0.0)  # fmt: skip


def changed_bay_figure(found: OpenBay, changed: OpenBay) -> Figure:
    """Side elevation over plan: as found on the left, as changed on the right with what hung otherwise in grey."""
    bays = (found.bay, changed.bay)
    sizes = np.max([bay.upper - bay.lower for bay in bays], axis=0)
    half = _WIDTH / 2.0
    per_metre = min((half - 2.0 * _PAD) / float(sizes[0]), 2.6 / float(sizes[1]))
    side, plan = (float(sizes[k]) * per_metre + 2.0 * _PAD for k in (2, 1))
    tall = _HEAD + _TITLE + side + plan
    figure = new_figure(_WIDTH, tall)
    for column, (opened, words) in enumerate(((found, "As found"), (changed, "As changed; grey: as it was"))):
        scale = Display(opened.scenario.units).length_axis[0]
        for view, low in ((SIDE, plan), (PLAN, 0.0)):
            panel = view_at(figure, opened.bay, view, scale, per_metre, _PAD, (column * half, low))
            if column:
                _as_it_was(panel, found.bay, opened.bay)
            draw_people(panel.axes, opened.bay, panel.frame)
            draw_bay(panel.axes, opened.bay, view, scale)
            draw_tee(panel.axes, tee_spots(opened.scenario), panel.frame, 0.055 * panel.inch)
        figure.text((column * half + 0.3) / _WIDTH, 1.0 - _HEAD / tall, words, fontsize=NORMAL, va="top")
    heading(figure, "The bay before and after", f"{found.scenario.name}: from the side, and under it from above")
    figure.text(0.3 / _WIDTH, 0.05 / tall, "blue: protection; the screen is on the right", fontsize=TINY, color=GREY)
    return figure


def _as_it_was(panel: Panel, before: Bay, after: Bay) -> None:
    """The outlines of protection that hung otherwise, thick and grey under what hangs now."""
    kept = {part.name: [outline.tobytes() for outline in part.shape.outlines()] for part in after.parts}
    for part in before.parts:
        if part.role is not Role.GUARD or kept.get(part.name) == [line.tobytes() for line in part.shape.outlines()]:
            continue
        for outline in silhouettes(part.shape, panel.frame):
            closed = np.concatenate([outline, outline[:1]])
            panel.axes.plot(*closed.T, color="0.75", linewidth=2.6, zorder=2.5, solid_joinstyle="miter")
