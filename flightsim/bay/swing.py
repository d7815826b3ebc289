"""The room that a swung club takes: a tilted disc about the player's shoulders, and how near a shape comes to it.

With stature H and club length L, m, and the ball on the ground at height z (the mat's top, if there is one):

    reach of the club head from the hub    R = 0.425 H + L - 0.10
    hub, between the shoulders             h = 0.737 H above the ground
    slope of the plane of the swing        phi = 48 deg driver, 57 deg mid iron, 62 deg wedge
    top of the swing                       z + h + R sin(phi)

Shares of stature and slopes are built from read anthropometry [swing-room], good to +-0.10 m. The plane passes
through the ball and rises squarely away from it toward the hitter's side, so where it is h above the ground it is
h / tan(phi) aside of the ball: there is the hub, level with the ball along the target line. The lowest point of the
circle then misses the ball, down the slope, by R - h / sin(phi): -0.03 to 0.15 m for 1.60 to 1.90 m, by so much the
published numbers do not close. A left-hander is the mirror in y. The whole disc counts, not the rim alone: between
hub and head are arms and shaft, and the head comes inside the rim where the wrists are bent.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import cos, inf, radians, sin, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.kept_answers import by_value, kept_by_value
from flightsim.bay.shapes import Shape

Array = NDArray[np.float64]

ARMS, HUB, GRIP = 0.425, 0.737, 0.10  # of stature, of stature, m of the club above the hands [swing-room]
UNCERTAINTY = 0.10  # m: of the top and of the reach [swing-room]
INCH = 0.0254
# Lengths of a wedge, a mid iron and a driver, m, and the slopes of their planes [swing-room]; straight lines
# between, and the ends' slopes beyond them (judgement).
LENGTHS = (35.5 * INCH, 37.0 * INCH, 45.0 * INCH)
SLOPES = (radians(62.0), radians(57.0), radians(48.0))
SHORT = 1.60  # m: below this stature a club counts as long as it would be for somebody of it (judgement)

TOLERANCE = 1.0e-3  # m: how far below the true gap a gap may be told
_SQUARE = 1.0e-3  # a move along less of a direction than this is no way to clear along it
_STARTS, _SLIDES = 6, 25  # where from, and how often, one goes to and fro
_MOST_POINTS = 100_000  # of the disc at once: then the gap found so far, which is less exact, is told


@by_value
@dataclass(frozen=True, eq=False)
class Swing:
    """The disc that a club sweeps. hub `(3,)`, m; radius, m; slope of its plane, rad.

    side: +1 where the hitter stands toward +y, as a right-hander does; -1 for a left-hander.
    """

    hub: Array
    radius: float
    slope: float
    side: float

    @cached_property
    def axes(self) -> Array:
        """Rows `(3, 3)`: along the target line, up the slope, and the disc's unit normal."""
        up_slope = np.array([0.0, self.side * cos(self.slope), sin(self.slope)])
        return np.stack([(along := np.array([1.0, 0.0, 0.0])), up_slope, np.cross(along, up_slope)])

    @property
    def top(self) -> float:
        """Height of its highest point above the slab, m."""
        return float(self.hub[2]) + self.radius * sin(self.slope)

    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper corner of the box that holds it."""
        reach = self.radius * np.sqrt(np.maximum(0.0, 1.0 - self.axes[2] ** 2))
        return self.hub - reach, self.hub + reach

    def places(self, flat: Array) -> Array:
        """Points `(3, n)`, m, of places `(2, n)`, m, in its plane: along the line, and up the slope, from the hub."""
        return np.asarray(self.hub[:, None] + self.axes[:2].T @ flat)

    def rim(self, n: int = 180) -> Array:
        """Points `(3, n)`, m, around it, the first down-range of the hub, the next ones above it."""
        angles = np.linspace(0.0, 2.0 * np.pi, n, endpoint=False)
        return self.places(self.radius * np.stack([np.cos(angles), np.sin(angles)]))

    def farthest(self, directions: Array) -> Array:
        """How far it reaches along each unit direction `(3, n)`, from the origin, m."""
        across = np.sqrt(np.maximum(0.0, 1.0 - (self.axes[2] @ directions) ** 2))
        return np.asarray(self.hub @ directions + self.radius * across)


def plane_slope(stature: float, club_length: float) -> float:
    """Slope of the swing's plane, rad, by the length of the club, m."""
    return float(np.interp(club_length * max(1.0, SHORT / stature), LENGTHS, SLOPES))


def swing_of(stature: float, club_length: float, ball: Array, side: float) -> Swing:
    """The swing of a player of this stature with a club of this length, m; ball `(3,)`: where it lies on the ground.

    Raises ValueError for sizes that nobody has.
    """
    radius = ARMS * stature + club_length - GRIP
    if not (stature > 0.0 and club_length > 0.0 and radius > 0.0 and np.isfinite(radius)):
        raise ValueError(f"nobody of {stature:g} m swings a club of {club_length:g} m")
    slope, hub = plane_slope(stature, club_length), HUB * stature
    return Swing(np.asarray(ball) + np.array([0.0, side * hub / tan(slope), hub]), radius, slope, side)


@kept_by_value
def least_gap(swing: Swing, shape: Shape, enough: float = inf) -> tuple[float, Array]:
    """The least distance from the disc to a shape, m, never overstated; and the place `(3,)` of the disc, m.

    It is told at most TOLERANCE below the true one; from `enough` on, no more is told than that it is at least so much.
    Where they touch it is nought, or below it by how far one must be moved to free it (`moves_to_clear`).

    A distance grows by no more than the point moves, so a square of the disc of half size a holds no distance less
    than that at its middle less a sqrt(2); squares that may still hold the least are quartered (branch and bound). To
    a convex shape there is a better bound (`_slide`), which mostly ends the search at once.
    """
    half = swing.radius / 8.0
    squares = half * _FIRST
    best, nearest, floor, all_of_it = inf, swing.hub, inf, -inf
    while True:
        slack = half * sqrt(2.0)
        squares = squares[:, np.hypot(*squares) <= swing.radius + slack]
        # Projected onto the disc, a middle is no farther from the square's points that lie in the disc.
        points = swing.places(_within(squares, swing.radius))
        distance = shape.distance(points)[0]
        near, place = float(distance.min()), points[:, distance.argmin()]
        if shape.convex and near > TOLERANCE:
            near, place, bound = _slide(swing, shape, points[:, np.argsort(distance)[:_STARTS]], enough)
            all_of_it = max(all_of_it, bound)
        if not near >= best:
            best, nearest = near, place
        if not best > TOLERANCE:
            return _pressed_in(swing, shape, best), nearest
        goal, least = min(best - TOLERANCE, enough), distance - slack
        unclear = least < goal
        if all_of_it >= goal or not unclear.any() or 4 * int(unclear.sum()) > _MOST_POINTS:
            return max(all_of_it, min(floor, float(least.min()))), nearest
        floor = min(floor, float(least[~unclear].min(initial=inf)))
        half /= 2.0
        squares = (squares[:, unclear, None] + half * _QUARTERS[:, None, :]).reshape(2, -1)


def _within(flat: Array, radius: float) -> Array:
    """The places `(2, n)` of a disc that are nearest to these."""
    return np.asarray(flat * np.minimum(1.0, radius / np.maximum(np.hypot(*flat), 1e-12)))


def _slide(swing: Swing, shape: Shape, points: Array, enough: float) -> tuple[float, Array, float]:
    """The nearest found to a convex shape by going to and fro; its place; and a bound below all distances of the disc.

    To and fro: to the shape's nearest point, and from there to the disc's (Cheney, Goldstein 1959, Proc. AMS 10:448,
    memory). The shape lies beyond the plane square to its normal at its nearest point; what the disc reaches toward
    that plane bounds every distance.
    """
    bound = -inf
    for _ in range(_SLIDES):
        distance, normal = shape.distance(points)
        beyond = distance - (normal * points).sum(axis=0) - swing.farthest(-normal)
        bound, k = max(bound, float(beyond.max())), int(distance.argmin())
        if not distance[k] > TOLERANCE or bound >= min(float(distance[k]) - TOLERANCE, enough):
            break
        there = points - distance * normal
        points = swing.places(_within(swing.axes[:2] @ (there - swing.hub[:, None]), swing.radius))
    return float(distance[k]), points[:, k], bound


def _pressed_in(swing: Swing, shape: Shape, found: float) -> float:
    """The gap, nought or less, of a shape that the disc touches."""
    outlines = shape.outlines()
    if not outlines:
        return min(found - TOLERANCE, -TOLERANCE)
    return -float(moves_to_clear(swing, np.concatenate(outlines).T).min())


@kept_by_value
def moves_to_clear(swing: Swing, corners: Array, margin: float = 0.0) -> Array:
    """How far to move the hull of corners `(3, k)` to leave this margin to the disc: `(6,)`, m, never understated.

    Along x, y, z, then against them. By separating directions: along a unit n from the disc to the hull they are apart
    by min(n . corners) less the disc's reach, and by n . d more for each metre moved along d. The best of many n is
    taken, so a move may be a little more than the least.
    """

    def apart(n: Array) -> Array:
        return np.asarray((corners.T @ n).min(axis=0) - swing.farthest(n))

    n = np.hstack([_SPHERE, np.eye(3), -np.eye(3), swing.axes.T, -swing.axes.T])
    first = apart(n)
    return np.array([_least_move(apart, n, first, way, margin) for way in (*np.eye(3), *-np.eye(3))])


def _least_move(apart: Callable[[Array], Array], n: Array, by: Array, way: Array, margin: float) -> float:
    """The least move along a unit direction that leaves the margin; refined around the best of the directions n."""
    least, steps = inf, (0.2, 0.08, 0.03, 0.01, 0.004, 0.0015)
    for step in (*steps, 0.0):
        along = way @ n
        moves = np.where(along > _SQUARE, (margin - by) / np.maximum(along, _SQUARE), inf)
        moves[by >= margin] = 0.0
        k = int(moves.argmin())
        if moves[k] < least:
            least, best = float(moves[k]), n[:, k]
        n = best[:, None] + step * _FEW
        n /= np.linalg.norm(n, axis=0)
        by = apart(n)
    return max(0.0, least)


def _sphere(n: int) -> Array:
    """Unit directions `(3, 4 n)`, evenly spread (the golden spiral), and the same for either hand and either way."""
    k = np.arange(n) + 0.5
    z, turn = 1.0 - 2.0 * k / n, np.pi * (1.0 + sqrt(5.0)) * k
    level = np.sqrt(1.0 - z * z)
    spiral = np.stack([level * np.cos(turn), level * np.sin(turn), z])
    return np.hstack([spiral * np.array([[x], [y], [1.0]]) for x in (1.0, -1.0) for y in (1.0, -1.0)])


_SPHERE, _FEW = _sphere(200), _sphere(50)
_ACROSS = 2.0 * np.arange(8) - 7.0
_FIRST = np.stack([np.repeat(_ACROSS, 8), np.tile(_ACROSS, 8)])  # middles of squares, in half sizes
_QUARTERS = np.array([[-1.0, -1.0, 1.0, 1.0], [-1.0, 1.0, -1.0, 1.0]])
