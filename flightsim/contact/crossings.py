"""Balls that cross a zone where somebody is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.people import Zone
from flightsim.contact.arcs import ArcBatch
from flightsim.contact.fates import Fates, Flag
from flightsim.contact.touch import search

Array = NDArray[np.float64]
Index = NDArray[np.intp]
_LOOKS = np.linspace(0.0, 1.0, 9)[1:]


@dataclass(frozen=True)
class Crossings:
    """Balls `(k,)` of a batch that cross a zone, how fast they are in it at most `(k,)`, m/s, and the height of the
    ball's centre as they come in `(k,)`, m above the slab; tau `(k,)` of the arc.
    """

    balls: Index
    speed: Array
    height: Array
    tau: Array


def crossings(zone: Zone, arcs: ArcBatch, counts: NDArray[np.bool_]) -> Crossings:
    """Where balls that count `(n,)` cross the zone before their arc's `until`. One that starts inside crosses it."""
    balls, tau = arcs.near(*zone.shape.bounds())
    balls, tau = balls[counts[balls]], tau[counts[balls]]
    found, _, decided = search(zone.shape, arcs, balls, tau, arcs.radius)
    found = np.where(decided, found, tau)  # undecided: it starts inside
    some = np.isfinite(found)
    balls, tau = balls[some], found[some]
    flights, until = arcs.flights.take(balls), arcs.until[balls]
    fastest = _speed(flights.velocity(tau))
    height = flights.position(tau)[2]
    for look in _LOOKS:  # gravity may make it faster inside
        later = tau + look * (until - tau)
        inside = zone.shape.distance(flights.position(later))[0] < arcs.radius
        fastest = np.where(inside, np.maximum(fastest, _speed(flights.velocity(later))), fastest)
    return Crossings(balls, fastest, height, tau)


def note_person(fates: Fates, zone: int, shots: Index, speed: Array, height: Array, came_from: Index) -> None:
    """Write that the person in this zone was hit by these shots at these speeds, m/s, and heights, m.

    came_from: the part that each ball touched last, -1 for none.
    """
    worst = fates.note(Flag.PERSON_HIT, shots, speed, np.full(shots.size, zone))
    fates.height[shots[worst]] = height[worst]
    fates.came_from[shots[worst]] = came_from[worst]


def _speed(velocity: Array) -> Array:
    return np.asarray(np.sqrt((velocity * velocity).sum(axis=0)))
