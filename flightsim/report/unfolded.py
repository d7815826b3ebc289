"""Where balls that met no guard hit the room or left it, on its walls and roof laid flat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from numpy.typing import NDArray

from flightsim.bay.parts import Role
from flightsim.contact.outcomes import Outcome
from flightsim.report.linework import OPENING_DASHES, is_wall
from flightsim.report.paths import pick
from flightsim.report.projection import Frame, hull, silhouettes
from flightsim.report.style import (
    GREY,
    INK,
    NORMAL,
    SMALL,
    STROKES,
    THIN_LINE,
    TINY,
    WALL_LINE,
    axes_at,
    heading,
    new_figure,
)
from flightsim.report.words import OUTCOME_WORDS
from flightsim.scenario.display import Display
from flightsim.study.result import RunResult

Array = NDArray[np.float64]

MOST_MARKS = 700  # an outcome: more would be one blot
_WIDTH, _TOP, _BOTTOM, _SIDE = 11.0, 0.8, 0.55, 0.55  # inches
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
    starts = np.cumsum([0.0, length + gap, width + gap, length + gap])

    def face(name: str, outward: Array, right: Array, up: Array, corner: Array, x: float, y: float) -> Face:
        return Face(name, outward, Frame(corner, right, up, scale), np.array([x, y]))

    left_back, right_end = np.array([low[0], high[1], 0.0]), np.array([high[0], low[1], 0.0])
    return [
        face("left wall", Y, X, Z, left_back, starts[0], 0.0),
        face("end wall", X, -Y, Z, np.array([high[0], high[1], 0.0]), starts[1], 0.0),
        face("right wall", -Y, -X, Z, right_end, starts[2], 0.0),
        face("back", -X, Y, Z, np.array([low[0], low[1], 0.0]), starts[3], 0.0),
        face("roof", Z, -Y, -X, np.array([high[0], high[1], 0.0]), starts[1], height + gap),
    ]


def unfolded(result: RunResult) -> Figure:
    """The room laid flat, with the marks of balls that hit something unprotected or left."""
    scale, unit = Display(result.scenario.units).length_axis
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
        _surface(axes, result, face)
        _write(axes, result, face, owner == k, np.array([width if k in (1, 3, 4) else length, length if k == 4 else height]))
    drawn = _marks(axes, result, faces, owner)
    _legend(axes, result, drawn, faces[2].shift[0], top)
    _rulers(axes, faces, np.array([length, width, height]), unit)
    heading(
        figure, "Where the others go", "the room seen from inside and laid flat: left wall, end wall behind the screen, "
        "right wall, back; the roof as seen from below, over the end wall",
    )  # fmt: skip
    return figure


def _face_index(result: RunResult, faces: list[Face]) -> NDArray[np.intp]:
    """For each shot the face it hit or left through, -1 for none. What hits a thing in the room goes on the roof."""
    out = np.full(len(result.shots), -1, dtype=np.intp)
    lost = np.flatnonzero(np.isin(result.outcome, (Outcome.HIT_UNPROTECTED, Outcome.GOT_OUT)))
    part = result.contacts.part[lost]
    left = result.contacts.opening[lost] >= 0
    wall = np.array([is_wall(p) for p in result.bay.parts], dtype=bool)
    sign = np.where(left, 1.0, -1.0)
    toward = np.stack([face.outward for face in faces]) @ (result.contacts.normal[:, lost] * sign)
    out[lost] = np.where(left | wall[part], toward.argmax(axis=0), len(faces) - 1)
    return out


def _on_thing(result: RunResult) -> NDArray[np.bool_]:
    """Shots that hit something unprotected that is not the room itself."""
    thing = np.array([part.role is Role.UNPROTECTED and not is_wall(part) for part in result.bay.parts] + [False])
    return np.asarray(thing[result.contacts.part] & (result.outcome == Outcome.HIT_UNPROTECTED))


def _surface(axes: Axes, result: RunResult, face: Face) -> None:
    """Outline of a surface with its openings; on the roof also the things that hang below it."""
    corners = [line for part in result.bay.parts if is_wall(part) for line in part.shape.outlines()]
    corners += [opening.corners for opening in result.bay.openings]
    everything = np.concatenate(corners)
    if face.name == "roof":
        outline = hull(face.place(everything))
        for part in result.bay.parts:
            if part.role is Role.UNPROTECTED and not is_wall(part):
                for line in silhouettes(part.shape, face.frame):
                    _outline(axes, line + face.shift, linewidth=THIN_LINE * 0.7, edgecolor=GREY)
    else:
        reach = everything @ face.outward
        outline = hull(face.place(everything[reach > reach.max() - 1e-6]))
    _outline(axes, outline, linewidth=WALL_LINE * 0.8)
    for opening in result.bay.openings:
        if opening.normal @ face.outward > 0.7:
            _outline(axes, face.place(opening.corners), linewidth=1.0, linestyle=OPENING_DASHES, facecolor="0.95")
            middle = face.place(opening.corners).mean(axis=0)
            axes.text(*middle, opening.name, fontsize=TINY, ha="center", va="center", color=GREY, zorder=8)


def _outline(axes: Axes, outline: Array, **look: object) -> None:
    look = {"facecolor": "none", "edgecolor": INK, "closed": len(outline) > 2, "zorder": 3, **look}
    axes.add_patch(Polygon(outline, **look))


def _write(axes: Axes, result: RunResult, face: Face, mine: NDArray[np.bool_], size: Array) -> None:
    """The surface's name and what share of balls goes there."""
    share = 1000.0 * float(result.weight[mine].sum())
    amount = "none seen" if not mine.any() else f"{share:.3g} in 1,000 balls"
    x, y = face.shift
    ground = {"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85}
    axes.text(
        x + 0.02 * size[0] + 0.05, y + size[1] * 0.985, f"{face.name}\n{amount}", fontsize=SMALL, va="top", ha="left",
        bbox=ground, zorder=9, linespacing=1.25,
    )  # fmt: skip


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
                axes.plot(*places.T, linestyle="none", marker=mark, markersize=3.4, color=stroke.colour,
                          markeredgewidth=0.8, zorder=6)  # fmt: skip
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
    words += [f"the same, on a thing in the room:\n{int(_on_thing(result).sum()):,} shots, shown in plan on the roof", "opening"]
    axes.legend(
        lines, words, loc="upper left", bbox_to_anchor=(x, top), bbox_transform=axes.transData, frameon=False,
        fontsize=SMALL, labelspacing=0.9, alignment="left", borderaxespad=0.0, title="The ball ...", title_fontsize=NORMAL,
    )  # fmt: skip


def _rulers(axes: Axes, faces: list[Face], size: Array, unit: str) -> None:
    """How long and high the surfaces are."""
    length, width, height = size
    for face, wide in zip(faces[:4], (length, width, length, width), strict=True):
        axes.annotate(
            f"{wide:.3g} {unit}", (face.shift[0] + wide / 2.0, 0.0), (0, -5), textcoords="offset points",
            fontsize=TINY, ha="center", va="top", color=GREY,
        )  # fmt: skip
    axes.annotate(
        f"{height:.3g} {unit}", (0.0, height / 2.0), (-5, 0), textcoords="offset points", fontsize=TINY, ha="right",
        va="center", rotation=90, color=GREY,
    )  # fmt: skip
