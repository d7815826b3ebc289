"""What can stop a ball for certain, and what must not be touched before: a bay as the proof of closed cells sees it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import Box, ConvexPolygon, Shape
from flightsim.contact.surroundings import Surroundings
from flightsim.flight.ball import Ball

Array = NDArray[np.float64]

PIECE = 0.01  # m: an edge is looked at in pieces this long
SLACK = 1.0e-4  # m: far above the errors of flights (1e-6) and contacts (1e-7)


@dataclass(frozen=True)
class Segment:
    """A straight piece of an edge, as something that a ball may touch. a and b `(3,)`, m."""

    a: Array
    b: Array
    convex: bool = True

    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper corner of the box that holds it."""
        return np.minimum(self.a, self.b), np.maximum(self.a, self.b)

    def distance(self, points: Array) -> tuple[Array, Array]:
        """Distance `(n,)`, m, and unit normal `(3, n)`."""
        line = self.b - self.a
        local = points - self.a[:, None]
        along = np.clip((line @ local) / max(float(line @ line), 1e-300), 0.0, 1.0)
        out = local - line[:, None] * along
        distance = np.sqrt((out * out).sum(axis=0))
        return distance, out / np.maximum(distance, 1e-300)

    def outlines(self) -> list[Array]:
        """Its two ends."""
        return [np.stack([self.a, self.b])]


@dataclass(frozen=True)
class Face:
    """A flat face of something that stops balls, as seen from the start.

    part: index into bay.parts; normal `(3,)` toward the start, offset m; inward `(k, 3)` and inner `(k,)`: a point p
    over the face has inward . p - inner of nought or more for each edge.
    """

    part: int
    normal: Array
    offset: float
    inward: Array
    inner: Array


@dataclass(frozen=True)
class Obstacle:
    """What a ball must not touch before it is stopped. reach, m: the ball's radius, or nought where its centre counts;
    corners `(k, 3)`, m: hold it between them.
    """

    name: str
    shape: Shape | Segment
    reach: float
    corners: Array


@dataclass(frozen=True)
class Stoppers:
    """The bay for one start and speed: guards whose faces stop a ball, floors, and all else."""

    faces: tuple[Face, ...]
    guards: tuple[int, ...]  # of bay.parts: those whose touch stops a ball
    floors: tuple[int, ...]
    obstacles: tuple[Obstacle, ...]
    behind: NDArray[np.bool_]  # (faces, obstacles): cannot be touched by a ball that has not touched the face


def stoppers_of(around: Surroundings, start: Array, ball: Ball, fastest: float) -> Stoppers:
    """What stops a ball of up to this speed, m/s, from this place `(3,)`, m, and what it must not touch before.

    A guard counts where it is flat-faced and this ball cannot break it; any other is something to be kept clear of, and
    so is every edge of a guard that is not joined to another (nearer to it than half a ball: common practice for a gap
    that needs no cover, no source).
    """
    bay, radius = around.bay, ball.radius
    energy = 0.5 * ball.mass * fastest**2
    flat = [k for k, part in enumerate(bay.parts) if _flat(part)]
    guards = tuple(k for k in flat if bay.parts[k].role is Role.GUARD and around.facings[k].broken > energy)
    floors = tuple(k for k in flat if bay.parts[k].role is Role.FLOOR)
    stop = [*guards, *floors]
    faces = tuple(face for k in stop for face in _faces(bay.parts[k], k, start, radius))
    obstacles = [
        Obstacle(part.name, part.shape, radius, _corners(part.shape))
        for k, part in enumerate(bay.parts)
        if k not in stop
    ]
    obstacles += [Obstacle(o.name, o.shape, 0.0, o.corners) for o in bay.openings]
    obstacles += [Obstacle("the room's end", s, 0.0, s.corners()) for s in _box_faces(bay.lower, bay.upper)]
    obstacles += [
        Obstacle(zone.name, zone.shape, radius, _corners(zone.shape)) for zone in bay.zones if not zone.own_spot
    ]
    parts = [bay.parts[k] for k in stop]
    for part in (bay.parts[k] for k in guards):
        others = [other for other in parts if other is not part]
        obstacles += [
            Obstacle(f"edge of {part.name}", piece, radius, np.stack([piece.a, piece.b]))
            for piece in free_edges(part.shape, others, radius)
        ]
    behind = np.array([[_is_behind(face, o, radius) for o in obstacles] for face in faces], dtype=bool)
    return Stoppers(faces, guards, floors, tuple(obstacles), behind.reshape(len(faces), len(obstacles)))


def _flat(part: Part) -> bool:
    shape = part.shape
    return isinstance(shape, ConvexPolygon) or (isinstance(shape, Box) and shape.corner_radius == 0.0)


def _corners(shape: Shape) -> Array:
    """Points that hold a shape between them `(k, 3)`, m."""
    if isinstance(shape, Box):
        return shape.corners()
    if isinstance(shape, ConvexPolygon):
        return shape.corners
    low, high = shape.bounds()
    return np.array([[(low, high)[i][0], (low, high)[j][1], (low, high)[k][2]] for i in (0, 1) for j in (0, 1)
                     for k in (0, 1)])  # fmt: skip


def _box_faces(lower: Array, upper: Array) -> Iterator[Box]:
    centre, half = (lower + upper) / 2.0, (upper - lower) / 2.0
    for axis in range(3):
        for sign in (-1.0, 1.0):
            middle, size = centre.copy(), half.copy()
            middle[axis] += sign * half[axis]
            size[axis] = 0.0
            yield Box(middle, np.eye(3), size)


def _faces(part: Part, k: int, start: Array, radius: float) -> Iterator[Face]:
    """The faces of a part that the ball at its start is before. A flat sheet has one."""
    for outline in part.shape.outlines():
        middle = outline.mean(axis=0)
        normal = np.cross(outline - middle, np.roll(outline, -1, axis=0) - middle).sum(axis=0)
        normal /= np.linalg.norm(normal)
        if isinstance(part.shape, Box) and part.shape.half.min() > 0.0:
            normal *= np.sign(normal @ (middle - part.shape.centre))  # a solid's face looks outward only
        elif normal @ (start - middle) < 0.0:
            normal = -normal
        if normal @ (start - middle) < radius - SLACK:
            continue
        sides = np.roll(outline, -1, axis=0) - outline
        inward = np.cross(normal, sides)
        inward /= np.linalg.norm(inward, axis=1)[:, None]
        inward *= np.sign(((middle - outline) * inward).sum(axis=1))[:, None]
        yield Face(k, normal, float(normal @ middle), inward, (inward * outline).sum(axis=1))


def _is_behind(face: Face, obstacle: Obstacle, radius: float) -> bool:
    """Whether a ball over the face that has not touched it cannot touch the obstacle: its centre is a radius off."""
    highest = float((obstacle.corners @ face.normal).max()) - face.offset
    return highest < radius - obstacle.reach - SLACK


def free_edges(shape: Shape, others: list[Part], joined: float) -> list[Segment]:
    """The edges of a flat-faced shape, less the pieces that another part comes within `joined`, m, of.

    A distance from a convex part is a convex function, so a piece whose two ends are near one part is near it whole.
    """
    found: list[Segment] = []
    for a, b in _edges(shape):
        count = max(1, int(np.ceil(np.linalg.norm(b - a) / PIECE)))
        ends = a[:, None] + (b - a)[:, None] * np.linspace(0.0, 1.0, count + 1)
        free = np.ones(count, dtype=bool)
        for other in others:
            near = other.shape.distance(ends)[0] <= joined
            free &= ~(near[:-1] & near[1:])
        changes = np.flatnonzero(np.diff(np.concatenate([[0], free.astype(np.int8), [0]])))
        for first, last in zip(changes[::2], changes[1::2], strict=True):
            found.append(Segment(ends[:, first].copy(), ends[:, last].copy()))
    return found


def _edges(shape: Shape) -> list[tuple[Array, Array]]:
    """The edges, each once."""
    once: dict[tuple[tuple[float, ...], ...], tuple[Array, Array]] = {}
    for outline in shape.outlines():
        for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
            key = tuple(sorted((tuple(np.round(a, 9).tolist()), tuple(np.round(b, 9).tolist()))))
            once.setdefault(key, (a, b))
    return list(once.values())
