"""Where balls that met no guard hit the room or left it, on its walls and roof laid flat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, Role
from flightsim.contact.outcomes import Outcome
from flightsim.report.linework import is_surface, is_wall
from flightsim.report.paths import pick
from flightsim.report.projection import Frame, hull, sheet_normal, silhouettes
from flightsim.report.style import (
    GREY,
    INK,
    NORMAL,
    OPENING_DASHES,
    SMALL,
    STROKES,
    THIN_LINE,
    TINY,
    WALL_LINE,
    axes_at,
    heading,
    new_figure,
)
from flightsim.report.words import OUTCOME_WORDS, per_thousand
from flightsim.scenario.display import Display
from flightsim.study.result import RunResult

Array = NDArray[np.float64]

BELOW = (
    "The room seen from inside and laid flat: left wall, end wall behind the screen, right wall, back;\n"
    "the roof, as seen from below, over the end wall."
)
MOST_MARKS = 400  # an outcome: more would be one blot
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


def unfolded(result: RunResult) -> Figure:
    """The room laid flat, with the marks of balls that hit something unprotected or left."""
    display = Display(result.scenario.units)
    scale, _ = display.length_axis
    faces = faces_of(result)
    length, width, height = (result.bay.upper - result.bay.lower) * scale
    right = faces[3].shift[0] + width
    top = faces[4].shift[1] + length
    per_unit = (_WIDTH - 2 * _SIDE) / right
    figure = new_figure(_WIDTH, _TOP + _BOTTOM + top * per_unit)
    axes = axes_at(figure, _SIDE, _BOTTOM, right * per_unit, top * per_unit)
    axes.set_axis_off()
    axes.set_xlim(0.0, right)
    axes.set_ylim(0.0, top)
    owner = _face_index(result, faces)
    for k, face in enumerate(faces):
        _surface(axes, result, face, 1.0 / per_unit)
        _write(axes, result, face, owner == k, length if face.name == "roof" else height)
    drawn = _marks(axes, result, faces, owner)
    _legend(axes, result, drawn, faces[2].shift[0], top)
    _rulers(axes, faces, result.bay, display)
    heading(figure, "Where the others go", BELOW)
    return figure


def _face_index(result: RunResult, faces: list[Face]) -> NDArray[np.intp]:
    """For each shot the face it hit or left through, -1 for none. What hits a thing in the room goes on the roof."""
    out = np.full(len(result.shots), -1, dtype=np.intp)
    lost = np.flatnonzero(np.isin(result.outcome, (Outcome.HIT_UNPROTECTED, Outcome.GOT_OUT)))
    part = result.contacts.part[lost]
    left = result.contacts.opening[lost] >= 0
    wall = np.array([is_surface(p) for p in result.bay.parts], dtype=bool)
    sign = np.where(left, 1.0, -1.0)
    toward = np.stack([face.outward for face in faces]) @ (result.contacts.normal[:, lost] * sign)
    out[lost] = np.where(left | wall[part], toward.argmax(axis=0), len(faces) - 1)
    return out


def _on_thing(result: RunResult) -> NDArray[np.bool_]:
    """Shots that hit something unprotected that is not the room itself."""
    thing = np.array([part.role is Role.UNPROTECTED and not is_surface(part) for part in result.bay.parts] + [False])
    return np.asarray(thing[result.contacts.part] & (result.outcome == Outcome.HIT_UNPROTECTED))


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
                  va="top", rotation=90 if turned else 0, zorder=8)  # fmt: skip


def _outline(axes: Axes, outline: Array, **look: Any) -> None:
    look = {"facecolor": "none", "edgecolor": INK, "closed": len(outline) > 2, "zorder": 3, "clip_on": False, **look}
    axes.add_artist(Polygon(outline, **look))


def _write(axes: Axes, result: RunResult, face: Face, mine: NDArray[np.bool_], height: float) -> None:
    """The surface's name and what share of balls goes there: over a wall, beside the roof."""
    share = 1000.0 * float(result.weight[mine].sum())
    amount = f"{per_thousand(share)} in 1,000 balls" if mine.any() else "none seen"
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


def _marks(axes: Axes, result: RunResult, faces: list[Face], owner: NDArray[np.intp]) -> dict[str, tuple[int, int]]:
    """Mark a sample; drawn and counted, by the words of the legend."""
    thing = _on_thing(result)
    told: dict[str, tuple[int, int]] = {}
    for outcome in (Outcome.HIT_UNPROTECTED, Outcome.GOT_OUT):
        stroke, some = STROKES[outcome], pick(result, outcome, MOST_MARKS)
        for k, face in enumerate(faces):
            for kind, mark in ((False, stroke.mark), (True, "+")):
                here = some[(owner[some] == k) & (thing[some] == kind)]
                places = face.place(result.contacts.point[:, here].T)
                axes.plot(*places.T, linestyle="none", marker=mark, markersize=3.2, color=stroke.colour,
                          markeredgewidth=0.6, markerfacecolor="none", zorder=6, clip_on=False)  # fmt: skip
        told[outcome.key] = len(some), int((result.outcome == outcome).sum())
    return told


def _legend(axes: Axes, result: RunResult, drawn: dict[str, tuple[int, int]], x: float, top: float) -> None:
    lines, words = [], []
    for outcome in (Outcome.HIT_UNPROTECTED, Outcome.GOT_OUT):
        stroke, (some, count) = STROKES[outcome], drawn[outcome.key]
        lines.append(Line2D([], [], linestyle="none", marker=stroke.mark, color=stroke.colour, markersize=5))
        words.append(f"{OUTCOME_WORDS[outcome]}\n{count:,} of {len(result.shots):,} shots, {some:,} marked")
    colour = STROKES[Outcome.HIT_UNPROTECTED].colour
    lines += [
        Line2D([], [], linestyle="none", marker="+", color=colour, markersize=6),
        Line2D([], [], color=INK, linewidth=1.0, linestyle=OPENING_DASHES),
    ]
    things = int(_on_thing(result).sum())
    words += [f"the same, on a thing in the room:\n{things:,} shots, shown in plan on the roof", "opening"]
    axes.legend(
        lines, words, loc="upper left", bbox_to_anchor=(x, top), bbox_transform=axes.transData, frameon=False,
        fontsize=SMALL, labelspacing=0.9, alignment="left", borderaxespad=0.0, title="The ball ...",
        title_fontsize=NORMAL,
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
