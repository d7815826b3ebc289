"""Flat views of a bay: points onto a drawing plane, and silhouettes of shapes in it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.kept_answers import by_value, kept_by_value
from flightsim.bay.shapes import Shape

Array = NDArray[np.float64]


@by_value
@dataclass(frozen=True)
class Frame:
    """A drawing plane: origin `(3,)`, m; right and up `(3,)`, unit directions on the paper; scale, user units a m."""

    origin: Array
    right: Array
    up: Array
    scale: float = 1.0

    @cached_property
    def normal(self) -> Array:
        """Unit direction `(3,)` out of the paper."""
        return np.cross(self.right, self.up)

    def flat(self, points: Array) -> Array:
        """Paper coordinates `(..., 2)`, in user units, of points `(..., 3)`, m."""
        local = points - self.origin
        return np.stack([local @ self.right, local @ self.up], axis=-1) * self.scale

    def depth(self, points: Array) -> Array:
        """Height over the paper `(...)`, m, of points `(..., 3)`, m."""
        return np.asarray((points - self.origin) @ self.normal)


def silhouettes(shape: Shape, frame: Frame) -> list[Array]:
    """Closed outlines `(k, 2)`, user units, of a shape: one for a convex shape, else one a drawn polygon."""
    return list(_silhouettes(shape, frame))


@kept_by_value
def _silhouettes(shape: Shape, frame: Frame) -> tuple[Array, ...]:
    outlines = shape.outlines()
    if not outlines:
        return ()
    if shape.convex:
        return (hull(frame.flat(np.concatenate(outlines))),)
    return tuple(frame.flat(outline) for outline in outlines)


def hull(points: Array) -> Array:
    """Convex hull `(k, 2)` of points `(n, 2)`, anticlockwise; two points when all are on one line.

    Andrew 1979, Inf. Process. Lett. 9:216 (monotone chain).
    """
    span = float(np.ptp(points, axis=0).max()) if len(points) else 0.0
    step = max(span * 1e-9, 1e-12)
    unique = np.unique(np.round(points / step).astype(np.int64), axis=0)
    order: list[tuple[int, int]] = [(int(a), int(b)) for a, b in unique]
    if len(order) < 3:
        return np.array(order, dtype=np.float64) * step
    chain = [*_half(order)[:-1], *_half(order[::-1])[:-1]]
    return np.array(chain, dtype=np.float64) * step


def _half(order: list[tuple[int, int]]) -> list[tuple[int, int]]:
    out: list[tuple[int, int]] = []
    for p in order:
        while len(out) > 1 and _turn(out[-2], out[-1], p) <= 0:
            out.pop()
        out.append(p)
    return out


def _turn(a: tuple[int, int], b: tuple[int, int], c: tuple[int, int]) -> int:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def area(outline: Array) -> float:
    """Area of a closed outline `(k, 2)`, user units squared."""
    x, y = outline.T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2.0)


def thickness(outline: Array) -> float:
    """Area over length of an outline `(k, 2)`, user units: next to nothing for one seen edge on."""
    length = float(np.linalg.norm(np.ptp(outline, axis=0))) if len(outline) else 0.0
    return area(outline) / length if length > 0.0 else 0.0


def within(outline: Array, points: Array) -> NDArray[np.bool_]:
    """Which points `(n, 2)` lie in a convex outline `(k, 2)`."""
    inside = np.ones(len(points), dtype=bool)
    turn = 1.0 if _signed_area(outline) >= 0.0 else -1.0
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        side = (b[0] - a[0]) * (points[:, 1] - a[1]) - (b[1] - a[1]) * (points[:, 0] - a[0])
        inside &= turn * side >= 0.0
    return inside


def _signed_area(outline: Array) -> float:
    x, y = outline.T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


@kept_by_value
def sheet_normal(shape: Shape) -> Array | None:
    """Unit normal `(3,)` of the largest face of a shape that is a sheet or thin slab; None for anything chunky.

    A slab is thin when it is less than a tenth as thick as it is wide.
    """
    outlines = shape.outlines()
    if not outlines:
        return None
    face = max(outlines, key=_face_area)
    normal = face_normal(face)
    if normal is None:
        return None
    points = np.concatenate(outlines)
    frame = frame_on(points[0], normal)
    deep = float(np.ptp(frame.depth(points)))
    wide = float(np.ptp(frame.flat(points), axis=0).min())
    return normal if deep <= 0.1 * wide else None


def face_normal(face: Array) -> Array | None:
    """Unit normal `(3,)` of a flat polygon `(k, 3)`; None when it has no area."""
    normal = np.cross(face - face[0], np.roll(face, -1, axis=0) - face[0]).sum(axis=0)
    size = float(np.linalg.norm(normal))
    return normal / size if size > 1e-12 else None


def _face_area(face: Array) -> float:
    normal = np.cross(face - face[0], np.roll(face, -1, axis=0) - face[0]).sum(axis=0)
    return float(np.linalg.norm(normal)) / 2.0


def frame_on(origin: Array, normal: Array, scale: float = 1.0) -> Frame:
    """A drawing plane across `normal`, as the player sees it from the tee.

    Upright planes have z up; level ones are drawn in plan, the screen to the right, left up.
    """
    x, _, z = np.eye(3)
    if abs(normal[2]) > 0.7:  # a roof or canopy: from above, as a plan
        outward = normal if normal[2] > 0.0 else -normal
        right = x - outward * outward[0]
        right /= np.linalg.norm(right)
        return Frame(origin, right, np.cross(outward, right), scale)
    outward = normal if normal[:2] @ origin[:2] < 0.0 else -normal
    up = z - outward * outward[2]
    up /= np.linalg.norm(up)
    return Frame(origin, np.cross(up, outward), up, scale)
