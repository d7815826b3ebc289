"""The string check: what a string from the ball to each edge of the protection reads on a level. Plain geometry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, Role
from flightsim.bay.shapes import Box, ConvexPolygon
from flightsim.study.map.directions import Aim, angles, apart, unit
from flightsim.study.map.stoppers import Segment, free_edges

Array = NDArray[np.float64]

SHORT = 0.05  # m: shorter edges are left out
UPRIGHT = 0.7  # of a direction's z: an edge, or a face's normal, that stands


@dataclass(frozen=True)
class StringReading:
    """One point of one edge, from the ball's centre.

    elevation, azimuth rad (+ up, + right): what a level, and a protractor on the floor, read along the string; length,
    m; point `(3,)`, m; touches rad: how much nearer to the edge than the string a ball's path still touches it.
    """

    where: str
    elevation: float
    azimuth: float
    length: float
    point: Array
    touches: float


@dataclass(frozen=True)
class EdgeString:
    """A free edge of a guard, with the string to its point nearest to the normal shot, and to its two ends."""

    guard: str
    edge: str
    nearest: StringReading
    ends: tuple[StringReading, StringReading]


def string_check(bay: Bay, aim: Aim, radius: float) -> tuple[EdgeString, ...]:
    """Every free edge of the guards' flat faces as seen from the ball, nearest to the normal shot first.

    radius: of the ball, m.

    An edge that another guard or the floor comes within a radius of is joined to it, and has no string.
    """
    stops = [part for part in bay.parts if part.role is not Role.UNPROTECTED and _is_flat(part)]
    found = []
    for part in stops:
        if part.role is not Role.GUARD:
            continue
        face = _face(part, aim.start)
        others = [other for other in stops if other is not part]
        for piece in free_edges(face, others, radius):
            if np.linalg.norm(piece.b - piece.a) >= SHORT:
                found.append(_string(part, face, piece, aim, radius))
    normal = unit(aim.elevation, aim.azimuth)[:, None]
    return tuple(sorted(found, key=lambda edge: float(apart((edge.nearest.point - aim.start)[:, None], normal)[0])))


def _is_flat(part: Part) -> bool:
    return isinstance(part.shape, Box | ConvexPolygon)


def _face(part: Part, start: Array) -> ConvexPolygon:
    """The largest face of a part that looks to the ball: of a board, not its rim."""
    middle = np.mean([outline.mean(axis=0) for outline in part.shape.outlines()], axis=0)
    faces = [ConvexPolygon(outline) for outline in part.shape.outlines()]

    def worth(face: ConvexPolygon) -> tuple[float, float]:
        size = float(np.linalg.norm(np.cross(face.corners[1] - face.corners[0], face.corners[2] - face.corners[0])))
        out = face.corners.mean(axis=0) - middle
        return round(size, 9), float(out @ (start - face.corners.mean(axis=0)))

    return max(faces, key=worth)


def _string(part: Part, face: ConvexPolygon, piece: Segment, aim: Aim, radius: float) -> EdgeString:
    along = np.linspace(0.0, 1.0, 1001)
    points = piece.a[:, None] + (piece.b - piece.a)[:, None] * along
    off = apart(points - aim.start[:, None], unit(aim.elevation, aim.azimuth)[:, None])
    nearest = points[:, int(off.argmin())]
    readings = [
        _reading(words, point, aim, radius) for words, point in (
            ("nearest to the shot", nearest), ("one end", piece.a), ("other end", piece.b),
        )
    ]  # fmt: skip
    label = part.name if part.name.startswith(part.label) else part.label
    return EdgeString(label, _edge_name(face, piece), readings[0], (readings[1], readings[2]))


def _reading(where: str, point: Array, aim: Aim, radius: float) -> StringReading:
    line = point - aim.start
    length = float(np.linalg.norm(line))
    elevation, azimuth = angles(line[:, None])
    touches = float(np.arcsin(min(radius / max(length, radius), 1.0)))
    return StringReading(where, float(elevation[0]), float(azimuth[0]), length, point.copy(), touches)


def _edge_name(face: ConvexPolygon, piece: Segment) -> str:
    """As a builder names it: top, foot, left or right of what stands; front, back, left or right of what lies."""
    normal, _ = face.plane()
    out = (piece.a + piece.b) / 2.0 - face.corners.mean(axis=0)
    line = np.abs(piece.b - piece.a)
    stands = abs(normal[2]) < UPRIGHT
    if stands and line[2] < UPRIGHT * np.linalg.norm(line):
        return "top edge" if out[2] > 0.0 else "foot"
    if line[1] > line[0] or (stands and abs(normal[1]) > abs(normal[0])):
        return "front edge" if out[0] < 0.0 else "back edge"
    return "left edge" if out[1] > 0.0 else "right edge"
