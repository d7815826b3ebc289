"""Where balls end: in plan, how many come to lie in each square, and how the others end."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import fill

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.choose import as_played
from flightsim.report.draw.linework import PLAN, draw_bay, draw_people, draw_tee
from flightsim.report.draw.rulers import draw_rulers
from flightsim.report.draw.shading import edges_within, shading_key, squares, totals
from flightsim.report.draw.sheet import plan_alone
from flightsim.report.draw.style import ESCAPES, GREY, SMALL, heading, mark_look
from flightsim.report.words.common_words import OUTCOME_WORDS, per_thousand
from flightsim.scenario.reading.display import Display
from flightsim.study.run.present import bay_as_played
from flightsim.study.run.replay import Replay
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

BALLS = 1000  # followed until they lie still
SQUARES = {"m": (0.25, "250 mm"), "ft": (1.0, "1 ft")}  # size of a square, user units
LEVELS = (0.0, 1.5, 2.5, 5.5, 12.5, 25.5, 50.5, 1000.0)  # balls of 1,000 in a square
WALL = 1.0e-3  # m: a ball this near to the side of the room, in no touch with it, is on its way out
QUIET_WORDS = "ended slow, and not lying in the room"
_PAD, _KEY = 0.6, 2.5  # inches


@dataclass(frozen=True)
class Endings:
    """How many balls `(n,)` each shot stands for, where it ended `(3, n)`, m, its outcome, and how it ended."""

    balls: Index
    point: Array
    outcome: NDArray[np.int8]
    lies: Mask
    left: Mask
    through: Mask

    @property
    def other(self) -> Mask:
        """Balls that were not followed to an end."""
        return ~(self.lies | self.left | self.through)


def balls_of(result: RunResult) -> Index:
    """The shots that the balls are, as they are played; all shots, each at its weight, where there are few."""
    return as_played(result, min(BALLS, len(result.shots)))


def endings(result: RunResult, flown: Replay) -> Endings:
    """How those balls end. flown: their shots, flown again until they lie still."""
    shots, balls = np.unique(balls_of(result), return_counts=True)
    rows = flown.where(shots)
    point, lies = flown.fates.point[:, rows], flown.fates.rests[rows]
    touches = flown.contacts
    ends = np.flatnonzero(np.diff(touches.shot, append=-1))  # each ball's last touch
    gone = np.zeros(len(flown), dtype=bool)
    gone[touches.shot[ends]] = np.isnan(touches.leaving[0, ends])
    low, high = result.bay.lower[:, None], result.bay.upper[:, None]
    outside = ((point < low + WALL) | (point > high - WALL)).any(axis=0)
    through = gone[rows] & ~lies
    return Endings(balls, point, result.outcome[shots], lies, outside & ~lies & ~through, through)


def resting_sheet(result: RunResult, flown: Replay) -> Figure:
    """The plan of the bay with where balls end."""
    scale, unit = Display(result.scenario.units).length_axis
    figure, panel, key = plan_alone(result.bay, scale, _PAD, _KEY)
    ends = endings(result, flown)
    places, share = panel.frame.flat(ends.point.T), 1000.0 / float(ends.balls.sum())
    size, words = SQUARES[unit]
    edges = edges_within(panel.lower, panel.upper, size)
    lying = totals(places[ends.lies], np.asarray(share * ends.balls[ends.lies], np.float64), edges)
    squares(panel.axes, lying, edges, LEVELS, zorder=0.5)
    draw_people(panel.axes, bay_as_played(result), panel.frame, outlines_only=True)
    draw_bay(panel.axes, result.bay, PLAN, scale)
    draw_tee(panel.axes, tee_spots(result.scenario), panel.frame, 0.055 * panel.inch)
    draw_rulers(panel, unit)
    kinds = [(ends.outcome == outcome, mark_look(outcome, 3.0), OUTCOME_WORDS[outcome]) for outcome in ESCAPES]
    quiet = (ends.outcome > max(ESCAPES)) & ~ends.lies
    kinds.append((quiet, {"linestyle": "none", "marker": "+", "markersize": 3.5, "color": GREY}, QUIET_WORDS))
    lines, meanings = [], []
    for kind, look, kind_words in kinds:
        if kind.any():
            panel.axes.plot(*places[kind & np.isfinite(places).all(axis=1)].T, zorder=7, **look)
            lines.append(Line2D([], [], **look | {"markersize": 5}))
            meanings.append(f"{fill(kind_words, 26)}: {_per(ends, kind)}")
    _keys(figure, key, words, lines, meanings)
    heading(figure, "Where balls end", _told(result, ends))
    return figure


def _per(ends: Endings, kind: Mask) -> str:
    return per_thousand(1000.0 * float(ends.balls[kind].sum() / ends.balls.sum()))


def _told(result: RunResult, ends: Endings) -> str:
    """How many come to lie in the room, leave it, and so on."""
    kinds = (
        (ends.lies, "come to lie in the room"), (ends.left, "leave it, fast or slow"),
        (ends.through, "go through something"), (ends.other, "were not followed to an end"),
    )  # fmt: skip
    shares = "; ".join(f"{_per(ends, kind)} {words}" for kind, words in kinds if kind.any())
    return fill(f"{result.scenario.name}: of 1,000 balls, as they are played, {shares}", 105)


def _keys(
    figure: Figure, place: tuple[float, float, float, float], size: str, lines: list[Line2D], meanings: list[str]
) -> None:
    left, bottom, _, height = place
    wide, tall = figure.get_size_inches()
    title = f"balls of 1,000 that come\nto lie in a square of {size}"
    shading_key(figure, LEVELS, title, (left / wide, (bottom + height - 0.1) / tall), counts=True)
    if lines:
        figure.legend(
            lines, meanings, loc="upper left", bbox_to_anchor=(left / wide, (bottom + height - 1.7) / tall),
            frameon=False, fontsize=SMALL, alignment="left", borderaxespad=0.0, title="where these end, of 1,000 balls",
            title_fontsize=SMALL, labelspacing=0.6,
        )  # fmt: skip
