"""Which cells of launch directions are shown to be closed: every ball of the cell meets a guard's face first.

A cell is closed when its middle's path, the ball grown by the bound on the cell's spread (path_spread), keeps clear of
all that is unprotected, of openings, floors, people and the guards' free edges until one guard has certainly stopped
it. That is: it has come below that guard's face by the bound, always inside the face's outline by the bound; or, where
two guards meet in a corner, all of the cell's balls are within a radius of one guard. What comes after the first
contact is not shown by it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Part
from flightsim.contact.contacts import Contacts
from flightsim.study.map.path_spread import Steepness, free_points, spread, steepness
from flightsim.study.map.shooting import Shooter
from flightsim.study.map.stoppers import SLACK, Obstacle, Stoppers, stoppers_of

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

PIECES, CLOSE_PIECES = 24, 12  # of a path, to its first contact and on: each piece is bounded, not sampled
FLOORS_APART = 1.0e-3  # m: a floor nearer than this to the ball at its start carries it
BEYOND = 0.02  # m that a path is followed past where it must have been stopped


class Shown(IntEnum):
    """What is shown of a cell."""

    NOTHING = 0
    FLOOR = 1  # meets a guard or the floor first; what is bare is out of reach until then
    CLOSED = 2  # meets a guard first


@dataclass
class _Paths:
    """Middle paths of cells, with their bound. points `(k + 1, 3, n)`; eps, height `(k + 1, n)`; stray: of a path from
    its chords; stop `(n,)`: piece at whose end the ball has been stopped, 0 where it is not; face: by which, or -1.
    """

    points: Array
    eps: Array
    height: Array
    stray: Array
    stop: Index
    face: Index

    def take(self, rows: Index) -> _Paths:
        return _Paths(
            self.points[:, :, rows], self.eps[:, rows], self.height[:, rows], self.stray[rows], self.stop[rows],
            self.face[rows],
        )  # fmt: skip


@dataclass(frozen=True)
class Closing:
    """The proof for the shots of one shooter."""

    shooter: Shooter
    slowest: float = field(default=1.0)  # m/s: cells whose balls become slower are not shown

    @cached_property
    def stoppers(self) -> Stoppers:
        """The bay as the proof sees it. A ball gains speed by falling only."""
        s = self.shooter
        drop = float(s.start[2] - s.around.bay.lower[2])
        return stoppers_of(s.around, s.start, s.physics.ball, self._fastest(drop))

    def _fastest(self, drop: float) -> float:
        return float(np.sqrt(self.shooter.ball_speed**2 + 2.0 * self.shooter.physics.gravity * max(drop, 0.0)))

    def shown(self, elevation: Array, azimuth: Array, up: Array, side: Array, first: Contacts) -> NDArray[np.int8]:
        """What is shown `(n,)` of cells: middles, rad; half sizes up and side, rad; the middles' first contacts."""
        result = np.full(elevation.size, Shown.NOTHING, dtype=np.int8)
        if any(self.shooter.physics.wind):
            return result  # the bound holds in still air only
        stops = [*self.stoppers.guards, *self.stoppers.floors]
        rows = np.flatnonzero(np.isin(first.part, stops) & ~first.failed)
        for begin in range(0, rows.size, 2048):
            taken = rows[begin : begin + 2048]
            result[taken] = self._shown(elevation[taken], azimuth[taken], up[taken], side[taken], _take(first, taken))
        return result

    def _shown(self, el: Array, az: Array, up: Array, side: Array, first: Contacts) -> NDArray[np.int8]:
        result = np.full(el.size, Shown.NOTHING, dtype=np.int8)
        paths, flown = self._paths(el, az, up, side, first)
        self._stop(paths, first.part)
        rows = np.flatnonzero(flown & (paths.stop > 0))
        for k, obstacle in enumerate(self.stoppers.obstacles):
            if rows.size == 0:
                return result
            taken = paths.take(rows)
            exempt = (taken.face >= 0) & self.stoppers.behind[taken.face, k] if len(self.stoppers.faces) else False
            rows = rows[exempt | self._clear(taken, obstacle)]
        floors = np.isin(first.part[rows], self.stoppers.floors)
        for k in self.stoppers.floors:
            floors |= ~self._off_the_floor(paths.take(rows), self.shooter.around.bay.parts[k], el[rows])
        result[rows] = np.where(floors, Shown.FLOOR, Shown.CLOSED)
        return result

    def _paths(self, el: Array, az: Array, up: Array, side: Array, first: Contacts) -> tuple[_Paths, Mask]:
        """Paths to where the cells' balls must have been stopped, and a little further."""
        s = self.shooter
        radius = s.physics.ball.radius
        far = np.sqrt(((first.point - s.start[:, None]) ** 2).sum(axis=0))
        speed = first.speed_of()
        square = np.maximum(np.abs((first.velocity * first.normal).sum(axis=0)), 0.04 * speed)
        ahead = (2.2 * (up + side) * far + 2.0 * radius + BEYOND) / np.maximum(square, 1e-3)
        times = np.concatenate([np.linspace(0.0, 1.0, PIECES + 1)[:-1, None] * first.time,
                                first.time + np.linspace(0.0, 1.0, CLOSE_PIECES + 1)[:, None] * ahead])  # fmt: skip
        points, flown = free_points(s.physics, s.launches(el, az), times)
        step = np.sqrt((np.diff(points, axis=0) ** 2).sum(axis=1)) / np.maximum(np.diff(times, axis=0), 1e-12)
        slowest = float(np.min(np.where(flown, step, np.inf), initial=np.inf))
        flown = np.asarray(flown & (step.min(axis=0) > self.slowest), dtype=bool)
        steep = self._steep(slowest, float(times.max(initial=0.0)))
        eps, height = spread(points, times, up, side, s.physics.gravity, steep.growth)
        stray = steep.bend * np.diff(times, axis=0).max(axis=0, initial=0.0) ** 2 / 8.0
        none = np.zeros(el.size, dtype=np.intp)
        return _Paths(points, eps, height, stray, none, none - 1), flown

    def _steep(self, slowest: float, time: float) -> Steepness:
        s = self.shooter
        fastest = self._fastest(float(s.start[2] - s.around.bay.lower[2]))
        return steepness(s.physics, max(0.5 * min(slowest, fastest), 0.5 * self.slowest), fastest, s.spin_rate, time)

    def _stop(self, paths: _Paths, part: Index) -> None:
        """By which face, and at the end of which piece, each cell's balls have all been stopped."""
        radius = self.shooter.physics.ball.radius
        for f, face in enumerate(self.stoppers.faces):
            rows = np.flatnonzero((part == face.part) & (paths.stop == 0))
            if rows.size == 0:
                continue
            taken = paths.take(rows)
            margin = taken.eps + taken.stray + SLACK
            height = np.einsum("i,kin->kn", face.normal, taken.points) - face.offset
            # A guard must be crossed, so that its free edges are kept clear of until then; a floor has none.
            through = height <= (radius if face.part in self.stoppers.floors else 0.0) - margin
            stop = through.argmax(axis=0)
            inside = np.einsum("ei,kin->ken", face.inward, taken.points) - face.inner[:, None]
            later = np.concatenate([margin[1:], margin[-1:]])  # the bound grows until the next point
            over = inside.min(axis=1) >= later
            # From the last point at which none of the balls can touch the face, to the stop, all must be over it.
            index = np.arange(len(height))[:, None]
            touchable = np.roll(height <= radius + margin, -1, axis=0)
            window = (touchable | (height <= radius + margin)) & (index <= stop)
            good = through.any(axis=0) & (stop > 0) & (over | ~window).all(axis=0)
            paths.stop[rows[good]], paths.face[rows[good]] = stop[good], f
        self._stop_in_corners(paths)

    def _stop_in_corners(self, paths: _Paths) -> None:
        """Where all of a cell's balls are within a radius of one guard, they have touched it."""
        radius = self.shooter.physics.ball.radius
        rows = np.flatnonzero((paths.stop == 0) & (paths.eps[-1] < radius))
        if rows.size == 0:
            return
        taken = paths.take(rows)
        bay, n = self.shooter.around.bay, rows.size
        stop, balls = np.full(n, len(taken.points)), np.arange(n)
        for k in self.stoppers.guards:
            distance, _ = _distances(bay.parts[k].shape, taken.points)
            nearest = distance.argmin(axis=0)  # as it goes through, so that free edges are kept clear of until then
            near = distance[nearest, balls] <= radius - taken.eps[nearest, balls] - SLACK
            stop = np.where(near, np.minimum(stop, nearest), stop)
        found = (stop < len(taken.points)) & (stop > 0)
        paths.stop[rows[found]] = stop[found]

    def _clear(self, paths: _Paths, obstacle: Obstacle) -> Mask:
        """Which cells' balls `(n,)` keep clear of something until they are stopped."""
        need = obstacle.reach + paths.eps[1:] + paths.stray + SLACK
        before = np.arange(len(need))[:, None] < paths.stop
        clear = np.ones(paths.stop.size, dtype=bool)
        reach = np.where(before, need, 0.0).max(axis=0)
        inside = np.concatenate([before[:1], before])[:, None]
        low = np.where(inside, paths.points, np.inf).min(axis=0) - reach
        high = np.where(inside, paths.points, -np.inf).max(axis=0) + reach
        box_low, box_high = obstacle.corners.min(axis=0), obstacle.corners.max(axis=0)
        near = np.flatnonzero(((low <= box_high[:, None]) & (high >= box_low[:, None])).all(axis=0))
        if near.size == 0:
            return clear
        distance, normal = _distances(obstacle.shape, paths.points[:, :, near])
        least = nearest_on_pieces(distance, normal, paths.points[:, :, near], obstacle.shape.convex)
        clear[near] = (least > need[:, near]).all(axis=0, where=before[:, near])
        return clear

    def _off_the_floor(self, paths: _Paths, floor: Part, elevation: Array) -> Mask:
        """Which cells' balls `(n,)` do not touch a floor until they are stopped; where it carries them, after it."""
        s, radius = self.shooter, self.shooter.physics.ball.radius
        start, normal = floor.shape.distance(s.start[:, None])
        if start[0] > radius + FLOORS_APART:
            return self._clear(paths, Obstacle(floor.name, floor.shape, radius, _box(floor)))
        if normal[2, 0] < 1.0 - 1e-9:
            return np.zeros(paths.stop.size, dtype=bool)
        # It lies wholly below the level plane that carries the ball, and heights differ by their own bound.
        rise = paths.points[:, 2] - s.start[2]
        before = np.arange(1, len(rise))[:, None] <= paths.stop
        first, end = paths.points[1], rise[1]
        risen = (end > 0.0) & (end - paths.height[1] - paths.stray > 0.0) & (elevation > 0.0)
        # On the first piece both the rise and its bound begin at nought, and the rise is the more concave of the two.
        far = np.sqrt(((first - s.start[:, None]) ** 2).sum(axis=0))
        risen &= end - 4.0 * paths.stray > paths.height[1] * (1.0 + 4.0 * paths.stray / np.maximum(far, 1e-9))
        later = (np.minimum(rise[1:-1], rise[2:]) > paths.height[2:] + paths.stray).all(axis=0, where=before[1:])
        return np.asarray(risen & later)


def _box(part: Part) -> Array:
    return np.stack(part.shape.bounds())


def _distances(shape: object, points: Array) -> tuple[Array, Array]:
    """Distances `(k, n)` and normals `(k, 3, n)` at points `(k, 3, n)`."""
    k, _, n = points.shape
    distance, normal = shape.distance(points.transpose(1, 0, 2).reshape(3, k * n))  # type: ignore[attr-defined]
    return distance.reshape(k, n), normal.reshape(3, k, n).transpose(1, 0, 2)


def nearest_on_pieces(distance: Array, normal: Array, points: Array, convex: bool) -> Array:
    """The least that the distance can be on each straight piece `(k, n)` between points `(k + 1, 3, n)`.

    For a convex shape the distance along a line is convex: it lies above its tangents at both ends. For any other it
    only changes no faster than the way.
    """
    step = np.diff(points, axis=0)
    slow = (distance[:-1] + distance[1:] - np.sqrt((step * step).sum(axis=1))) / 2.0
    if not convex:
        return np.asarray(slow)
    a, b = distance[:-1], distance[1:]
    leaving, arriving = (normal[:-1] * step).sum(axis=1), (normal[1:] * step).sum(axis=1)
    bends = np.maximum(arriving - leaving, 1e-300)
    cross = a + leaving * np.clip((b - arriving - a) / -bends, 0.0, 1.0)
    tangents = np.where(leaving >= 0.0, a, np.where(arriving <= 0.0, b, np.minimum(cross, np.minimum(a, b))))
    return np.asarray(np.maximum(tangents, slow))


def _take(contacts: Contacts, rows: Index) -> Contacts:
    return Contacts(**{name: getattr(contacts, name)[..., rows] for name in Contacts.__dataclass_fields__})
