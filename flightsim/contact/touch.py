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
from flightsim.bay.shapes import Shape
from flightsim.contact.arcs import ArcBatch
from flightsim.flight.arcs import horner

Array = NDArray[np.float64]
Index = NDArray[np.intp]

TOUCHING = 1.0e-9  # m: a gap this small is a touch
GRAZING = 1.0e-5  # m: what counts as a touch when a grazing approach does not close in further
MAX_STEPS = 400


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


def first_touches(parts: tuple[Part, ...], arcs: ArcBatch) -> list[Touch]:
    """The first touch of every part by every arc of the batch that touches it."""
    touches = []
    for part in parts:
        touches.append(first_touch(part, arcs))
        arcs.no_later_than(touches[-1].balls, touches[-1].tau)
    return touches


def first_touch(part: Part, arcs: ArcBatch) -> Touch:
    """The first touch of one part.

    A ball that already touches the part at the start of its arc and is separating from it does not count
    until it has come off.
    """
    balls, tau = arcs.near(*part.shape.bounds())
    tau, normal, decided = search(part.shape, arcs, balls, tau, arcs.radius)
    hit = np.isfinite(tau)
    return Touch(part, balls[hit], tau[hit], normal[:, hit], balls[~decided])


def search(
    shape: Shape, arcs: ArcBatch, balls: Index, tau: Array, radius: float
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """First tau `(k,)` (inf for none) at which `balls` `(k,)` come within `radius` of the shape, from `tau` on.

    Also the normals `(3, k)`, and which were decided `(k,)`.
    """
    found = np.full(balls.size, np.inf)
    normals = np.zeros((3, balls.size))
    decided = np.ones(balls.size, dtype=bool)
    path = arcs.flights.path.take(balls, axis=2)  # take, not [...]: keeps the rows contiguous
    order = np.arange(1.0, path.shape[0])[:, None, None]
    slope = path[1:] * order
    bend, speed, until = arcs.bend[balls], arcs.speed[balls], arcs.until[balls]
    live = np.arange(balls.size)
    gap = np.empty(0)
    for _ in range(MAX_STEPS):
        if live.size == 0:
            return found, normals, decided
        distance, normal = shape.distance(horner(path, tau))
        gap = distance - radius
        rate = (normal * horner(slope, tau)).sum(axis=0)
        touching = (gap <= TOUCHING) & (rate < 0.0)
        if touching.any():
            found[live[touching]] = tau[touching]
            normals[:, live[touching]] = normal[:, touching]
        tau = tau + _safe_step(shape, gap, rate, bend, speed)
        going = ~touching & (tau <= until)
        if not going.all():
            live, tau, gap = live[going], tau[going], gap[going]
            path, slope = path.compress(going, axis=2), slope.compress(going, axis=2)
            bend, speed, until = bend[going], speed[going], until[going]
    # Steps too short to end: a graze. Closer than GRAZING it is a touch, else nobody knows.
    distance, normal = shape.distance(horner(path, tau))
    graze = distance - radius < GRAZING
    found[live[graze]] = tau[graze]
    normals[:, live[graze]] = normal[:, graze]
    decided[live[~graze]] = False
    return found, normals, decided


def _safe_step(shape: Shape, gap: Array, rate: Array, bend: Array, speed: Array) -> Array:
    """How far in tau the ball can go without touching: never less than what a touch's tolerance allows."""
    gap = np.maximum(gap, TOUCHING)  # already touching and separating: creep until it has come off
    if not shape.convex:
        return gap / speed
    root = np.sqrt(rate * rate + 2.0 * bend * gap)
    toward = 2.0 * gap / np.maximum(root - rate, 1.0e-300)
    return np.where(rate < 0.0, toward, np.where(bend > 0.0, (root + rate) / np.maximum(bend, 1e-300), np.inf))
