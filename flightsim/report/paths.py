"""A few paths of each outcome, drawn in the bay."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from flightsim.contact.outcomes import Outcome
from flightsim.flight.trace import trace
from flightsim.report.bay_sheet import tee_spots
from flightsim.report.linework import draw_bay, draw_tee
from flightsim.report.sheet import Panel, lay_out
from flightsim.report.style import GREY, NORMAL, SMALL, STROKES, TINY, axes_at, heading
from flightsim.report.words import OUTCOME_WORDS
from flightsim.scenario.display import Display
from flightsim.study.result import RunResult

Array = NDArray[np.float64]
Index = NDArray[np.intp]

EACH = 15  # paths an outcome
PAD = 0.6  # inches kept free round each view, for rulers
POINTS = 24  # points a path: at most a room long, it bends little


@dataclass(frozen=True)
class Paths:
    """Paths of some shots: which shots `(n,)`, and ball centres `(n, POINTS, 3)`, m, from strike to first contact."""

    shots: Index
    points: Array


def pick(result: RunResult, outcome: Outcome, most: int) -> Index:
    """At most this many shots of an outcome, each as likely as its weight; the same ones every time."""
    some = result.which(outcome)
    some = some[~result.contacts.failed[some] & (result.weight[some] > 0.0)]
    if some.size <= most:
        return some
    # Weighted sampling without replacement, the largest u^(1/w): Efraimidis & Spirakis 2006,
    # Inf. Process. Lett. 97:181.
    u = np.random.default_rng(result.seed).random(some.size)
    order = np.argsort(np.log(u) / result.weight[some])
    return np.sort(some[order[-most:]])


def follow(result: RunResult, shots: Index) -> Paths:
    """The paths of these shots."""
    if not shots.size:
        return Paths(shots, np.empty((0, POINTS, 3)))
    launches = result.shots.take(shots).launches()
    return Paths(shots, trace(result.physics, launches, result.contacts.time[shots], POINTS))


def paths_sheet(result: RunResult) -> Figure:
    """The three views with a sample of paths by outcome."""
    bay, display = result.bay, Display(result.scenario.units)
    scale, unit = display.length_axis
    sheet = lay_out(bay, scale, PAD)
    chosen = {outcome: follow(result, pick(result, outcome, EACH)) for outcome in Outcome}
    for panel in sheet.panels:
        draw_bay(panel.axes, bay, panel.view, scale)
        draw_tee(panel.axes, tee_spots(result.scenario), panel.frame, 0.055 * panel.inch)
        for outcome, paths in chosen.items():
            _draw(panel, outcome, paths)
        _rulers(panel, unit)
    _legend(sheet.figure, sheet.key, result, {outcome: len(paths.shots) for outcome, paths in chosen.items()})
    heading(
        sheet.figure,
        "Where balls go first",
        f"{result.scenario.name}: sample paths from the strike to the first contact",
    )
    return sheet.figure


def _draw(panel: Panel, outcome: Outcome, paths: Paths) -> None:
    stroke = STROKES[outcome]
    lines = panel.frame.flat(paths.points)
    look: dict[str, Any] = {
        "colors": stroke.colour,
        "linestyles": [stroke.dashes],
        "linewidths": stroke.width,
        "zorder": 6,
    }
    panel.axes.add_collection(LineCollection(list(lines), **look), autolim=False)
    ends: dict[str, Any] = {
        "linestyle": "none",
        "marker": stroke.mark,
        "markersize": 4.5,
        "color": stroke.colour,
        "zorder": 7,
    }
    panel.axes.plot(*lines[:, -1].T, **ends)


def _rulers(panel: Panel, unit: str) -> None:
    """A ruler below and one to the left, in the user's units."""
    axes, view = panel.axes, panel.view
    level = {"front elevation": f"left and right of the tee ({unit})"}.get(
        view.name, f"from the tee toward the screen ({unit})"
    )
    rise = f"across ({unit}), left +" if view.name == "plan" else f"height ({unit})"
    x = _marks(panel.lower[0], panel.upper[0])
    y = _marks(panel.lower[1], panel.upper[1])
    below, left = panel.lower[1] - 0.1 * panel.inch, panel.lower[0] - 0.1 * panel.inch
    tick = 0.06 * panel.inch
    axes.plot([panel.lower[0], panel.upper[0]], [below, below], color=GREY, linewidth=0.6)
    axes.plot([left, left], [panel.lower[1], panel.upper[1]], color=GREY, linewidth=0.6)
    for mark in x:
        axes.plot([mark, mark], [below, below - tick], color=GREY, linewidth=0.6)
        axes.text(mark, below - 1.5 * tick, f"{mark:g}", fontsize=TINY, ha="center", va="top", color=GREY)
    for mark in y:
        axes.plot([left, left - tick], [mark, mark], color=GREY, linewidth=0.6)
        axes.text(left - 1.5 * tick, mark, f"{mark:g}", fontsize=TINY, ha="right", va="center", color=GREY)
    middle = (panel.lower + panel.upper) / 2.0
    axes.text(middle[0], below - 0.3 * panel.inch, level, fontsize=TINY, ha="center", va="center", color=GREY)
    axes.text(
        left - 0.36 * panel.inch, middle[1], rise, fontsize=TINY, ha="center", va="center", color=GREY, rotation=90
    )
    name = panel.view.name.upper()
    axes.text(
        panel.lower[0], panel.upper[1] + 0.16 * panel.inch, name, fontsize=TINY + 0.5, color=GREY, fontweight="bold"
    )


def _marks(low: float, high: float) -> Array:
    """Round places from low to high, about six of them."""
    step = next(s for s in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0) if (high - low) / s <= 8)
    return np.arange(np.ceil(low / step - 1e-9), np.floor(high / step + 1e-9) + 1) * step + 0.0


def _legend(
    figure: Figure, place: tuple[float, float, float, float], result: RunResult, drawn: dict[Outcome, int]
) -> None:
    left, bottom, width, height = place
    axes = axes_at(figure, left, bottom, width, height)
    axes.set_axis_off()
    lines, words = [], []
    for outcome in Outcome:
        stroke, rate = STROKES[outcome], result.rates.total[outcome.key]
        lines.append(
            Line2D([], [], color=stroke.colour, linestyle=stroke.dashes, linewidth=stroke.width + 0.3,
                   marker=stroke.mark, markersize=5)
        )  # fmt: skip
        told = OUTCOME_WORDS[outcome].replace(", ", ",\n")
        words.append(f"{told}\n{rate.count:,} of {rate.shots:,} shots, {drawn[outcome]} drawn")
    axes.legend(
        lines, words, loc="upper left", fontsize=SMALL, frameon=False, handlelength=4.5, labelspacing=1.1,
        borderaxespad=0.0, title="The ball ...", title_fontsize=NORMAL, alignment="left",
    )  # fmt: skip
