"""The whole ways of a few balls of each outcome, drawn in the bay."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from flightsim.contact.fates import Flag, Outcome
from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.choose import pick
from flightsim.report.draw.linework import draw_bay, draw_people, draw_tee
from flightsim.report.draw.rulers import draw_rulers
from flightsim.report.draw.sheet import Panel, lay_out
from flightsim.report.draw.style import (
    GREY,
    HAIR_LINE,
    NORMAL,
    SMALL,
    STROKES,
    WORST_FIRST,
    Stroke,
    axes_at,
    heading,
    mark_look,
)
from flightsim.report.words.common_words import OUTCOME_WORDS
from flightsim.scenario.reading.display import Display
from flightsim.study.run.present import bay_as_played
from flightsim.study.run.replay import Replay, Way
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]
Index = NDArray[np.intp]

EACH = 3  # balls an outcome: more ways with all their rebounds would hide one another
PAD = 0.6  # inches kept free round each view, for rulers


def wanted(result: RunResult) -> Index:
    """The shots whose ways are drawn."""
    return np.unique(np.concatenate([pick(result, outcome, EACH) for outcome in Outcome]))


def examples(result: RunResult, flown: Replay, outcome: Outcome) -> Index:
    """The places, in what was flown again, of the balls drawn for an outcome: all of them have it there too."""
    some = flown.where(pick(result, outcome, EACH))
    return np.asarray(some[flown.fates.outcomes()[some] == outcome])


def paths_sheet(result: RunResult, flown: Replay) -> Figure:
    """The three views with the ways of a few balls of each outcome. flown: those `wanted`, flown again."""
    bay, display = result.bay, Display(result.scenario.units)
    scale, unit = display.length_axis
    sheet = lay_out(bay, scale, PAD)
    chosen = {outcome: examples(result, flown, outcome) for outcome in WORST_FIRST}
    for panel in sheet.panels:
        draw_people(panel.axes, bay_as_played(result), panel.frame)
        draw_bay(panel.axes, bay, panel.view, scale)
        draw_tee(panel.axes, tee_spots(result.scenario), panel.frame, 0.055 * panel.inch)
        draw_rulers(panel, unit)
    for outcome, some in chosen.items():
        ways = [flown.way(int(k)) for k in some]
        ends = _ends(result, flown, outcome, some).T
        for panel in sheet.panels:
            draw_ways(panel, ways, STROKES[outcome], result.harm_speed)
            panel.axes.plot(*panel.frame.flat(ends).T, zorder=9 + int(outcome.escape), **mark_look(outcome, 4.5))
    _legend(sheet.figure, sheet.key, result, {outcome: some.size for outcome, some in chosen.items()})
    heading(
        sheet.figure, "What becomes of the balls",
        f"{result.scenario.name}: the ways of a few balls of each kind, from the strike to where they are followed to",
    )  # fmt: skip
    return sheet.figure


def _ends(result: RunResult, flown: Replay, outcome: Outcome, some: Index) -> Array:
    """Where the marks of these balls go `(3, m)`: where it went wrong, else where it was followed to."""
    return flown.spots(result.bay, Flag(outcome), some) if outcome.escape else flown.fates.point[:, some]


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


def _legend(
    figure: Figure, place: tuple[float, float, float, float], result: RunResult, drawn: dict[Outcome, int]
) -> None:
    left, bottom, width, height = place
    axes = axes_at(figure, left, bottom, width, height)
    axes.set_axis_off()
    lines, words = [], []
    for outcome in WORST_FIRST:
        stroke, count = STROKES[outcome], int((result.outcome == outcome).sum())
        look = {**mark_look(outcome, 5), "linestyle": stroke.dashes, "linewidth": stroke.width}
        lines.append(Line2D([], [], **look))
        told = f"{count:,} of {len(result.shots):,} shots, {drawn[outcome]} drawn" if count else "none seen"
        words.append(f"{OUTCOME_WORDS[outcome]}\n{told}")
    speed = Display(result.scenario.units).speed(result.harm_speed)
    lines.append(Line2D([], [], color=GREY, linewidth=HAIR_LINE))
    words.append(f"hairline: slower than {speed}")
    axes.legend(
        lines, words, loc="upper left", fontsize=SMALL, frameon=False, handlelength=4.5, labelspacing=0.75,
        borderaxespad=0.0, title="The ball ...", title_fontsize=NORMAL, alignment="left",
    )  # fmt: skip
