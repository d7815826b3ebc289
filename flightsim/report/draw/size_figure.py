"""Misses against size: how many balls get past, over the whole range, with what was looked at and what is there now."""

from __future__ import annotations

from math import floor, log10

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter

from flightsim.report.draw.style import (
    GREEN,
    GREY,
    HAIR_LINE,
    INK,
    NORMAL,
    PURPLE,
    SMALL,
    THIN_LINE,
    VERMILLION,
    axes_at,
    heading,
    new_figure,
)
from flightsim.report.words.common_words import one_in
from flightsim.report.words.size_words import SizeReport, shown, size_words, target_words
from flightsim.scenario.reading.declared import GuardLength, declared
from flightsim.scenario.reading.display import FOOT
from flightsim.study.size.size_look import Look

_WIDTH, _HEIGHT = 8.6, 5.9


def size_figure(report: SizeReport) -> Figure:
    """What is judged, at every size looked at and between them, with its bounds; fresh shots; target and sizes."""
    answer = report.answer
    figure = new_figure(_WIDTH, _HEIGHT)
    axes = axes_at(figure, 0.95, 1.75, _WIDTH - 1.2, _HEIGHT - 3.0)
    scale, unit = _axis(report)
    floor_at = _floor(report)
    held = answer.near
    beside = [look for look in answer.looks if look.sizes[:-1] == held]
    _between(axes, beside, scale, floor_at)
    _doubts(axes, report, scale, floor_at)
    _looks(axes, beside, scale, floor_at)
    _fresh(axes, [look for look in answer.confirmed if look.sizes[:-1] == held], scale, floor_at)
    axes.axhline(answer.requirement.limit, color=VERMILLION, linewidth=1.1, zorder=4)
    axes.set_yscale("log")
    axes.set_ylim(floor_at, 1.0)
    _sizes(axes, report, scale)
    axes.text(0.995, answer.requirement.limit, "target ", transform=axes.get_yaxis_transform(), fontsize=SMALL,
              color=VERMILLION, ha="right", va="bottom")  # fmt: skip
    axes.yaxis.set_major_formatter(FuncFormatter(lambda y, _: _rate_words(y, floor_at)))
    axes.yaxis.set_minor_formatter(FuncFormatter(lambda y, _: ""))
    axes.set_xlabel(f"{size_words(answer.varies[-1])} ({unit})", fontsize=NORMAL)
    axes.set_ylabel("of all balls", fontsize=NORMAL)
    _legend(figure)
    others = ", ".join(
        f"{size_words(vary)} {shown(vary, x, report.display)}" for vary, x in zip(answer.varies, held, strict=False)
    )
    below = f"{report.scenario.name}: {answer.searched:,} shots of the search" + (f"; {others}" if others else "")
    heading(figure, f"Misses against size: {target_words(answer.requirement)}", below)
    return figure


def _axis(report: SizeReport) -> tuple[float, str]:
    vary = report.answer.varies[-1]
    if vary.kind == "length":
        return (1.0 / FOOT, "ft") if report.scenario.units == "imperial" else (1.0, "m")
    return 1.0, "deg" if vary.kind == "angle" else "as given"


def _floor(report: SizeReport) -> float:
    """The lowest rate drawn: below all bounds and the target; none seen is drawn there."""
    answer = report.answer
    ends = [answer.requirement.limit, *(look.worst for look in (*answer.looks, *answer.confirmed))]
    ends += [doubt.rate for doubt in answer.doubts if doubt.rate > 0.0]
    return float(10.0 ** floor(log10(min(ends) / 3.0)))


def _rate_words(rate: float, floor_at: float) -> str:
    return "none seen" if rate <= floor_at * 1.001 else "all" if rate >= 1.0 else one_in(rate)


def _between(axes: Axes, looks: list[Look], scale: float, floor_at: float) -> None:
    """A line through what was seen at each size, and a band between its bounds."""
    flown = [look for look in looks if not look.refused]
    if len(flown) < 2:
        return
    x = np.array([look.sizes[-1] for look in flown]) * scale
    low = np.maximum([max(look.lower) for look in flown], floor_at)
    axes.fill_between(x, low, [look.worst for look in flown], color="0.90", linewidth=0.0, zorder=1,
                      label="between its bounds: the luck of the draw")  # fmt: skip
    axes.plot(x, np.maximum([max(look.rates) for look in flown], floor_at), color=INK, linewidth=1.2, zorder=3)


def _doubts(axes: Axes, report: SizeReport, scale: float, floor_at: float) -> None:
    """Other assumptions, at the chosen size: their least and most."""
    chosen, rates = report.answer.chosen, [doubt.rate for doubt in report.answer.doubts]
    if chosen is None or not rates:
        return
    ends = np.maximum([min(rates), max(rates)], floor_at)
    axes.plot([chosen[-1] * scale] * 2, ends, color=PURPLE, linewidth=4.0, alpha=0.45, zorder=4,
              solid_capstyle="butt", label="as drawn, under other models and changes")  # fmt: skip


def _looks(axes: Axes, looks: list[Look], scale: float, floor_at: float) -> None:
    for met, mark, face, words in (
        (True, "o", GREEN, "followed to the end, built off: meets the target"),
        (False, "o", "white", "followed to the end, built off: not shown to meet it"),
    ):
        followed = [look for look in looks if look.met is met and not look.refused]
        _bars(axes, followed, scale, floor_at, mark, face, 6.0, words)
    refused = [look.sizes[-1] * scale for look in looks if look.refused]
    if refused:
        axes.plot(refused, [floor_at * 1.25] * len(refused), linestyle="none", marker="x", color=INK, markersize=6,
                  label="cannot be built", zorder=6)  # fmt: skip


def _fresh(axes: Axes, looks: list[Look], scale: float, floor_at: float) -> None:
    followed = [look for look in looks if not look.refused]
    _bars(axes, followed, scale, floor_at, "D", VERMILLION, 7.0, "the same on fresh shots")


def _bars(
    axes: Axes, looks: list[Look], scale: float, floor_at: float, mark: str, face: str, size: float, words: str
) -> None:
    """A mark where it was seen, and a line from the lower bound to the upper."""
    if not looks:
        return
    x = np.array([look.sizes[-1] for look in looks]) * scale
    rate = np.maximum([max(look.rates) for look in looks], floor_at)
    low = np.maximum([max(look.lower) for look in looks], floor_at)
    axes.vlines(x, low, [look.worst for look in looks], color=INK, linewidth=THIN_LINE, zorder=5)
    axes.plot(x, [look.worst for look in looks], linestyle="none", marker="_", color=INK, markersize=7, zorder=5)
    axes.plot(x, rate, linestyle="none", marker=mark, markersize=size, markerfacecolor=face, markeredgecolor=INK,
              markeredgewidth=0.9, zorder=6, label=words, clip_on=False)  # fmt: skip


def _common(report: SizeReport) -> float | None:
    """What most of these are said to be, as its field says it; None where it says nothing."""
    plain = [_plain(report.answer.varies[-1].path)]
    common = [size.said.common for size in declared(report.scenario, GuardLength) if _plain(size.path) in plain]
    return common[0] if common else None


def _plain(path: str) -> str:
    """A path without the numbers of entries."""
    return ".".join(step for step in path.split(".") if not step.isdecimal())


def _sizes(axes: Axes, report: SizeReport, scale: float) -> None:
    """Lines at the size that is there now, the common one, and the chosen one; the axis reaches to them."""
    vary, answer = report.answer.varies[-1], report.answer
    marks: list[tuple[float | None, str, str, str]] = [
        (report.present[-1], "now", "--", GREY),
        (_common(report), "common practice, no source", ":", INK),
    ]
    marks.append((None if answer.chosen is None else answer.chosen[-1], "chosen", "-", GREEN))
    values = [vary.lower, vary.upper, *(value for value, *_ in marks if value is not None)]
    span = (max(values) - min(values)) * scale
    axes.set_xlim(min(values) * scale - 0.02 * span, max(values) * scale + 0.02 * span)
    row = 0
    for value, words, dashes, colour in marks:
        if value is None:
            continue
        habit = value == _common(report) and vary.kind == "length"
        told_as = report.display.estimate(value) if habit else shown(vary, value, report.display)
        axes.axvline(value * scale, color=colour, linewidth=1.2, linestyle=dashes, zorder=2)
        inner = (value - min(values)) / max(max(values) - min(values), 1e-9)
        axes.annotate(
            f"{words}: {told_as}", (value * scale, 1.0), (0, 4 + 11 * row),
            textcoords="offset points", xycoords=("data", "axes fraction"), fontsize=SMALL, va="bottom",
            ha="left" if inner < 0.15 else "right" if inner > 0.85 else "center", color=colour,
        )  # fmt: skip
        row += 1
    axes.grid(axis="y", color="0.88", linewidth=HAIR_LINE, zorder=0)


def _legend(figure: Figure) -> None:
    handles, labels = figure.axes[0].get_legend_handles_labels()
    figure.legend(
        handles, labels, loc="lower left", bbox_to_anchor=(0.95 / _WIDTH, 0.15 / _HEIGHT), ncol=2, fontsize=SMALL,
        frameon=False, borderaxespad=0.0, handlelength=3.0, columnspacing=1.6,
    )  # fmt: skip
