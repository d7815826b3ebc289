"""Balls that cross a zone where somebody is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.people import Zone
from flightsim.bay.shapes import Shape
from flightsim.contact.arcs import ArcBatch
from flightsim.contact.fates import Fates, Flag
from flightsim.contact.touch import search
from flightsim.contact.touch_boxes import PairBoxes, is_straight, near_pairs
from flightsim.flight.arcs import horner

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]
_LOOKS = np.linspace(0.0, 1.0, 9)
_HALVINGS = 24  # of the time between two looks, to where a ball crosses the edge


@dataclass(frozen=True)
class Crossings:
    """Balls `(k,)` of a batch that cross a zone, how fast they are in it at most `(k,)`, m/s, and the height of the
    ball's centre as they come in `(k,)`, m above the slab; tau `(k,)` of the arc.
    """

    balls: Index
    speed: Array
    height: Array
    tau: Array

    def take(self, index: Index) -> Crossings:
        """Those at these places."""
        return Crossings(self.balls[index], self.speed[index], self.height[index], self.tau[index])


def crossings(zones: Sequence[Zone], arcs: ArcBatch, counts: Mask) -> Iterator[tuple[int, Crossings]]:
    """Where balls cross each zone before their arc's `until`: the zone's index, and who crosses it.

    counts `(zones, n)`: which balls count there. A ball that starts inside crosses it.
    """
    asked = [k for k in range(len(zones)) if counts[k].any()]
    straight = [k for k in asked if is_straight(zones[k].shape)]
    if straight:
        some = [zones[k] for k in straight]
        which, balls, tau = near_pairs(some, arcs)
        there = counts[straight][which, balls]
        which, balls, tau = which[there], balls[there], tau[there]
        boxes = PairBoxes.of([zone.shape for zone in some], which)
        crossing, found = cross_boxes(boxes, arcs, balls, tau)
        for place, k in enumerate(straight):
            yield k, crossing.take(np.flatnonzero(which[found] == place))
    for k in asked:
        if k not in straight:
            balls, tau = arcs.near(*zones[k].shape.bounds())
            there = counts[k][balls]
            yield k, cross_boxes(zones[k].shape, arcs, balls[there], tau[there])[0]


def cross_boxes(shape: Shape | PairBoxes, arcs: ArcBatch, balls: Index, tau: Array) -> tuple[Crossings, Index]:
    """Who of these balls `(k,)` crosses the shape, or each its own box, and their places among them.

    tau `(k,)`: before it none does.
    """
    found, _, decided = search(shape, arcs, balls, tau, arcs.radius)
    found = np.where(decided, found, tau)  # undecided: it starts inside
    some = np.flatnonzero(np.isfinite(found))
    balls, tau = balls[some], found[some]
    if balls.size == 0:
        return Crossings(balls, tau, tau, tau), some
    path, duration = arcs.flights.path.take(balls, axis=2), arcs.flights.duration[balls]
    # Gravity may make it faster inside: looked at as it comes in, and at times after that, all at once.
    looks = (tau[:, None] + _LOOKS * (arcs.until[balls] - tau)[:, None]).ravel()
    ways = np.repeat(path, _LOOKS.size, axis=2)
    place = horner(ways, looks)
    rates = ways[1:] * np.arange(1.0, len(ways))[:, None, None]
    speed = _speed(horner(rates, looks)).reshape(balls.size, -1) / duration[:, None]
    there = shape.take(np.repeat(some, _LOOKS.size)) if isinstance(shape, PairBoxes) else shape
    distance, _ = there.distance(place)
    inside = (distance < arcs.radius).reshape(balls.size, -1)
    inside[:, 0] = True
    height = place[2].reshape(balls.size, -1)[:, 0]
    fastest = np.where(inside, speed, 0.0).max(axis=1)
    who, look = np.nonzero(inside[:, 1:] != inside[:, :-1])  # it crosses the edge between two looks
    times = looks.reshape(balls.size, -1)
    edge = shape.take(some[who]) if isinstance(shape, PairBoxes) else shape
    at = _at_the_edge(edge, path[..., who], times[who, look], times[who, look + 1], inside[who, look + 1], arcs.radius)
    ways = path[1:][..., who] * np.arange(1.0, len(path))[:, None, None]
    np.maximum.at(fastest, who, _speed(horner(ways, at)) / duration[who])
    return Crossings(balls, fastest, height, tau), some


def _at_the_edge(
    shape: Shape | PairBoxes, path: Array, low: Array, high: Array, ends_inside: Mask, radius: float
) -> Array:
    """When balls `(k,)` cross the edge of a shape between two times, on one side at the first, on the other after."""
    for _ in range(_HALVINGS if low.size else 0):
        middle = 0.5 * (low + high)
        there = (shape.distance(horner(path, middle))[0] < radius) == ends_inside
        low, high = np.where(there, low, middle), np.where(there, middle, high)
    return high


def note_person(
    fates: Fates, zone: int, shots: Index, speed: Array, height: Array, came_from: Index, harm: float
) -> None:
    """Write that the person in this zone was reached by these shots at these speeds, m/s, and heights, m.

    came_from: the part that each ball touched last, -1 for none. Each zone keeps its own worst: a ball may hit a body
    hard, and a head as well. harm, m/s: from here on it is a hit.
    """
    worse = ~(speed <= fates.at_zone[zone, shots])
    fates.at_zone[zone, shots[worse]], fates.zone_from[zone, shots[worse]] = speed[worse], came_from[worse]
    hard = speed >= harm
    shots, speed, height, came_from = shots[hard], speed[hard], height[hard], came_from[hard]
    worst = fates.note(Flag.PERSON_HIT, shots, speed, np.full(shots.size, zone))
    fates.height[shots[worst]] = height[worst]
    fates.came_from[shots[worst]] = came_from[worst]


def _speed(velocity: Array) -> Array:
    return np.asarray(np.sqrt((velocity * velocity).sum(axis=0)))
