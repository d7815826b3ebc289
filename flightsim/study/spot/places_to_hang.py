"""Where a projector, lamp or sensor can hang: the places of a box that the fewest balls come to, rebounds included."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.overlap import depth_of_overlap
from flightsim.bay.parts import IN_CODE, Bay, Part, Role
from flightsim.bay.shapes import Box, block
from flightsim.contact.log import ContactLog
from flightsim.engine.follow_any import first_contacts
from flightsim.errors import BadInputError
from flightsim.flight.air import Air
from flightsim.flight.ball import Ball
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.pooled import pooled_upper
from flightsim.study.run.replay import Replay

Array = NDArray[np.float64]
Index = NDArray[np.intp]

GRID = 0.10  # m between the places that are tried
FINE = 0.02  # m between the points of a ball's way: it cuts a box's corner by half of that at most
CLEAR = 0.02  # m that a box keeps from all parts
UNDER_ROOF = 0.6  # m below the roof that something may hang
SWING = 0.15  # m that it keeps from the club, as swing_room's margin
NAME = "the box"
APART = 0.25  # m between the places that are told, along any side
_LOOKED_AT = 512  # places whose view is looked at together
# A look is a small ball that flies straight, one second to what it looks at.
_SIGHT = Physics(Ball("a look", 1.0, 2.0e-4, 0.4, "no ball"), Air(0.0, 1.8e-5), gravity=0.0, spin_decay=0.0)
_NEARLY_THERE = 0.99  # s


@dataclass(frozen=True)
class Place:
    """One place of the box's middle `(3,)`, m, as flown with the box there.

    hits: balls that touch it, of `shots`; rate: weighted; upper: its bound; from_end_wall, from_left_wall,
    above_floor: to the box's nearest side, left side and underside, m; swing: least room to a club, m, None where
    nothing measures it.
    """

    middle: Array
    hits: int
    shots: int
    rate: float
    upper: float
    from_end_wall: float
    from_left_wall: float
    above_floor: float
    swing: float | None


@dataclass(frozen=True)
class Spots:
    """What was found: the best places, fewest hits first; how many were tried and why others fell out.

    looked_at `(m, 3)`, m, and visits `(m,)`: every middle tried, and the share of all balls whose ways go through the
    box there, without the box flown.
    """

    places: tuple[Place, ...]
    looked_at: Array
    visits: Array
    tried: int
    in_the_way: int
    in_the_swing: int
    hidden: int


@dataclass(frozen=True)
class Box3:
    """A box: along the room, across it, and upward, m."""

    length: float
    width: float
    height: float

    @property
    def half(self) -> Array:
        """Half sizes `(3,)`, m."""
        return np.array([self.length, self.width, self.height]) / 2.0


def find_spots(
    opened: OpenBay, box: Box3, shots: int = 4000, seed: int = 1, under_roof: float = UNDER_ROOF,
    see: Sequence[str] = (), best: int = 5, confidence: float = 0.95,
) -> Spots:  # fmt: skip
    """The least-hit places for a box under the roof.

    see: what must be in clear view of the box's middle: names of parts, or "ball". Raises BadInputError for a box that
    fits nowhere, or a thing to see that is not there.
    """
    if not opened.plan.sampled:
        raise BadInputError("spot needs sampled shots: a grid says nothing of how often a ball comes")
    places = _grid(opened, box, under_roof)
    if not len(places):
        raise BadInputError("the box fits nowhere under the roof\n  try: a smaller box, or --under-roof 1m")
    flyer = Flyer.of(opened, seed)
    n = max(shots, len(opened.plan.types))
    table = flyer.draw(0, n)
    weight = opened.plan.weights(n)
    visits = _visits(flyer, table, weight, places, box)
    targets = _targets(opened, see)
    # Of places hit alike, the nearest to what must be seen, else the highest.
    away = np.linalg.norm(places - np.mean(targets, axis=0), axis=1) if targets else -places[:, 2]
    order = np.lexsort((away, visits))
    sight = _Sight(opened, places[order], targets)
    found: list[Place] = []
    fell = {"parts": 0, "swing": 0, "hidden": 0}
    for rank, middle in enumerate(places[order]):
        if any(np.abs(middle - other.middle).max() < APART for other in found):
            continue
        why = "hidden" if not sight.clear(rank) else "parts" if _in_the_way(opened, middle, box) else ""
        if not why:
            place = _flown(opened, middle, box, table, weight, seed, confidence)
            why = "swing" if place.swing is not None and place.swing < SWING else ""
            if not why:
                found.append(place)
        if why:
            fell[why] += 1
        if len(found) == best:
            break
    found.sort(key=lambda place: (place.hits, place.rate, -place.above_floor))
    return Spots(tuple(found), places, visits, len(places), fell["parts"], fell["swing"], fell["hidden"])


def _targets(opened: OpenBay, see: Sequence[str]) -> list[Array]:
    """Points `(3,)` that must be seen: the corners of a part, drawn in a little, and its middle; the ball."""
    found = []
    for name in see:
        if name == "ball":
            spots = [(x, y) for _, _, x, y in opened.plan.spots]
            found += [np.array([x, y, opened.scenario.ground_height + opened.physics.ball.radius]) for x, y in spots]
            continue
        part = next((part for part in opened.bay.parts if part.name == name), None)
        if part is None:
            known = ", ".join(part.name for part in opened.bay.parts)
            raise BadInputError(f"--see {name}: there is no such part\n  allowed: ball, {known}\n  try: --see screen")
        corners = np.concatenate(part.shape.outlines())
        middle = corners.mean(axis=0)
        found += [middle, *(middle + 0.95 * (corner - middle) for corner in corners)]
    return found


def _grid(opened: OpenBay, box: Box3, under_roof: float) -> Array:
    """Middles `(m, 3)` of the box in all places that lie in the room, not lower under the roof than asked."""
    bay, half, scenario = opened.bay, box.half, opened.scenario
    low, high = bay.lower + half + CLEAR, bay.upper - half - CLEAR
    if (low > high).any():
        return np.empty((0, 3))
    axes = [np.arange(a, b + 1e-9, GRID) for a, b in zip(low[:2], high[:2], strict=True)]
    x, y = (grid.ravel() for grid in np.meshgrid(*axes, indexing="ij"))
    roof = scenario.room.roof_shape()
    s, t = scenario.tee.from_end_wall - x, scenario.tee.from_left_wall - y
    corners = [(s + ds * half[0], t + dt * half[1]) for ds in (-1, 1) for dt in (-1, 1)]
    top = np.min([roof.height(a, b) for a, b in corners], axis=0) - CLEAR
    levels = []
    for drop in np.arange(0.0, under_roof + 1e-9, GRID):
        z = top - drop - half[2]
        some = z > low[2]
        levels.append(np.column_stack([x[some], y[some], z[some]]))
    return np.concatenate(levels)


def _visits(flyer: Flyer, table: ShotTable, weight: Array, places: Array, box: Box3) -> Array:
    """Share of all balls `(m,)` whose ways go through the box at each place, grown by the ball and half a step."""
    log, launches, physics = ContactLog(), table.launches(), flyer.physics
    _, fates = flyer.follow(table, log=log)
    ways = Replay(
        np.arange(len(table)), launches.start, launches.velocity, log.sorted(), fates, physics.ball.radius,
        physics.gravity,
    )  # fmt: skip
    reach = box.half + physics.ball.radius + FINE / 2.0
    found = np.zeros(len(places))
    cells = _Cells(places, reach)
    for k in range(len(table)):
        found[cells.holding(_dense(ways.way(k).point))] += weight[k]
    return found


class _Cells:
    """Places sorted so that those whose box holds any of some points are found quickly."""

    def __init__(self, places: Array, reach: Array) -> None:
        self.places, self.reach = places, reach
        self.columns, self.of_column = np.unique(places[:, :2], axis=0, return_inverse=True)
        self.of_column = self.of_column.ravel()
        self.order = np.argsort(self.of_column, kind="stable")
        self.starts = np.searchsorted(self.of_column[self.order], np.arange(len(self.columns) + 1))

    def holding(self, points: Array) -> Index:
        """Places `(k,)` whose grown box holds any of the points `(p, 3)`."""
        high = points[points[:, 2] > self.places[:, 2].min() - self.reach[2]]
        if not len(high):
            return np.empty(0, dtype=np.intp)
        apart = np.abs(self.columns[:, None, :] - high[None, :, :2]) <= self.reach[:2]
        column, point = np.nonzero(apart.all(axis=2))
        hit = np.zeros(len(self.places), dtype=bool)
        for k in np.unique(column):
            mine = self.order[self.starts[k] : self.starts[k + 1]]
            z = high[point[column == k], 2]
            hit[mine] |= (np.abs(self.places[mine, 2][:, None] - z[None, :]) <= self.reach[2]).any(axis=1)
        return np.flatnonzero(hit)


def _dense(points: Array) -> Array:
    """The way with points no further apart than FINE."""
    steps = np.diff(points, axis=0)
    length = np.sqrt((steps * steps).sum(axis=1))
    if not length.size:
        return points
    count = np.maximum(np.ceil(length / FINE).astype(np.intp), 1)
    piece = np.repeat(np.arange(count.size), count)
    within = np.arange(piece.size) - np.repeat(np.cumsum(count) - count, count)
    return np.vstack([points[piece] + steps[piece] * (within / count[piece])[:, None], points[-1:]])


def _box_part(middle: Array, box: Box3) -> Part:
    return Part(NAME, block(middle - box.half, middle + box.half), Role.UNPROTECTED, "plastic", IN_CODE, "", True)


def _in_the_way(opened: OpenBay, middle: Array, box: Box3) -> bool:
    """Whether the box, with a little room around it, goes into a part."""
    grown = Box(middle, np.eye(3), box.half + CLEAR)
    return any(depth_of_overlap(grown, part.shape) > 0.0 for part in opened.bay.parts)


class _Sight:
    """From which places `(m, 3)` straight lines reach all targets, but for the last hundredth; looked at as asked."""

    def __init__(self, opened: OpenBay, places: Array, targets: Sequence[Array]) -> None:
        bay = opened.bay
        self.bay = Bay(bay.parts, (), bay.lower - 1.0, bay.upper + 1.0)
        self.tests = opened.plugins.touch_tests(self.bay)
        self.places, self.targets = places, np.array(targets).reshape(-1, 3)
        self.known = np.empty(0, dtype=bool)

    def clear(self, rank: int) -> bool:
        """Whether this place sees them all."""
        if not len(self.targets):
            return True
        while rank >= self.known.size:
            some = self.places[self.known.size : self.known.size + _LOOKED_AT]
            self.known = np.concatenate([self.known, self._all_clear(some)])
        return bool(self.known[rank])

    def _all_clear(self, places: Array) -> NDArray[np.bool_]:
        start = np.repeat(places, len(self.targets), axis=0).T
        way = np.tile(self.targets, (len(places), 1)).T - start
        met = first_contacts(_SIGHT, Launches(start, way, np.zeros_like(way)), self.bay, self.tests)
        clear = ~met.failed & ~(met.time <= _NEARLY_THERE)
        return np.asarray(clear.reshape(len(places), -1).all(axis=1))


def _flown(
    opened: OpenBay, middle: Array, box: Box3, table: ShotTable, weight: Array, seed: int, confidence: float
) -> Place:
    """The shots flown with the box there."""
    part = _box_part(middle, box)
    parts = tuple(sorted((*opened.bay.parts, part), key=lambda p: p.name))
    bay = replace(opened.bay, parts=parts)
    there = replace(opened, bay=bay)
    log = ContactLog()
    Flyer.of(there, seed).follow(table, log=log)
    contacts = log.sorted()
    index = next(k for k, p in enumerate(parts) if p.name == NAME)
    hits = np.zeros(len(table), dtype=bool)
    hits[contacts.shot[contacts.part == index]] = True
    share = np.array([kind.share for kind in opened.plan.types])
    upper = pooled_upper(hits, table.type, share, 1.0 - confidence)
    measures = opened.plugins.measures(opened.scenario, bay, opened.physics.ball, opened.facings)
    swing = measures.get(f"swing_room.{NAME.replace(' ', '_')}")
    scenario, (x, y, z) = opened.scenario, middle
    return Place(
        middle, int(hits.sum()), len(table), float(weight[hits].sum()), upper,
        scenario.tee.from_end_wall - x - box.half[0], scenario.tee.from_left_wall - y - box.half[1], z - box.half[2],
        swing,
    )  # fmt: skip
