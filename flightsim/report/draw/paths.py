"""The whole ways of a few balls of each outcome, drawn in the bay."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from textwrap import fill
from typing import Any

import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from numpy.typing import NDArray

from flightsim.contact.fates import Flag, Outcome
from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.choose import pick
from flightsim.report.draw.linework import PLAN, SIDE, draw_bay, draw_people, draw_tee
from flightsim.report.draw.sheet import HEADING, WIDTH, Panel, view_at
from flightsim.report.draw.style import (
    GREY,
    HAIR_LINE,
    INK,
    SMALL,
    STROKES,
    TINY,
    WORST_FIRST,
    Stroke,
    heading,
    mark_look,
    new_figure,
)
from flightsim.report.words.common_words import OUTCOME_WORDS, one_in
from flightsim.scenario.reading.display import Display
from flightsim.study.run.present import bay_as_played
from flightsim.study.run.replay import Replay, Way
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]
Index = NDArray[np.intp]

EACH = 3  # balls an outcome: more ways with all their rebounds would hide one another
PAD = 0.6  # inches kept free round each view, for rulers
MOST_IN_THREE = 6  # panels, at most three a row; of more, four
EDGE, TITLE_ROOM, FOOT = 0.16, 0.3, 0.25  # inches: round a small view, over it, and under all


def wanted(result: RunResult) -> Index:
    """The shots whose ways are drawn."""
    return np.unique(np.concatenate([pick(result, outcome, EACH) for outcome in Outcome]))


def examples(result: RunResult, flown: Replay, outcome: Outcome) -> Index:
    """The places, in what was flown again, of the balls drawn for an outcome: all of them have it there too."""
    balls = flown.where(pick(result, outcome, EACH))
    return np.asarray(balls[flown.fates.outcomes()[balls] == outcome])


def paths_sheet(result: RunResult, flown: Replay) -> Figure:
    """A small panel for each outcome that was seen, side elevation over plan: a few of its ways, the bay faint.

    flown: those `wanted`, flown again.
    """
    bay, scale = bay_as_played(result), Display(result.scenario.units).length_axis[0]
    chosen = {outcome: balls for outcome in WORST_FIRST if (balls := examples(result, flown, outcome)).size}
    across = 4 if len(chosen) > MOST_IN_THREE or len(chosen) == 4 else 3
    length, width, height = bay.upper - bay.lower
    per_metre = min((WIDTH / across - 2.0 * EDGE) / float(length), 2.4 / float(width))
    tall = float(width + height) * per_metre + 4.0 * EDGE + TITLE_ROOM
    rows = -(-len(chosen) // across)
    figure = new_figure(WIDTH, HEADING + rows * tall + FOOT)
    for number, (outcome, balls) in enumerate(chosen.items()):
        row, column = divmod(number, across)
        left, bottom = column * WIDTH / across, FOOT + (rows - 1 - row) * tall
        plan = view_at(figure, bay, PLAN, scale, per_metre, EDGE, (left, bottom))
        side = view_at(figure, bay, SIDE, scale, per_metre, EDGE, (left, bottom + float(width) * per_metre + EDGE))
        _draw(result, flown, outcome, balls, (plan, side))
        share = one_in(float(result.weight[result.which(outcome)].sum()))
        words = fill(f"{OUTCOME_WORDS[outcome]}: {share}", 30)
        side.axes.text(
            float(side.lower[0]), float(side.upper[1]) + 0.09 * side.inch, words, fontsize=SMALL, fontweight="bold",
            color=INK,
        )  # fmt: skip
    slow = Display(result.scenario.units).speed(result.harm_speed)
    figure.text(0.3 / WIDTH, 0.1 / figure.get_size_inches()[1], f"hairline: slower than {slow}; blue: protection",
                fontsize=TINY, color=GREY)  # fmt: skip
    heading(
        figure, "What becomes of the balls",
        f"{result.scenario.name}: a few balls of each kind, from the side, and under it from above; the screen is on "
        "the right",
    )  # fmt: skip
    return figure


def _draw(result: RunResult, flown: Replay, outcome: Outcome, balls: Index, panels: Sequence[Panel]) -> None:
    """The ways of some balls of one outcome in its panels, each with a mark."""
    bay, scale = bay_as_played(result), Display(result.scenario.units).length_axis[0]
    ways = [flown.way(int(k)) for k in balls]
    ends = _ends(result, flown, outcome, balls).T
    for panel in panels:
        draw_people(panel.axes, bay, panel.frame)
        draw_bay(panel.axes, bay, panel.view, scale, faint=True)
        draw_tee(panel.axes, tee_spots(result.scenario), panel.frame, 0.04 * panel.inch)
        draw_ways(panel, ways, STROKES[outcome], result.harm_speed)
        panel.axes.plot(*panel.frame.flat(ends).T, zorder=9, **mark_look(outcome, 4.5))


def _ends(result: RunResult, flown: Replay, outcome: Outcome, balls: Index) -> Array:
    """Where the marks of these balls go `(3, m)`: where it went wrong, else where it was followed to."""
    return flown.spots(result.bay, Flag(outcome), balls) if outcome.escape else flown.fates.point[:, balls]


def draw_ways(panel: Panel, ways: Sequence[Way], stroke: Stroke, harm_speed: float) -> None:
    """Ways as lines: in the given stroke while the ball could hurt, m/s, as a hairline from then on."""
    fast: list[Array] = []
    slow: list[Array] = []
    for way in ways:
        line = panel.frame.flat(way.point)
        for start, end, hurts in _runs(way.speed >= harm_speed):
            (fast if hurts else slow).append(line[start : end + 1])
    for lines, width, dashes in ((fast, stroke.width, stroke.dashes), (slow, HAIR_LINE, "-")):
        look: dict[str, Any] = {"colors": stroke.colour, "linestyles": [dashes], "linewidths": width, "zorder": 7}
        panel.axes.add_collection(LineCollection(lines, **look), autolim=False)


def _runs(hurts: NDArray[np.bool_]) -> list[tuple[int, int, bool]]:
    """Start and end of each stretch of points that are alike, and what they are; each ends where the next begins."""
    if hurts.size < 2:
        return []
    edges = [0, *(np.flatnonzero(np.diff(hurts)) + 1).tolist(), hurts.size - 1]
    return [(a, b, bool(hurts[a])) for a, b in pairwise(edges) if b > a]
