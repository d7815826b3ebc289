"""When does a flying ball first touch a shape: a root of its distance along the arc's polynomial.

One search for all shapes. At a point of the arc, let g be the gap (distance less ball radius), g' its rate
along the arc and A the arc's largest second derivative. For a convex shape the distance along the tangent is a
convex function, so g(t + s) >= g + g' s - A s^2/2: the ball cannot touch before the first root of the right
side. For any other shape only |g'| <= speed is known. Steps to these bounds never pass a contact, however thin
the part, and for convex shapes they close in quadratically.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Part
from flightsim.bay.shapes import Shape, dot
from flightsim.contact.arcs import ArcBatch
from flightsim.contact.touch_boxes import PairBoxes, is_straight, near_pairs, sheet_planes
from flightsim.flight.arcs import horner

Array = NDArray[np.float64]
Index = NDArray[np.intp]

TOUCHING = 1.0e-7  # m: a gap this small is a touch
GRAZING = 1.0e-5  # m: what counts as a touch when a grazing approach does not close in further
INSIDE = 1.0e-6  # m: a ball this far into a part never came there by flying
MAX_STEPS = 400
SMALL = 3072  # balls: a batch so small is searched for all straight boxes together


@dataclass(frozen=True)
class Touch:
    """First touches of one part: which balls `(k,)`, at which tau `(k,)` of their arc, and the unit normal
    `(3, k)` from the part toward the ball. `undecided` `(j,)` lists balls for which the search gave no answer.
    """

    part: Part
    balls: Index
    tau: Array
    normal: Array
    undecided: Index


def heeded(touch: Touch, arcs: ArcBatch) -> Touch:
    """The touch without the balls for which the part is not there: a plugin's own test need not know of them."""
    if touch.part.name not in arcs.ignored:
        return touch
    kept, unsure = (arcs.heeded(touch.part.name, balls) for balls in (touch.balls, touch.undecided))
    return Touch(touch.part, touch.balls[kept], touch.tau[kept], touch.normal[:, kept], touch.undecided[unsure])


def first_touches(parts: tuple[Part, ...], arcs: ArcBatch) -> list[Touch]:
    """The first touch of every part by every arc of the batch that touches it."""
    straight = tuple(part for part in parts if is_straight(part.shape)) if len(arcs) <= SMALL else ()
    touches = _of_boxes(straight, arcs) if straight else []
    for touch in touches:
        arcs.no_later_than(touch.balls, touch.tau)
    together = {part.name for part in straight}
    for part in parts:
        if part.name not in together:
            touches.append(first_touch(part, arcs))
            arcs.no_later_than(touches[-1].balls, touches[-1].tau)
    return touches


@dataclass(frozen=True)
class ByDistance:
    """The test of parts by their shapes' own distances."""

    parts: tuple[Part, ...]

    def __call__(self, arcs: ArcBatch) -> list[Touch]:
        """The first touch of every part by every arc of the batch that touches it."""
        return first_touches(self.parts, arcs)


def _of_boxes(parts: tuple[Part, ...], arcs: ArcBatch) -> list[Touch]:
    """The first touches of straight boxes, all pairs of ball and box together."""
    which, balls, tau = near_pairs(parts, arcs)
    axis, offset, sheet = sheet_planes(parts)
    flat = np.flatnonzero(sheet[which])
    if flat.size:
        heights = arcs.flights.path[:, axis[which[flat]], balls[flat]]
        bend = arcs.bend_bounds[axis[which[flat]], balls[flat]]
        until = arcs.until[balls[flat]]
        tau[flat] = _down_to(heights, offset[which[flat]], bend, until, arcs.radius, tau[flat])
        keep = np.ones(which.size, dtype=bool)
        keep[flat] = tau[flat] <= until
        which, balls, tau = which[keep], balls[keep], tau[keep]
    tau, normal, decided = search(PairBoxes.of([part.shape for part in parts], which), arcs, balls, tau, arcs.radius)
    hit = np.isfinite(tau) & decided
    touches = []
    for k, part in enumerate(parts):
        mine = which == k
        some = mine & hit
        touches.append(Touch(part, balls[some], tau[some], normal[:, some], balls[mine & ~decided]))
    return touches


def first_touch(part: Part, arcs: ArcBatch) -> Touch:
    """The first touch of one part.

    A ball that already touches the part at the start of its arc and is separating from it does not count
    until it has come off. One that is inside it is undecided: it must have started there.
    """
    balls, tau = arcs.near(*part.shape.bounds())
    if part.name in arcs.ignored:
        there = arcs.heeded(part.name, balls)
        balls, tau = balls[there], tau[there]
    plane = getattr(part.shape, "plane", lambda: None)()
    if plane is not None:
        balls, tau = _up_to_plane(plane, arcs, balls, tau)
    tau, normal, decided = search(part.shape, arcs, balls, tau, arcs.radius)
    hit = np.isfinite(tau) & decided
    return Touch(part, balls[hit], tau[hit], normal[:, hit], balls[~decided])


def search(
    shape: Shape | PairBoxes, arcs: ArcBatch, balls: Index, tau: Array, radius: float
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """First tau `(k,)` (inf for none) at which `balls` `(k,)` come within `radius` of the shape, from `tau` on.

    Also the normals `(3, k)`, and which were decided `(k,)`: not those that start inside the shape, unless the
    radius is nought. PairBoxes: each ball has a box of its own.
    """
    pairs = shape if isinstance(shape, PairBoxes) else None
    found = np.full(balls.size, np.inf)
    normals = np.zeros((3, balls.size))
    decided = np.ones(balls.size, dtype=bool)
    live = _Approach(np.arange(balls.size), tau, arcs, balls)
    for _ in range(MAX_STEPS):
        if live.place.size == 0:
            return found, normals, decided
        surface = shape if pairs is None else pairs.take(live.place)
        distance, normal = surface.distance(horner(live.path, live.tau))
        gap = distance - radius
        rate = (normal * horner(live.slope, live.tau)).sum(axis=0)
        touching = (gap <= TOUCHING) & (rate < 0.0)
        after = live.tau + _safe_step(shape, gap, rate, live.bend, live.speed)
        if (inside := gap < -INSIDE).any() and radius > 0.0:
            decided[live.place[inside]] = False
        if touching.any():
            # The step from here is short of the root by the square of a gap that is nothing already.
            exact = np.minimum(after[touching], live.until[touching])
            found[live.place[touching]] = np.where(gap[touching] > 0.0, exact, live.tau[touching])
            normals[:, live.place[touching]] = normal[:, touching]
        live.tau = after
        live.keep(~touching & (after <= live.until))
    # Steps too short to end: a graze. Closer than GRAZING it is a touch, else nobody knows.
    surface = shape if pairs is None else pairs.take(live.place)
    distance, normal = surface.distance(horner(live.path, live.tau))
    graze = distance - radius < GRAZING
    found[live.place[graze]] = live.tau[graze]
    normals[:, live.place[graze]] = normal[:, graze]
    decided[live.place[~graze]] = False
    return found, normals, decided


def _up_to_plane(plane: tuple[Array, float], arcs: ArcBatch, balls: Index, tau: Array) -> tuple[Index, Array]:
    """Balls that come within a radius of a plane after tau, and when: before that they touch no sheet in it.

    The same steps as the search itself, on the height above the plane alone.
    """
    normal, offset = plane
    path = arcs.flights.path
    axes = np.flatnonzero(normal)
    if axes.size == 1:
        height = path[:, axes[0]].take(balls, axis=1) * normal[axes[0]]
    else:
        way = path.take(balls, axis=2)  # written out: einsum rounds a single ball otherwise
        height = way[:, 0] * normal[0] + way[:, 1] * normal[1] + way[:, 2] * normal[2]
    bend, until = dot(np.abs(normal), arcs.bend_bounds.take(balls, axis=1)), arcs.until[balls]
    tau = _down_to(height, offset, bend, until, arcs.radius, tau)
    near = tau <= until
    return balls[near], tau[near]


def _down_to(height: Array, offset: Array | float, bend: Array, until: Array, radius: float, tau: Array) -> Array:
    """From tau `(k,)` on, when polynomials of height `(deg + 1, k)` come within a radius of the offset."""
    height[0] -= offset
    slope = height[1:] * np.arange(1.0, len(height))[:, None]
    for _ in range(MAX_STEPS):
        above = horner(height, tau)
        gap = np.abs(above) - radius
        going = (gap > TOUCHING) & (tau <= until)
        if not going.any():
            break
        rate = horner(slope, tau) * np.sign(above)
        tau = np.where(going, tau + _convex_step(np.maximum(gap, 0.0), rate, bend), tau)
    return tau


class _Approach:
    """The balls of a search that are still on their way."""

    def __init__(self, place: Index, tau: Array, arcs: ArcBatch, balls: Index) -> None:
        self.place = place
        self.tau = tau
        self.path = arcs.flights.path.take(balls, axis=2)  # take, not [...]: keeps the rows contiguous
        self.slope = self.path[1:] * np.arange(1.0, self.path.shape[0])[:, None, None]
        self.bend, self.speed, self.until = arcs.bend[balls], arcs.speed[balls], arcs.until[balls]

    def keep(self, going: NDArray[np.bool_]) -> None:
        """Drop all others."""
        if going.all():
            return
        self.place, self.tau, self.until = self.place[going], self.tau[going], self.until[going]
        self.bend, self.speed = self.bend[going], self.speed[going]
        self.path, self.slope = self.path.compress(going, axis=2), self.slope.compress(going, axis=2)


def _safe_step(shape: Shape | PairBoxes, gap: Array, rate: Array, bend: Array, speed: Array) -> Array:
    """How far in tau the ball can go without touching: never less than what a touch's tolerance allows."""
    gap = np.maximum(gap, TOUCHING * 1e-3)  # already touching and separating: creep until it has come off
    if not shape.convex:
        return gap / speed
    return _convex_step(gap, rate, bend)


def _convex_step(gap: Array, rate: Array, bend: Array) -> Array:
    """The first root of gap + rate s - bend s^2/2: before it a convex gap stays open."""
    root = np.sqrt(rate * rate + 2.0 * bend * gap)
    away = rate >= 0.0
    # Written so that no digits are lost, whichever way the ball goes.
    step: Array = 2.0 * gap / np.maximum(root + np.abs(rate), 1.0e-300)
    if away.any():
        straight = bend[away] <= 1.0e-300  # then it never comes nearer: a ball that lies still, or a straight way
        far = (root[away] + rate[away]) / np.where(straight, 1.0, bend[away])
        step[away] = np.where(straight, 2.0, np.minimum(far, 2.0))
    return step
