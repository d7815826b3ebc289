"""People whom a ball crosses before its arc ends."""

from __future__ import annotations

import numpy as np

from flightsim.engine.approach import MISSES, UNDECIDED, approach
from flightsim.engine.arc import BOXES, DURATION, PIECES, position, rate
from flightsim.engine.compiled import compiled
from flightsim.engine.distance import distance
from flightsim.engine.layout import HIGH, LOW, BayArrays
from flightsim.engine.record import CAME_FROM, HEIGHT, PERSON_HIT, ZONE_SPEEDS, Records, note, zone_from
from flightsim.engine.three import length
from flightsim.engine.world import RADIUS

LOOKS = 8  # at how fast a ball is inside: as it comes in, and so often after that
HALVINGS = 24  # of the time between two looks, to where it crosses the edge: to some billionths of an arc


@compiled
def crossing(bay: BayArrays, zone: int, arc: np.ndarray, until: float) -> float:
    """The tau at which a ball comes into a zone, its row in the bay; inf where it does not. One that starts inside
    crosses it.
    """
    row = bay.solids[zone]
    for piece in range(PIECES):
        tau, box = piece / PIECES, BOXES + 6 * piece
        if until < tau:
            return np.inf
        meets = True
        for axis in range(3):
            meets = meets and arc[box + axis] <= row[HIGH + axis] and arc[box + axis + 3] >= row[LOW + axis]
        if meets:
            how, when, _ = approach(bay, zone, arc, tau, until, bay.world[RADIUS])
            return np.inf if how == MISSES else tau if how == UNDECIDED else when
    return np.inf


@compiled
def fastest_inside(bay: BayArrays, zone: int, arc: np.ndarray, tau: float, until: float) -> float:
    """How fast a ball is at most inside a zone that it comes into at tau, m/s: gravity may make it faster there.

    It is looked at as it comes in, at times after that, and where it goes out, which is found between two of these.
    """
    fastest, inside, before = length(rate(arc, tau)), True, tau
    for look in range(1, LOOKS + 1):
        moment = tau + look / LOOKS * (until - tau)
        now = distance(bay, zone, position(arc, moment))[0] < bay.world[RADIUS]
        if now:
            fastest = max(fastest, length(rate(arc, moment)))
        if now != inside:
            fastest = max(fastest, length(rate(arc, _at_the_edge(bay, zone, arc, before, moment, now))))
        inside, before = now, moment
    return fastest / arc[DURATION]


@compiled
def _at_the_edge(bay: BayArrays, zone: int, arc: np.ndarray, low: float, high: float, ends_inside: bool) -> float:
    """When a ball crosses the edge of a zone between two times, on the one side at the first, on the other after."""
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if (distance(bay, zone, position(arc, middle))[0] < bay.world[RADIUS]) == ends_inside:
            high = middle
        else:
            low = middle
    return high


@compiled
def note_person(
    records: Records, ball: int, zone: int, speed: float, height: float, came_from: int, harm: float
) -> None:
    """Write that the person in this zone was reached, at this speed, m/s, and height, m, after the part touched last;
    harm, m/s: from here on it is a hit.
    """
    if not speed <= records.floats[ball, ZONE_SPEEDS + zone]:
        records.floats[ball, ZONE_SPEEDS + zone], records.whole[ball, zone_from(records, zone)] = speed, came_from
    if speed >= harm and note(records, ball, PERSON_HIT, speed, zone):
        records.floats[ball, HEIGHT], records.whole[ball, CAME_FROM] = height, came_from
