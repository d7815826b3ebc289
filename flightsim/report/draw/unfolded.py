"""Where balls that got past the protection hurt the room or left it, on its walls and roof laid flat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.patheffects import withStroke
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, Role
from flightsim.contact.fates import Flag, Outcome
from flightsim.report.draw.choose import pick_flagged
from flightsim.report.draw.linework import is_surface, is_wall
from flightsim.report.draw.projection import Frame, hull, sheet_normal, silhouettes
from flightsim.report.draw.style import (
    GREY,
    INK,
    NORMAL,
    OPENING_DASHES,
    SMALL,
    THIN_LINE,
    TINY,
    WALL_LINE,
    bare_axes_at,
    heading,
    mark_look,
    new_figure,
)
from flightsim.report.words.common_words import OUTCOME_WORDS, per_thousand
from flightsim.scenario.reading.display import Display
from flightsim.study.run.replay import Replay
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]
Index = NDArray[np.intp]

BELOW = (
    "The room seen from inside and laid flat: left wall, end wall behind the screen, right wall, back;\n"
    "the roof, as seen from below, over the end wall."
)
MOST_MARKS = 300  # of one kind: more would be one blot
# What happens at the room, worst first.
SHOWN = (Flag.GOT_OUT, Flag.BROKE_THROUGH, Flag.PAST_EDGE, Flag.STRUCK_THROUGH, Flag.HIT_UNPROTECTED)
_WIDTH, _TOP, _BOTTOM, _SIDE, _LABEL = 9.2, 0.95, 0.45, 0.55, 0.5  # inches
X, Y, Z = np.eye(3)


@dataclass(frozen=True)
class Face:
    """One surface of the room as the drawing shows it, from inside: name, outward normal, its paper frame and
    where its paper origin goes on the sheet `(2,)`, user units.
    """

    name: str
    outward: Array
    frame: Frame
    shift: Array

    def place(self, points: Array) -> Array:
        """Sheet coordinates `(n, 2)`, user units, of points `(n, 3)`, m."""
        return self.frame.flat(points) + self.shift


def faces_of(result: RunResult) -> list[Face]:
    """Left wall, end wall, right wall, back in a row as the player turns right round; the roof over the end wall."""
    scale, _ = Display(result.scenario.units).length_axis
    low, high = result.bay.lower, result.bay.upper
    length, width, height = (high - low) * scale
    gap = 0.03 * (2 * length + 2 * width)
    over = _LABEL * (2 * length + 2 * width + 3 * gap) / (_WIDTH - 2 * _SIDE)  # room for the names over the walls
    starts = np.cumsum([0.0, length + gap, width + gap, length + gap])

    def face(name: str, outward: Array, right: Array, up: Array, corner: Array, x: float, y: float) -> Face:
        return Face(name, outward, Frame(corner, right, up, scale), np.array([x, y]))

    left_back, right_end = np.array([low[0], high[1], 0.0]), np.array([high[0], low[1], 0.0])
    return [
        face("left wall", Y, X, Z, left_back, starts[0], 0.0),
        face("end wall", X, -Y, Z, np.array([high[0], high[1], 0.0]), starts[1], 0.0),
        face("right wall", -Y, -X, Z, right_end, starts[2], 0.0),
        face("back", -X, Y, Z, np.array([low[0], low[1], 0.0]), starts[3], 0.0),
        face("roof", Z, -Y, -X, np.array([high[0], high[1], 0.0]), starts[1], height + over),
    ]


def wanted(result: RunResult) -> Index:
    """The shots that are marked."""
    return np.unique(np.concatenate([pick_flagged(result, flag, MOST_MARKS) for flag in SHOWN]))


def unfolded(result: RunResult, flown: Replay) -> Figure:
    """The room laid flat, with marks where balls hurt it or left it. flown: those `wanted`, flown again."""
    display = Display(result.scenario.units)
    scale, _ = display.length_axis
    faces = faces_of(result)
    length, width, height = (result.bay.upper - result.bay.lower) * scale
    right = faces[3].shift[0] + width
    top = faces[4].shift[1] + length
    per_unit = (_WIDTH - 2 * _SIDE) / right
    figure = new_figure(_WIDTH, _TOP + _BOTTOM + top * per_unit)
    axes = bare_axes_at(figure, _SIDE, _BOTTOM, right * per_unit, top * per_unit)
    axes.set_xlim(0.0, right)
    axes.set_ylim(0.0, top)
    owner = _owners(result, faces)
    for k, face in enumerate(faces):
        _surface(axes, result, face, 1.0 / per_unit)
        _write(axes, result, face, (owner == k).any(axis=0), length if face.name == "roof" else height)
    _marks(axes, result, flown, faces, owner)
    _legend(axes, result, faces[2].shift[0], top)
    _rulers(axes, faces, result.bay, display)
    heading(figure, "Where balls get past the protection", BELOW)
    return figure


def _owners(result: RunResult, faces: list[Face]) -> NDArray[np.int8]:
    """For each flag in SHOWN and each shot `(flags, n)` the face on which it came about, -1 for none.

    What happens to a thing in the room is shown in plan, on the roof.
    """
    fates, bay = result.fates, result.bay
    outward = np.stack([face.outward for face in faces])
    of_part = np.array([_face_of(part, bay, outward) for part in bay.parts] + [-1], dtype=np.intp)
    of_opening = np.array([int((outward @ o.normal).argmax()) for o in bay.openings] + [-1], dtype=np.intp)
    rows = []
    for flag in SHOWN:
        row, shots = np.full(len(fates), -1, dtype=np.int8), np.flatnonzero(fates.with_flag(flag))
        row[shots] = (of_opening if flag is Flag.GOT_OUT else of_part)[fates.place[flag, shots]]
        gap = shots[row[shots] < 0]  # left the room where no opening is known
        row[gap] = _nearest_face(fates.point[:, gap], bay)
        rows.append(row)
    return np.stack(rows)


def _face_of(part: Part, bay: Bay, outward: Array) -> int:
    """The face that a wall, or what hangs flat before it, belongs to; the roof for all else."""
    normal = sheet_normal(part.shape)
    if normal is None or (part.role is Role.UNPROTECTED and not is_surface(part)):
        return len(outward) - 1
    away = np.concatenate(part.shape.outlines()).mean(axis=0) - (bay.lower + bay.upper) / 2.0
    return int((outward @ (normal if normal @ away > 0.0 else -normal)).argmax())


def _nearest_face(points: Array, bay: Bay) -> Index:
    """The side of the room, in the order of `faces_of`, that each of these points `(3, k)` is nearest to or beyond."""
    low, high = points - bay.lower[:, None], bay.upper[:, None] - points
    return np.asarray(np.stack([high[1], high[0], low[1], low[0], high[2]]).argmin(axis=0))


def _on_thing(result: RunResult, flag: Flag, shots: Index) -> NDArray[np.bool_]:
    """Which of these shots did it to something that is not the room itself."""
    is_thing = [part.role is Role.UNPROTECTED and not is_surface(part) for part in result.bay.parts]
    on_thing = np.array([*is_thing, False])[result.fates.place[flag, shots]]
    return np.asarray(on_thing & (flag is not Flag.GOT_OUT) & result.fates.with_flag(flag, shots))


def _surface(axes: Axes, result: RunResult, face: Face, per_inch: float) -> None:
    """Outline of a surface with its openings; on the roof also the things that hang below it."""
    corners = [line for part in result.bay.parts if is_wall(part) for line in part.shape.outlines()]
    corners += [opening.corners for opening in result.bay.openings]
    everything = np.concatenate(corners)
    if face.name == "roof":
        outline = hull(face.place(everything))
        things = [part for part in result.bay.parts if part.role is Role.UNPROTECTED and not is_surface(part)]
    else:
        reach = everything @ face.outward
        outline = hull(face.place(everything[reach > reach.max() - 1e-6]))
        things = [part for part in result.bay.parts if is_surface(part) and not is_wall(part) and _in_face(part, face)]
    for part in things:
        for line in silhouettes(part.shape, face.frame):
            _outline(axes, line + face.shift, linewidth=THIN_LINE * 0.7, edgecolor=GREY)
            if face.name != "roof":
                _name(axes, part.label, line + face.shift, per_inch)
    _outline(axes, outline, linewidth=WALL_LINE * 0.8)
    for opening in result.bay.openings:
        if opening.normal @ face.outward > 0.7:
            hole = face.place(opening.corners)
            _outline(axes, hole, linewidth=1.0, linestyle=OPENING_DASHES, facecolor="0.95")
            _name(axes, opening.name, hole, per_inch)


def _in_face(part: Part, face: Face) -> bool:
    normal, points = sheet_normal(part.shape), np.concatenate(part.shape.outlines())
    outside = (points - face.frame.origin) @ face.outward
    return normal is not None and abs(float(normal @ face.outward)) > 0.7 and float(np.abs(outside).max()) < 0.05


def _name(axes: Axes, name: str, outline: Array, per_inch: float) -> None:
    """A name inside an outline, at its top; turned where that is too narrow, below it where it is too small."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    wide, tall = (high - low) / per_inch
    need = 0.06 * len(name)
    turned = wide < need <= tall
    middle = wide >= need and len(outline) != 4
    place = ((low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0 if middle else high[1])
    if wide < need and not turned:
        place = place[0], low[1]
    axes.annotate(name, place, (0, -3), textcoords="offset points", fontsize=TINY, ha="center",
                  va="top", rotation=90 if turned else 0, zorder=8,
                  path_effects=[withStroke(linewidth=2.0, foreground="white")])  # fmt: skip


def _outline(axes: Axes, outline: Array, **look: Any) -> None:
    look = {"facecolor": "none", "edgecolor": INK, "closed": len(outline) > 2, "zorder": 3, "clip_on": False, **look}
    axes.add_artist(Polygon(outline, **look))


def _write(axes: Axes, result: RunResult, face: Face, shots: NDArray[np.bool_], height: float) -> None:
    """The surface's name and what share of balls goes there: over a wall, beside the roof."""
    amount = _of_thousand(result, shots)
    look: dict[str, Any] = {
        "textcoords": "offset points",
        "fontsize": SMALL,
        "linespacing": 1.25,
        "annotation_clip": False,
    }
    top = (float(face.shift[0]), float(face.shift[1]) + height)
    if face.name == "roof":
        axes.annotate(f"{face.name}\n{amount}", top, (-6, 0), va="top", ha="right", **look)
    else:
        axes.annotate(f"{face.name}\n{amount}", top, (0, 28), va="top", ha="left", **look)


def _of_thousand(result: RunResult, shots: NDArray[np.bool_]) -> str:
    """How many of 1,000 balls these shots are."""
    share = 1000.0 * float(result.weight[shots].sum())
    return f"{per_thousand(share)} in 1,000 balls" if shots.any() else "none seen"


def _marks(axes: Axes, result: RunResult, flown: Replay, faces: list[Face], owner: NDArray[np.int8]) -> None:
    """Mark a sample of each kind."""
    for row, flag in enumerate(SHOWN):
        balls = flown.where(pick_flagged(result, flag, MOST_MARKS))
        balls = balls[flown.fates.with_flag(flag, balls)]
        places, shots = flown.spots(result.bay, flag, balls), flown.shots[balls]
        on_thing, face_of = _on_thing(result, flag, shots), owner[row, shots]
        for k, face in enumerate(faces):
            for kind in (False, True):
                here = (face_of == k) & (on_thing == kind)
                look = mark_look(Outcome(flag), 3.4) | ({"marker": "+", "markersize": 4.6} if kind else {})
                axes.plot(*face.place(places[:, here].T).T, zorder=6, clip_on=False, **look)


def _legend(axes: Axes, result: RunResult, x: float, top: float) -> None:
    lines, words = [], []
    for flag in SHOWN:
        lines.append(Line2D([], [], **mark_look(Outcome(flag), 5)))
        words.append(f"{OUTCOME_WORDS[Outcome(flag)]}\n{_of_thousand(result, result.fates.with_flag(flag))}")
    everybody = np.arange(len(result.shots))
    things = np.logical_or.reduce([_on_thing(result, flag, everybody) for flag in SHOWN])
    lines += [
        Line2D([], [], **mark_look(Outcome.HIT_UNPROTECTED, 6) | {"marker": "+"}),
        Line2D([], [], color=INK, linewidth=1.0, linestyle=OPENING_DASHES),
    ]
    share = _of_thousand(result, things) + (", in plan on the roof" if things.any() else "")
    words += [f"+ the same, on a thing in the room:\n{share}", "opening"]
    axes.legend(
        lines, words, loc="upper left", bbox_to_anchor=(x, top), bbox_transform=axes.transData, frameon=False,
        fontsize=TINY, labelspacing=0.9, ncol=2, columnspacing=1.0, alignment="left", borderaxespad=0.0,
        title="The ball ...", title_fontsize=NORMAL,
    )  # fmt: skip


def _rulers(axes: Axes, faces: list[Face], bay: Bay, display: Display) -> None:
    """How long and high the surfaces are."""
    scale, _ = display.length_axis
    length, width, height = (bay.upper - bay.lower) * scale
    for face, wide in zip(faces[:4], (length, width, length, width), strict=True):
        axes.annotate(
            display.length(wide / scale), (face.shift[0] + wide / 2.0, 0.0), (0, -5), textcoords="offset points",
            fontsize=TINY, ha="center", va="top", color=GREY,
        )  # fmt: skip
    axes.annotate(
        display.length(height / scale), (0.0, height / 2.0), (-5, 0), textcoords="offset points", fontsize=TINY,
        ha="right", va="center", rotation=90, color=GREY,
    )  # fmt: skip
