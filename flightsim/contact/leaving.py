"""Where balls leave the bay: through an opening, or through the box that holds the room."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Opening
from flightsim.bay.shapes import HalfSpace
from flightsim.contact.arcs import ArcBatch
from flightsim.contact.touch import search

Array = NDArray[np.float64]
Index = NDArray[np.intp]

CLEAR_OF_BOX = 1.0e-3  # m past the box: openings in its faces are named first
ON_OUTLINE = 1.0e-6  # m


def leaving(bay: Bay, arcs: ArcBatch, before: Array) -> tuple[Index, Array, Array, Index]:
    """Balls whose centre leaves before tau `before` `(n,)`: balls, tau, outward normal, opening index.

    The index len(bay.openings) stands for no known opening: the room's own surface has a gap there, and the
    ball counts as out all the same.
    """
    soonest, which = before.copy(), np.full(len(arcs), -1, dtype=np.intp)
    normal = np.zeros((3, len(arcs)))
    last = arcs.last_point
    ways = [(opening.normal, _through(opening, arcs, last), k) for k, opening in enumerate(bay.openings)]
    for axis in range(3):
        for sign, face in ((1.0, bay.upper[axis]), (-1.0, bay.lower[axis])):
            outward = np.zeros(3)
            outward[axis] = sign
            beyond = HalfSpace(outward, float(sign * face) + CLEAR_OF_BOX)
            ways.append((outward, crossing(beyond, arcs, last), len(bay.openings)))
    for outward, (balls, tau), k in ways:
        sooner = tau < soonest[balls]
        balls, tau = balls[sooner], tau[sooner]
        soonest[balls], which[balls] = tau, k
        normal[:, balls] = outward[:, None]
    out = np.flatnonzero(which >= 0)
    return out, soonest[out], normal[:, out], which[out]


def crossing(beyond: HalfSpace, arcs: ArcBatch, last: Array) -> tuple[Index, Array]:
    """Balls whose centre crosses into the half space, and the first tau of it."""
    start, end = arcs.flights.path[0], last
    # A curve strays from its chord by at most bend h^2/8.
    reach = np.maximum(beyond.outward @ start, beyond.outward @ end)
    reach += np.abs(beyond.outward) @ arcs.bend_bounds * arcs.until**2 / 8.0
    balls = np.flatnonzero(reach > beyond.offset)
    tau, _, _ = search(beyond, arcs, balls, np.zeros(balls.size), 0.0)
    crossed = np.isfinite(tau)
    return balls[crossed], tau[crossed]


def _through(opening: Opening, arcs: ArcBatch, last: Array) -> tuple[Index, Array]:
    balls, tau = crossing(HalfSpace(opening.normal, float(opening.normal @ opening.corners[0])), arcs, last)
    distance, _ = opening.shape.distance(arcs.flights.take(balls).position(tau))
    within = distance <= ON_OUTLINE
    return balls[within], tau[within]


def landing_speed(speed: Array, height: Array, gravity: float) -> Array:
    """Speed `(n,)`, m/s, at which balls that leave at this speed come down to what is this far below them, m.

    sqrt(v^2 + 2 g h): energy alone, without the air, which would only take (textbook mechanics).
    """
    return np.asarray(np.sqrt(speed * speed + 2.0 * gravity * np.maximum(height, 0.0)))
