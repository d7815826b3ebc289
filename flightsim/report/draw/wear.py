"""How cloth and nets wear: hits and energy, square by square."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from numpy.typing import NDArray

from flightsim.contact.facings import Facing
from flightsim.report.draw.guard_hits import Guard, guards, met_first, name_axes
from flightsim.report.draw.projection import silhouettes
from flightsim.report.draw.shading import edges_of, shading_key, squares, totals
from flightsim.report.draw.style import GUARD_COLOUR, NORMAL, SMALL, axes_at, heading, new_figure
from flightsim.report.words.common_words import per_thousand, percent
from flightsim.scenario.reading.display import Display
from flightsim.study.run.on_disk import PIECE, let_go
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]

SQUARES = {"m": (0.15, "150 mm"), "ft": (0.5, "6 in")}  # size of a square, user units
HITS = (0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 1000.0)  # in a square, of 1,000 balls
ENERGY = (0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1000.0, 3000.0, 30000.0)  # J in a square, of 1,000 balls
_LEFT, _WIDE, _GAP, _KEY, _TALL = 0.65, 2.9, 0.75, 1.6, 1.9  # inches; the drawings are at most so wide and tall
_TOP, _OVER, _UNDER = 0.75, 0.38, 0.5


@dataclass(frozen=True)
class Wear:
    """Hits, and energy in J, of 1,000 balls in each square `(across, up)` of a guard's plane; the squares' edges."""

    hits: Array
    energy: Array
    edges: tuple[Array, Array]


def soft_guards(result: RunResult, facings: Mapping[str, Facing]) -> list[Guard]:
    """The guards of cloth or net that any ball met first."""
    soft = [facings[part.facing].soft for part in result.bay.parts]
    return [g for g in guards(result) if any(soft[k] for k in g.index) and met_first(result, g).any()]


def wear_of(result: RunResult, guard: Guard) -> Wear:
    """First contacts only, each at its weight; energy: all that the ball brings, 1/2 m v^2."""
    _, unit = Display(result.scenario.units).length_axis
    hit = np.flatnonzero(met_first(result, guard))
    pieces = [hit[first : first + PIECE] for first in range(0, hit.size, PIECE)]
    corners = np.concatenate([*_outlines(result, guard), *(_extent(_places(result, guard, piece)) for piece in pieces)])
    edges = edges_of(corners.min(axis=0), corners.max(axis=0), SQUARES[unit][0])
    hits = energy = np.zeros([edge.size - 1 for edge in edges])
    for piece in pieces:
        places, share = _places(result, guard, piece), 1000.0 * result.weight[piece]
        brought = 0.5 * result.physics.ball.mass * (result.contacts.velocity[:, piece] ** 2).sum(axis=0)
        hits, energy = hits + totals(places, share, edges), energy + totals(places, share * brought, edges)
        let_go(result.contacts)
    return Wear(hits, energy, edges)


def _places(result: RunResult, guard: Guard, shots: NDArray[np.intp]) -> Array:
    """Where these shots met the guard `(k, 2)`, in its plane, user units."""
    return guard.frame.flat(result.contacts.point[:, shots].T)


def _extent(places: Array) -> Array:
    """The lower and the upper corner of what holds these places `(2, 2)`."""
    return np.stack([places.min(axis=0), places.max(axis=0)])


def wear_sheet(result: RunResult, shown: list[Guard]) -> Figure:
    """A row for each guard: hits on the left, energy on the right."""
    rows = [(guard, wear_of(result, guard)) for guard in shown]
    sizes = [_size(wear) for _, wear in rows]
    least = _TOP + 4.2  # room for the keys
    tall = max(_TOP + sum(height + _OVER + _UNDER for _, height in sizes), least)
    figure = new_figure(_LEFT + 2 * _WIDE + _GAP + _KEY, tall)
    top = tall - _TOP
    for (guard, wear), size in zip(rows, sizes, strict=True):
        _row(figure, result, guard, wear, size, top)
        top -= size[1] + _OVER + _UNDER
    display = Display(result.scenario.units)
    square = SQUARES[display.length_axis[1]][1]
    x = (_LEFT + 2 * _WIDE + _GAP + 0.15) / (_LEFT + 2 * _WIDE + _GAP + _KEY)
    where = f"in a square of {square}"
    shading_key(figure, HITS, f"left: hits of 1,000 balls\n{where}", (x, 1.0 - _TOP / tall))
    shading_key(figure, ENERGY, f"right: J of 1,000 balls\n{where}", (x, 1.0 - (_TOP + 2.1) / tall))
    below = (
        "first contacts with cloth and nets: how often, and how much energy the balls bring (50 m/s: about 57 J a ball)"
    )
    heading(figure, "Wear of cloth and nets", below)
    return figure


def wear_finding(result: RunResult, facings: Mapping[str, Facing]) -> str:
    """Which cloth or net takes most energy, and how much of it: the picture in a sentence."""
    taken = {guard.label: float(wear_of(result, guard).energy.sum()) for guard in soft_guards(result, facings)}
    most = max(taken, key=lambda label: taken[label])
    share = percent(taken[most] / sum(taken.values()))
    return f"the {most} takes {share} of the energy that cloth and nets meet, {taken[most]:,.0f} J of 1,000 balls"


def _row(figure: Figure, result: RunResult, guard: Guard, wear: Wear, size: tuple[float, float], top: float) -> None:
    _, unit = Display(result.scenario.units).length_axis
    bottom = top - _OVER - size[1]
    for k, (amounts, levels) in enumerate(((wear.hits, HITS), (wear.energy, ENERGY))):
        axes = axes_at(figure, _LEFT + k * (_WIDE + _GAP), bottom, *size)
        axes.set_xlim(wear.edges[0][0], wear.edges[0][-1])
        axes.set_ylim(wear.edges[1][0], wear.edges[1][-1])
        squares(axes, amounts, wear.edges, levels)
        _draw_outline(axes, result, guard)
        ticks = max(int(2.5 * size[0]), 2), max(int(4.0 * size[1]), 2)
        name_axes(axes, guard.frame, unit, ticks, "left")
    across, tall = figure.get_size_inches()
    figure.text(_LEFT / across, (top - 0.14) / tall, guard.label, fontsize=NORMAL, fontweight="bold", va="bottom")
    for k, words in enumerate(_told(wear)):
        place = (_LEFT + k * (_WIDE + _GAP)) / across, (top - 0.31) / tall
        figure.text(*place, words, fontsize=SMALL, va="bottom")


def _told(wear: Wear) -> tuple[str, str]:
    """Hits and energy in all, and in the square that has most."""
    hits, energy = (per_thousand(float(wear.hits.sum())), per_thousand(float(wear.hits.max()))), wear.energy
    return (
        f"{hits[0]} hits, the most in a square {hits[1]}",
        f"{energy.sum():,.3g} J, the most in a square {energy.max():,.3g} J"
        if energy.sum() < 1000.0 else f"{energy.sum():,.0f} J, the most in a square {energy.max():,.0f} J",
    )  # fmt: skip


def _size(wear: Wear) -> tuple[float, float]:
    """Width and height on paper, inches: to scale, and as large as there is room."""
    wide, tall = (float(np.ptp(edge)) for edge in wear.edges)
    each = min(_WIDE / wide, _TALL / tall)
    return wide * each, tall * each


def _outlines(result: RunResult, guard: Guard) -> list[Array]:
    return [line for k in guard.index for line in silhouettes(result.bay.parts[k].shape, guard.frame)]


def _draw_outline(axes: Axes, result: RunResult, guard: Guard) -> None:
    for line in _outlines(result, guard):
        axes.add_artist(Polygon(line, closed=len(line) > 2, facecolor="none", edgecolor=GUARD_COLOUR, zorder=6))
