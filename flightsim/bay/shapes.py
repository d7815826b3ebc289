"""Shapes that a ball can touch, as distances.

A shape answers one question for a whole batch: how far is this point from your surface, and in which direction.
A ball of radius R touches it where that distance is R, edges and corners included, so one rule serves all
shapes. Points are `(3, n) float`, m. Every distance is exact outside the shape and never grows faster than the
point moves.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_TINY = 1.0e-300
_SIGNS = np.array([[sx, sy, sz] for sx in (-1.0, 1.0) for sy in (-1.0, 1.0) for sz in (-1.0, 1.0)])  # of corners


def dot(direction: Array, vectors: Array) -> Array:
    """Direction `(3,)` . vectors `(3, n)`, each rounded alike however many there are: a BLAS product is not."""
    return np.asarray(direction[0] * vectors[0] + direction[1] * vectors[1] + direction[2] * vectors[2])


def _turned(rows: Array, vectors: Array) -> Array:
    """Rows `(3, 3)` times vectors `(3, n)`, each rounded alike however many there are.

    A single one would go to another BLAS routine, which rounds otherwise; so it is sent as two.
    """
    if vectors.shape[1] == 1:
        return np.asarray(rows @ np.repeat(vectors, 2, axis=1))[:, :1]
    return np.asarray(rows @ vectors)


@runtime_checkable
class Shape(Protocol):
    """What the search for contacts needs of a shape; a plugin may bring its own.

    `convex` says that the solid is convex: the search then takes longer steps. A flat sheet may also have a
    method `plane` as Box has it: the search is then faster, and its answer the same.
    """

    @property
    def convex(self) -> bool:
        """True where any straight line between two points of the shape stays in it."""
        ...

    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper corner, each `(3,)`, m, of a box along the axes that holds the shape."""
        ...

    def distance(self, points: Array) -> tuple[Array, Array]:
        """Distance `(n,)`, m, and unit normal `(3, n)` from the nearest surface point toward each point."""
        ...

    def outlines(self) -> list[Array]:
        """Polygons `(k, 3)`, m, that draw the shape."""
        ...


def core_distance(local: Array, core: Array) -> tuple[Array, Array]:
    """Distance `(n,)`, m, and unit normal `(3, n)` of points `(3, n)` from boxes about the origin, along the axes.

    core: their half sizes, `(3, 1)` for one box or `(3, n)` for one a point. Negative inside.
    """
    past = np.abs(local)
    past -= core
    beyond = np.maximum(past, 0.0)
    distance = np.sqrt(beyond[0] * beyond[0] + beyond[1] * beyond[1] + beyond[2] * beyond[2])
    inside = distance <= 0.0
    normal = np.copysign(beyond / np.maximum(distance, _TINY), local)
    if inside.any():
        columns = np.flatnonzero(inside)
        face = past[:, columns].argmax(axis=0)
        distance[columns] = past[face, columns]
        normal[:, columns] = 0.0
        normal[face, columns] = np.copysign(1.0, local[face, columns])
    return distance, normal


@dataclass(frozen=True)
class Box:
    """A rectangle or box with any orientation: a sheet where one half size is nought.

    centre `(3,)`, m; axes `(3, 3)`, rows are its unit directions; half `(3,)`, half sizes, m, along the rows;
    corner_radius, m, rounds all edges (a square tube).
    """

    centre: Array
    axes: Array
    half: Array
    corner_radius: float = 0.0
    convex: bool = field(default=True, init=False)
    _straight: bool = field(default=False, init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_straight", bool(np.array_equal(self.axes, np.eye(3))))

    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper corner of the box that holds it."""
        reach = np.abs(self.axes.T) @ self.half
        return self.centre - reach, self.centre + reach

    def distance(self, points: Array) -> tuple[Array, Array]:
        """Distance and unit normal, edges and corners included; negative inside a solid."""
        local = points - self.centre[:, None]
        if not self._straight:
            local = _turned(self.axes, local)
        distance, normal = core_distance(local, (self.half - self.corner_radius)[:, None])
        if not self._straight:
            normal = _turned(self.axes.T, normal)
        return distance - self.corner_radius, normal

    def plane(self) -> tuple[Array, float] | None:
        """Unit normal `(3,)` and offset, m, of the plane that a sheet lies in; None for a box."""
        flat = np.flatnonzero(self.half == 0.0)
        if flat.size == 0:
            return None
        normal = self.axes[flat[0]]
        return normal, float(normal @ self.centre)

    def corners(self) -> Array:
        """The eight corners `(8, 3)`, m."""
        return self.centre + (_SIGNS * self.half) @ self.axes

    def outlines(self) -> list[Array]:
        """Polygons that draw it."""
        faces = ((0, 1, 3, 2), (4, 5, 7, 6), (0, 1, 5, 4), (2, 3, 7, 6), (0, 2, 6, 4), (1, 3, 7, 5))
        corners = self.corners()
        flat = np.flatnonzero(self.half == 0.0)
        if flat.size:
            keep = {0: faces[0], 1: faces[2], 2: faces[4]}[int(flat[0])]
            return [corners[list(keep)]]
        return [corners[list(face)] for face in faces]


@dataclass(frozen=True)
class ConvexPolygon:
    """A flat sheet with a convex outline: corners `(k, 3)`, m, in order around it, at least three.

    frame `(3, 3)`: rows are unit directions along it, across and square to it; flat `(k, 2)`, m: the corners in it.
    Raises ValueError when the corners are not flat or not convex.
    """

    corners: Array
    convex: bool = field(default=True, init=False)
    frame: Array = field(init=False, repr=False)
    flat: Array = field(init=False, repr=False)

    def __post_init__(self) -> None:
        corners = np.asarray(self.corners, dtype=np.float64)
        sides = np.roll(corners, -1, axis=0) - corners
        normal = np.cross(corners, np.roll(corners, -1, axis=0)).sum(axis=0)
        size = np.linalg.norm(normal)
        if len(corners) < 3 or not size > 0.0:
            raise ValueError("a polygon needs at least three corners that are not on one line")
        normal /= size
        first = sides[np.argmax(np.linalg.norm(sides, axis=1))]
        first = first / np.linalg.norm(first)
        frame = np.stack([first, np.cross(normal, first), normal])
        flat = (corners - corners[0]) @ frame.T
        if np.abs(flat[:, 2]).max() > 1e-9 * max(1.0, float(np.abs(flat).max())):
            raise ValueError("a polygon's corners must lie in one plane")
        turn = np.roll(flat[:, :2], -1, axis=0) - flat[:, :2]
        after = np.roll(turn, -1, axis=0)
        if (turn[:, 0] * after[:, 1] - turn[:, 1] * after[:, 0] < -1e-12).any():
            raise ValueError("a polygon must be convex; cut it into convex pieces")
        object.__setattr__(self, "corners", corners)
        object.__setattr__(self, "frame", frame)
        object.__setattr__(self, "flat", flat[:, :2])

    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper corner of the box that holds it."""
        return self.corners.min(axis=0), self.corners.max(axis=0)

    def plane(self) -> tuple[Array, float]:
        """Unit normal `(3,)` and offset, m, of the plane that it lies in."""
        return self.frame[2], float(self.frame[2] @ self.corners[0])

    def distance(self, points: Array) -> tuple[Array, Array]:
        """Distance and unit normal, edges and corners included; negative inside a solid."""
        u, v, w = _turned(self.frame, points - self.corners[0][:, None])
        inside = np.ones(u.shape, dtype=bool)
        nearest = np.full(u.shape, np.inf)
        du, dv = np.zeros_like(u), np.zeros_like(v)
        for (au, av), (bu, bv) in zip(self.flat, np.roll(self.flat, -1, axis=0), strict=True):
            eu, ev = bu - au, bv - av
            pu, pv = u - au, v - av
            inside &= eu * pv - ev * pu >= 0.0
            along = np.clip((pu * eu + pv * ev) / (eu * eu + ev * ev), 0.0, 1.0)
            pu, pv = pu - along * eu, pv - along * ev
            square = pu * pu + pv * pv
            closer = square < nearest
            nearest = np.where(closer, square, nearest)
            du, dv = np.where(closer, pu, du), np.where(closer, pv, dv)
        du, dv = np.where(inside, 0.0, du), np.where(inside, 0.0, dv)
        distance = np.sqrt(du * du + dv * dv + w * w)
        scale = 1.0 / np.maximum(distance, _TINY)
        local = np.stack([du * scale, dv * scale, np.where(distance > 0.0, w * scale, 1.0)])
        return distance, _turned(self.frame.T, local)

    def outlines(self) -> list[Array]:
        """Polygons that draw it."""
        return [self.corners]


@dataclass(frozen=True)
class HalfSpace:
    """All that lies beyond a plane: outward . p >= offset, outward `(3,)` a unit vector, offset in m."""

    outward: Array
    offset: float
    convex: bool = field(default=True, init=False)

    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper corner of the box that holds it."""
        return np.full(3, -np.inf), np.full(3, np.inf)

    def distance(self, points: Array) -> tuple[Array, Array]:
        """Distance and unit normal, edges and corners included; negative inside a solid."""
        distance = self.offset - dot(self.outward, points)
        return distance, np.broadcast_to(-self.outward[:, None], points.shape)

    def outlines(self) -> list[Array]:
        """Polygons that draw it."""
        return []


@dataclass(frozen=True)
class _Round:
    """What has a line from start to end `(3,)`, m, in its middle, and a radius, m, about it."""

    start: Array
    end: Array
    radius: float
    convex: bool = field(default=True, init=False)

    def __post_init__(self) -> None:
        if not (np.linalg.norm(self.end - self.start) > 0.0 and self.radius > 0.0):
            raise ValueError("a tube needs a length and a radius")

    def axis(self) -> tuple[Array, float]:
        """Its unit direction `(3,)` and its length, m."""
        line = self.end - self.start
        length = float(np.linalg.norm(line))
        return line / length, length


def _cross(a: Array, b: Array) -> Array:
    """What numpy's gives for two vectors `(3,)`, to the bit, in a tenth of its time: bays have hundreds of tubes."""
    return np.array([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])


def across(axis: Array) -> Array:
    """A unit vector `(3,)` square to this one."""
    found = _cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    return np.asarray(found / np.linalg.norm(found))


@dataclass(frozen=True)
class RoundTube(_Round):
    """A solid cylinder with flat ends: start and end of its axis `(3,)`, m, and its outer radius, m."""

    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper corner of the box that holds it."""
        axis, _ = self.axis()
        reach = self.radius * np.sqrt(np.maximum(0.0, 1.0 - axis**2))
        return np.minimum(self.start, self.end) - reach, np.maximum(self.start, self.end) + reach

    def distance(self, points: Array) -> tuple[Array, Array]:
        """Distance and unit normal, edges and corners included; negative inside a solid."""
        axis, length = self.axis()
        local = points - ((self.start + self.end) / 2)[:, None]
        height = dot(axis, local)
        out = local - axis[:, None] * height
        off_axis = np.sqrt((out * out).sum(axis=0))
        out = out / np.maximum(off_axis, _TINY)
        past_side, past_end = off_axis - self.radius, np.abs(height) - length / 2
        side, end = np.maximum(past_side, 0.0), np.maximum(past_end, 0.0)
        distance = np.sqrt(side * side + end * end)
        inside = distance <= 0.0
        by_side = past_side >= past_end
        side = np.where(inside, by_side, side / np.maximum(distance, _TINY))
        end = np.where(inside, ~by_side, end / np.maximum(distance, _TINY))
        distance = np.where(inside, np.maximum(past_side, past_end), distance)
        return distance, side * out + np.copysign(end, height) * axis[:, None]

    def outlines(self) -> list[Array]:
        """Polygons that draw it."""
        axis, _ = self.axis()
        first = across(axis)
        second = _cross(axis, first)
        angles = np.linspace(0.0, 2 * np.pi, 13)[:-1]
        ring = self.radius * (np.outer(np.cos(angles), first) + np.outer(np.sin(angles), second))
        sides = [
            np.stack([self.start + ring[k], self.start + ring[k - 1], self.end + ring[k - 1], self.end + ring[k]])
            for k in range(len(ring))
        ]
        return [self.start + ring, self.end + ring, *sides]


@dataclass(frozen=True)
class Capsule(_Round):
    """A round bar with ball ends: all that is within a radius, m, of the line from start to end `(3,)`, m."""

    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper corner of the box that holds it."""
        return np.minimum(self.start, self.end) - self.radius, np.maximum(self.start, self.end) + self.radius

    def distance(self, points: Array) -> tuple[Array, Array]:
        """Distance and unit normal; negative inside."""
        line = self.end - self.start
        local = points - self.start[:, None]
        along = np.clip(dot(line, local) / float(line @ line), 0.0, 1.0)
        out = local - line[:, None] * along
        away = np.sqrt((out * out).sum(axis=0))
        normal = np.where(away > 0.0, out / np.maximum(away, _TINY), across(line)[:, None])
        return away - self.radius, normal

    def outlines(self) -> list[Array]:
        """Polygons that draw it: its tube."""
        return RoundTube(self.start, self.end, self.radius).outlines()


def rectangle(corner: Array, side_a: Array, side_b: Array) -> Box:
    """A rectangular sheet from one corner `(3,)` and its two sides `(3,)`, m, at right angles.

    Raises ValueError when the sides are not at right angles or have no length.
    """
    length_a, length_b = float(np.linalg.norm(side_a)), float(np.linalg.norm(side_b))
    if not (length_a > 0.0 and length_b > 0.0):
        raise ValueError("a rectangle needs two sides with a length")
    a, b = side_a / length_a, side_b / length_b
    if abs(float(a @ b)) > 1e-9:
        raise ValueError("a rectangle's sides must be at right angles")
    axes = np.stack([a, b, _cross(a, b)])
    half = np.array([length_a / 2, length_b / 2, 0.0])
    straight = np.abs(axes)
    if np.isin(straight, (0.0, 1.0)).all():  # along the room's axes: spare the rotation
        return Box(corner + (side_a + side_b) / 2, np.eye(3), straight.T @ half)
    return Box(corner + (side_a + side_b) / 2, axes, half)


def block(lower: Array, upper: Array) -> Box:
    """A box along the room's axes from its lower and upper corner `(3,)`, m. Raises ValueError when inside out."""
    lower, upper = np.asarray(lower, dtype=np.float64), np.asarray(upper, dtype=np.float64)
    if not (upper >= lower).all():
        raise ValueError("a box's upper corner must not be below its lower one")
    return Box((lower + upper) / 2, np.eye(3), (upper - lower) / 2)


def rounded_block(lower: Array, upper: Array) -> Box:
    """A block with all edges rounded as far as its least side allows: a capsule, where two sides are alike."""
    box = block(lower, upper)
    return Box(box.centre, box.axes, box.half, float(box.half.min()))


def square_tube(start: Array, end: Array, width: float, corner_radius: float = 0.0, up: Array | None = None) -> Box:
    """A square tube from start to end `(3,)`, m, of outer width m, one face toward `up` (default z)."""
    line = np.asarray(end, dtype=np.float64) - start
    length = float(np.linalg.norm(line))
    if not (length > 0.0 and width > 0.0):
        raise ValueError("a tube needs a length and a width")
    along = line / length
    helper = np.array([0.0, 0.0, 1.0]) if up is None else np.asarray(up, dtype=np.float64)
    if np.linalg.norm(_cross(along, helper)) < 1e-9:
        helper = np.array([0.0, 1.0, 0.0])
    side = _cross(helper, along)
    side /= np.linalg.norm(side)
    axes = np.stack([along, side, _cross(along, side)])
    half = np.array([length / 2, width / 2, width / 2])
    centre = np.asarray(start, dtype=np.float64) + line / 2
    straight = np.abs(axes)
    if np.isin(straight, (0.0, 1.0)).all():
        return Box(centre, np.eye(3), straight.T @ half, corner_radius)
    return Box(centre, axes, half, corner_radius)
