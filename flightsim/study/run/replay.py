"""Chosen shots of a run flown again with every contact kept: their whole ways, for pictures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Role
from flightsim.bay.people import Zone
from flightsim.contact.fates import Fates, Flag
from flightsim.contact.log import ContactList, ContactLog
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]
Index = NDArray[np.intp]

STEP = 0.012  # s between the points of a way: 0.6 m at 50 m/s, on a curve that fits place and velocity at both ends
AT_A_PART = (Flag.HIT_UNPROTECTED, Flag.BROKE_THROUGH, Flag.PAST_EDGE, Flag.STRUCK_THROUGH)
FINE_STEP = 0.002  # s, where a place on the way is looked for
MOST_POINTS = 60  # between two contacts: a ball that rolls for seconds
HEIGHT_COUNTS = 0.2  # how much a wrong height weighs against being outside a zone: only breaks ties (judgement)


@dataclass(frozen=True)
class Way:
    """The way of one ball. time `(m,)`, s; point `(m, 3)`, m, of its centre; speed `(m,)`, m/s; touched `(m,)` int:
    the part that it touched last, -1 for none.
    """

    time: Array
    point: Array
    speed: Array
    touched: Index

    def until(self, place: Array) -> Way:
        """The way up to its point nearest to this place `(3,)`, m."""
        end = int(((self.point - place) ** 2).sum(axis=1).argmin()) + 1
        return Way(self.time[:end], self.point[:end], self.speed[:end], self.touched[:end])


@dataclass(frozen=True)
class Replay:
    """k shots with all that they did. shots `(k,)`: their numbers in the run, ascending; start, velocity `(3, k)`:
    at launch, m and m/s; contacts: `shot` counts 0..k-1; radius of the ball, m; gravity, m/s2.
    """

    shots: Index
    start: Array
    velocity: Array
    contacts: ContactList
    fates: Fates
    radius: float
    gravity: float

    def __len__(self) -> int:
        return int(self.shots.size)

    def where(self, shots: Index) -> Index:
        """The places here of these shots of the run, those that were not flown again left out."""
        return np.flatnonzero(np.isin(self.shots, shots))

    def way(self, k: int, step: float = STEP) -> Way:
        """The way of the k-th ball from the strike to where it was followed to.

        Along cloth that carries it: straight, at an even speed. Between two contacts: the cubic that has the ball's
        place and velocity at both; after the last: the parabola that begins with its velocity and ends where it ended.
        Both are exact for a throw without air. A ball that rolls over an edge touches nothing there: its roll and its
        fall are drawn apart. step: at most, s, between its points, but for the longest pieces.
        """
        rows = self.contacts.of(k)
        time = np.concatenate([[0.0], self.contacts.time[rows], [self.fates.time[k]]])
        point = np.vstack([self.start[:, k], self.contacts.point[:, rows].T, self.fates.point[:, k]])
        leaving = np.vstack([self.velocity[:, k], self.contacts.leaving[:, rows].T])
        arriving = np.vstack([self.contacts.arriving[:, rows].T, np.full(3, np.nan)])
        touched = np.concatenate([[-1], self.contacts.part[rows]])
        left = np.vstack([self.start[:, k], self.contacts.left[:, rows].T])
        left_time = np.concatenate([[0.0], self.contacts.left_time[rows]])
        pieces = []
        for s, last in enumerate(touched):
            if left_time[s] > time[s]:
                along = (left[s] - point[s]) / (left_time[s] - time[s])
                carried = np.array([time[s], left_time[s]]), np.array([point[s], left[s]]), along, along
                pieces += [piece for piece in (_piece(*carried, int(last), step),) if piece]
            free = np.array([left_time[s], time[s + 1]]), np.array([left[s], point[s + 1]]), leaving[s], arriving[s]
            pieces += [
                piece for stretch in _at_the_edge(*free, self.gravity) if (piece := _piece(*stretch, int(last), step))
            ]
        if not pieces:
            start = np.linalg.norm(self.velocity[:, k])
            return Way(np.zeros(1), point[:1], np.full(1, start), np.full(1, -1, dtype=np.intp))
        return Way(*(np.concatenate([getattr(p, name) for p in pieces]) for name in Way.__dataclass_fields__))

    def spots(self, bay: Bay, flag: Flag, balls: Index) -> Array:
        """Where this flag came about at its worst `(3, m)`, m, for these of the balls `(m,)`, all of which have it."""
        return np.array([self._spot(bay, flag, int(k)) for k in balls]).reshape(-1, 3).T

    def _spot(self, bay: Bay, flag: Flag, k: int) -> Array:
        place = int(self.fates.place[flag, k])
        if flag is Flag.PERSON_HIT:
            return self._in_zone(k, bay.zones[place])
        if flag in AT_A_PART:
            rows = self._rows_of(bay, k, place)
            if rows.size:
                speed = np.sqrt((self.contacts.arriving[:, rows] ** 2).sum(axis=0))
                wanted = self.fates.worst[flag, k]
                # What breaks takes speed from the ball: its worst speed is what was left, so the fastest touch.
                best = np.abs(speed - wanted).argmin() if flag is Flag.HIT_UNPROTECTED else speed.argmax()
                return self.contacts.point[:, rows[best]]
        return self.fates.point[:, k]

    def _rows_of(self, bay: Bay, k: int, place: int) -> Index:
        """The touches of a part; of a wall struck through cloth, those of the guards."""
        rows = self.contacts.of(k)
        of_part = rows[self.contacts.part[rows] == place]
        guards = np.array([part.role is Role.GUARD for part in bay.parts], dtype=bool)
        return of_part if of_part.size else np.asarray(rows[guards[self.contacts.part[rows]]])

    def _in_zone(self, k: int, zone: Zone) -> Array:
        """The point of the way that is in a zone, or nearest to it, after the touch that sent the ball there."""
        way = self.way(k, FINE_STEP)
        outside = np.maximum(zone.shape.distance(way.point.T)[0] - self.radius, 0.0)
        wrong = outside + HEIGHT_COUNTS * np.abs(way.point[:, 2] - self.fates.height[k])
        wrong[way.touched != self.fates.came_from[k]] += 1.0e3
        return np.asarray(way.point[wrong.argmin()])


_Free = tuple[Array, Array, Array, Array]  # times `(2,)`, places `(2, 3)`, velocity at the start and at the end


def _at_the_edge(time: Array, point: Array, leaving: Array, arriving: Array, gravity: float) -> list[_Free]:
    """A free way, parted where the ball rolls over an edge and falls: it comes down too slow for a throw as long."""
    whole = [(time, point, leaving, arriving)]
    length = float(time[1] - time[0])
    fall = -float(arriving[2]) / gravity  # since its velocity was level
    thrown = leaving[2] - gravity * length
    if not (np.isfinite(leaving).all() and 0.0 < fall < length and arriving[2] - thrown > 0.5 * gravity * length):
        return whole
    level = arriving * np.array([1.0, 1.0, 0.0])
    edge = point[1] - level * fall + np.array([0.0, 0.0, 0.5 * gravity * fall * fall])
    times, places = (time[0], time[1] - fall, time[1]), (point[0], edge, point[1])
    return [
        (np.array(times[:2]), np.stack(places[:2]), leaving, level),
        (np.array(times[1:]), np.stack(places[1:]), level, arriving),
    ]


def _piece(time: Array, point: Array, leaving: Array, arriving: Array, touched: int, step: float) -> Way | None:
    """One free way, from place and velocity at its start to its end; None where there is none."""
    length = float(time[1] - time[0])
    if not (length > 1.0e-9 and np.isfinite(leaving).all() and np.isfinite(point).all()):
        return None
    n = int(np.clip(np.ceil(length / step) + 1, 3, MOST_POINTS * STEP / step))
    t, way = np.linspace(0.0, 1.0, n)[:, None], point[1] - point[0]
    a = leaving * length
    b = arriving * length if np.isfinite(arriving).all() else 2.0 * way - a
    # Cubic Hermite interpolation; with this b it is the parabola.
    square, cube = 3.0 * way - 2.0 * a - b, a + b - 2.0 * way
    place = point[0] + t * (a + t * (square + t * cube))
    speed = np.linalg.norm(a + t * (2.0 * square + 3.0 * t * cube), axis=1) / length
    return Way(np.minimum(time[0] + t[:, 0] * length, time[1]), place, speed, np.full(n, touched, dtype=np.intp))


def contacts_of(opened: OpenBay, result: RunResult) -> Callable[[Index], ContactList]:
    """Every contact of the shots that are asked for; `shot` in the list counts as the run does. For plugins."""

    def contacts(shots: Index) -> ContactList:
        flown = replay(opened, result, shots)
        return replace(flown.contacts, shot=flown.shots[flown.contacts.shot])

    return contacts


def replay(opened: OpenBay, result: RunResult, shots: Index, to_rest: bool = False) -> Replay:
    """Fly these shots of the run once more, each once.

    to_rest: until they lie still, and then without the people, who stop no ball: their flag is not asked for.
    """
    shots = np.unique(np.asarray(shots, dtype=np.intp))
    table, log = result.shots.take(shots), ContactLog()
    launches = table.launches()
    flyer = Flyer.of(opened, result.seed)
    if to_rest:
        nobody = replace(opened.bay, zones=())
        flyer = replace(flyer, around=replace(flyer.around, bay=nobody))
    _, fates = flyer.follow(table, to_rest, log)
    physics = opened.physics
    return Replay(shots, launches.start, launches.velocity, log.sorted(), fates, physics.ball.radius, physics.gravity)
