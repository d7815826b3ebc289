"""For each guard: where balls first meet it, in its own plane, which of these got past in the end, and what went by."""

from __future__ import annotations

from dataclasses import dataclass, replace
from textwrap import fill
from typing import Any, Literal

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import block
from flightsim.contact.fates import Outcome
from flightsim.report.draw.choose import pick_from
from flightsim.report.draw.first_arcs import FirstArcs
from flightsim.report.draw.projection import Frame, face_normal, frame_on, silhouettes, within
from flightsim.report.draw.shading import edges_of, shading_key, squares, totals
from flightsim.report.draw.style import (
    ESCAPES,
    GREY,
    GUARD_COLOUR,
    GUARD_DASHES,
    GUARD_LINE,
    SMALL,
    THIN_LINE,
    TINY,
    axes_at,
    heading,
    mark_look,
    new_figure,
)
from flightsim.report.words.common_words import OUTCOME_WORDS, per_thousand
from flightsim.scenario.reading.display import Display
from flightsim.study.run.on_disk import PIECE, let_go
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]

MARGIN = 0.5  # m of the plane shown round the guard
NEAR = 0.6  # m: a part this close to the guard's plane is its neighbour
MOST_MARKS = 150  # an outcome, of balls that met the guard first: more would hide the shading
LEVELS = (0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 1000.0)  # hits per 1,000 balls
CELLS = {"m": 0.1, "ft": 0.25}  # size of a cell, user units
_WIDTH, _LEFT, _RIGHT, _BOTTOM, _TOP = 7.6, 0.65, 2.15, 0.55, 0.9  # inches
_LEAST_TALL, _MOST_TALL = 3.6, 5.6


@dataclass(frozen=True)
class Guard:
    """One guard: its name, its parts by index into the bay's parts, and its plane."""

    label: str
    index: tuple[int, ...]
    frame: Frame


def guards(result: RunResult) -> list[Guard]:
    """The bay's guards, in the order in which they hang in it; those no plane can be found for are left out."""
    scale, _ = Display(result.scenario.units).length_axis
    groups: dict[str, list[int]] = {}
    for k, part in enumerate(result.bay.parts):
        if part.role is Role.GUARD and part.shape.outlines():
            groups.setdefault(part.label, []).append(k)
    return [
        Guard(label, tuple(index), _plane([result.bay.parts[k] for k in index], scale))
        for label, index in groups.items()
    ]


def _plane(parts: list[Part], scale: float) -> Frame:
    """The plane of the largest face."""
    faces = [face for part in parts for face in part.shape.outlines()]
    largest = max(
        faces, key=lambda face: float(np.linalg.norm(np.cross(face - face[0], np.roll(face, -1, 0) - face[0]).sum(0)))
    )
    normal = face_normal(largest)
    middle = largest.mean(axis=0)
    frame = frame_on(middle, np.eye(3)[2] if normal is None else normal, scale)
    # Its origin is the point of the plane beside the tee, so that the axes read from the tee and the slab.
    return replace(frame, origin=frame.normal * (middle @ frame.normal))


def hits_figure(result: RunResult, guard: Guard, escapes: FirstArcs) -> Figure:
    """First contacts with one guard per 1,000 balls, cell by cell. escapes: sampled balls that met no guard first."""
    _, unit = Display(result.scenario.units).length_axis
    outlines = [line for k in guard.index for line in silhouettes(result.bay.parts[k].shape, guard.frame)]
    corners = np.concatenate(outlines)
    low, high = window(result, guard.frame, corners)
    figure, axes = paper(low, high)
    _bare(axes, result, guard, low, high)
    for outline in outlines:
        axes.add_artist(Polygon(outline, closed=len(outline) > 2, facecolor="white", edgecolor="none", zorder=2))
    counts, edges = heat(result, guard, low, high, CELLS[unit])
    squares(axes, counts, edges, LEVELS)
    for outline in outlines:
        look = {"edgecolor": GUARD_COLOUR, "linewidth": GUARD_LINE, "linestyle": GUARD_DASHES}
        axes.add_artist(Polygon(outline, closed=len(outline) > 2, facecolor="none", zorder=6, **look))
    hit = met_first(result, guard)
    _keys(figure, axes, unit, _after(axes, result, guard, hit), _passed(axes, result, guard, escapes, outlines))
    name_axes(axes, guard.frame, unit)
    heading(figure, guard.label[:1].upper() + guard.label[1:], _told(result, hit))
    return figure


def met_first(result: RunResult, guard: Guard) -> NDArray[np.bool_]:
    """Which shots met this guard before anything else."""
    return np.isin(np.arange(-1, len(result.bay.parts)), guard.index)[result.contacts.part + 1]


def _told(result: RunResult, hit: NDArray[np.bool_]) -> str:
    """How many balls met the guard first, and how many of these got past in the end."""
    if not hit.any():
        return f"met first by none of {len(result.shots):,} shots"
    share = per_thousand(1000.0 * float(result.weight[hit].sum()))
    past = hit & (result.outcome <= max(ESCAPES))
    gone = per_thousand(1000.0 * float(result.weight[past].sum())) if past.any() else "none seen"
    return f"of 1,000 balls {share} meet it first;\nof those, {gone} then get past the protection"


def _after(axes: Axes, result: RunResult, guard: Guard, hit: NDArray[np.bool_]) -> dict[Outcome, str]:
    """Mark where balls met the guard that got past the protection in the end; of 1,000 balls, how many of each kind."""
    counts = {}
    for outcome in reversed(ESCAPES):
        escaped = np.flatnonzero(hit & (result.outcome == outcome))
        marked = pick_from(result, escaped, MOST_MARKS)
        places = guard.frame.flat(result.contacts.point[:, marked].T)
        axes.plot(*places.T, zorder=8, **_after_look(outcome))
        if escaped.size:
            counts[outcome] = f": {per_thousand(1000.0 * float(result.weight[escaped].sum()))}"
    return counts


def window(result: RunResult, frame: Frame, corners: Array) -> tuple[Array, Array]:
    """What is shown of the plane: the guard and a margin, but not far outside the room."""
    margin, edge = MARGIN * frame.scale, 0.06 * frame.scale
    low, high = corners.min(axis=0), corners.max(axis=0)
    room = frame.flat(block(result.bay.lower, result.bay.upper).corners())
    first, last = np.minimum(room.min(axis=0) - edge, low), np.maximum(room.max(axis=0) + edge, high)
    return np.maximum(low - margin, first), np.minimum(high + margin, last)


def paper(low: Array, high: Array) -> tuple[Figure, Axes]:
    """A sheet on which the plane is to scale."""
    wide, tall = high - low
    per_metre = min((_WIDTH - _LEFT - _RIGHT) / wide, _MOST_TALL / tall)
    width, height = wide * per_metre, tall * per_metre
    free = max(_LEAST_TALL - height, 0.0)
    figure = new_figure(max(_LEFT + width + _RIGHT, 5.0), height + free + _BOTTOM + _TOP)
    axes = axes_at(figure, _LEFT, _BOTTOM + free, width, height)
    axes.set_xlim(low[0], high[0])
    axes.set_ylim(low[1], high[1])
    return figure, axes


def _after_look(outcome: Outcome) -> dict[str, Any]:
    """Filled, with a white rim on the shading; a cross has nothing to fill, and is heavier instead."""
    look = mark_look(outcome, 3.8, hollow=False)
    if outcome is Outcome.HIT_UNPROTECTED:
        return look | {"markeredgewidth": 1.5}
    return look | {"markeredgecolor": "white", "markeredgewidth": 0.4}


def name_axes(
    axes: Axes, frame: Frame, unit: str, ticks: tuple[int, int] = (8, 8), loc: Literal["left", "center"] = "center"
) -> None:
    """Both axes read from the tee and the slab, whichever way the plane is looked at."""
    along = abs(frame.right[0]) > 0.7
    axes.set_xlabel(
        f"from the tee toward the screen ({unit})" if along else f"right of the tee ({unit})", fontsize=SMALL, loc=loc
    )
    axes.set_ylabel(f"height ({unit})" if abs(frame.up[2]) > 0.7 else f"left of the tee ({unit})", fontsize=SMALL)
    sign = -1.0 if frame.right[0] < -0.7 else 1.0
    for axis, most in zip((axes.xaxis, axes.yaxis), ticks, strict=True):
        axis.set_major_locator(MaxNLocator(nbins=most, steps=[1, 2, 5, 10]))
    axes.xaxis.set_major_formatter(lambda value, place: f"{sign * value + 0.0:g}")
    axes.yaxis.set_major_formatter(lambda value, place: f"{value + 0.0:g}")


def heat(result: RunResult, guard: Guard, low: Array, high: Array, cell: float) -> tuple[Array, tuple[Array, Array]]:
    """Expected hits per 1,000 balls in each cell, and the cells' edges."""
    hit = np.flatnonzero(met_first(result, guard))
    edges = edges_of(low, high, cell)
    found = np.zeros([edge.size - 1 for edge in edges])
    for first in range(0, hit.size, PIECE):
        piece = hit[first : first + PIECE]
        found += totals(guard.frame.flat(result.contacts.point[:, piece].T), 1000.0 * result.weight[piece], edges)
        let_go(result.contacts)
    return found, edges


def _bare(axes: Axes, result: RunResult, guard: Guard, low: Array, high: Array) -> None:
    """Hatch what is unprotected beside the guard; draw other guards near the plane over it."""
    for part in result.bay.parts:
        if part.role is Role.FLOOR or part in [result.bay.parts[k] for k in guard.index]:
            continue
        depth = np.concatenate(
            [guard.frame.depth(outline) for outline in part.shape.outlines()] or [np.full(1, np.inf)]
        )
        if depth.min() > NEAR or depth.max() < -NEAR:
            continue
        for outline in silhouettes(part.shape, guard.frame):
            if (outline.max(axis=0) < low).any() or (outline.min(axis=0) > high).any():
                continue
            axes.add_artist(Polygon(outline, **_neighbour_look(part, len(outline) > 2)))


def _neighbour_look(part: Part, closed: bool) -> dict[str, Any]:
    if part.role is Role.GUARD:
        return {"closed": closed, "facecolor": "none", "edgecolor": GREY, "linewidth": THIN_LINE,
                "linestyle": GUARD_DASHES, "zorder": 5}  # fmt: skip
    return {"closed": closed, "facecolor": "none", "edgecolor": GREY, "linewidth": THIN_LINE, "zorder": 1,
            "hatch": "///" if closed else None}  # fmt: skip


def _passed(
    axes: Axes, result: RunResult, guard: Guard, escapes: FirstArcs, outlines: list[Array]
) -> dict[Outcome, str]:
    """Mark where sampled balls that met no guard first went through the guard's plane beside it; of which kinds."""
    places, shots = _crossings(guard.frame, escapes)
    beside = ~np.logical_or.reduce(
        [within(line, places) for line in outlines if len(line) > 2] or [np.zeros(len(places), bool)]
    )
    low, high = np.array([axes.get_xlim(), axes.get_ylim()]).T
    beside &= ((places >= low) & (places <= high)).all(axis=1)
    seen = {}
    for outcome in reversed(ESCAPES):
        went_by = beside & (result.outcome[shots] == outcome)
        axes.plot(*places[went_by].T, zorder=7, **mark_look(outcome, 3.2))
        if went_by.any():
            seen[outcome] = ""  # a sample: no number
    return seen


def _crossings(frame: Frame, paths: FirstArcs) -> tuple[Array, NDArray[np.intp]]:
    """Where paths first go through a plane `(k, 2)`, user units, and the shots `(k,)` that do."""
    if not len(paths.shots):
        return np.empty((0, 2)), paths.shots
    depth = frame.depth(paths.points)
    change = depth[:, :-1] * depth[:, 1:] < 0.0
    crossing = np.flatnonzero(change.any(axis=1))
    step = change[crossing].argmax(axis=1)
    before, after = depth[crossing, step], depth[crossing, step + 1]
    share = (before / (before - after))[:, None]
    points = paths.points[crossing, step] * (1.0 - share) + paths.points[crossing, step + 1] * share
    return frame.flat(points), paths.shots[crossing]


def _keys(figure: Figure, axes: Axes, unit: str, after: dict[Outcome, str], passed: dict[Outcome, str]) -> None:
    """The steps of the shading, and what the marks and lines mean."""
    cell = CELLS[unit]
    wide, up = figure.get_size_inches()
    x = axes.get_position().x1 + 0.18 / wide
    shading_key(figure, LEVELS, f"hits per 1,000 balls\nin a cell of {cell:g} by {cell:g} {unit}", (x, 1.0 - _TOP / up))
    lines: list[Artist] = [
        Line2D([], [], color=GUARD_COLOUR, linewidth=GUARD_LINE, linestyle=GUARD_DASHES),
        Line2D([], [], color=GREY, linewidth=THIN_LINE, linestyle=GUARD_DASHES),
        Patch(facecolor="none", edgecolor=GREY, linewidth=THIN_LINE, hatch="///"),
    ]
    words = ["this guard", "another guard near it", "unprotected, near its plane"]
    for outcome in ESCAPES:
        for seen, hollow, when in ((after, False, "after it"), (passed, True, "went by it")):
            if outcome in seen:
                lines.append(Line2D([], [], **(mark_look(outcome, 4) if hollow else _after_look(outcome))))
                words.append(fill(f"{OUTCOME_WORDS[outcome]}, {when}{seen[outcome]}", 26))
    figure.legend(
        lines, words, loc="lower left", bbox_to_anchor=(x, 0.12 / up), handlelength=2.4, labelspacing=0.5,
        frameon=False, fontsize=TINY, alignment="left", borderaxespad=0.0,
    )  # fmt: skip
