"""The smallest turn of a normal shot that gets a ball out in its first flight, by each way, shown by flying it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.first import Contacts
from flightsim.study.direction_cells import _points
from flightsim.study.direction_map import DirectionMap
from flightsim.study.directions import Aim, angles, apart, unit
from flightsim.study.shooting import Meets, Region
from flightsim.study.ways_out import NONE, WAYS, Sight, Way

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

CLOSER = np.radians(0.02)  # the shot that is flown beside it, nearer to the normal one
REFINED = np.radians(0.01)  # what an escape is refined to; bisection goes ten times further
FACTORS = (0.7, 1.0, 1.1)  # of the normal ball speed
ELSEWHERE = np.radians(2.0)  # how far another speed's escape is looked for from that of the normal speed
_TRIES, _ROUNDS = 13, 6  # bearings, and turns, a round
_CLOSE = 0.25  # of a degree: between tries of the first round, for another speed
_CHUNK = 4096


@dataclass(frozen=True)
class Turned:
    """A shot turned from the normal one by an angle, flown: what it met first, and whether it got out in that flight."""

    turn: float
    elevation: float
    azimuth: float
    region: Region
    gets_out: bool
    way: Way | None


@dataclass(frozen=True)
class Escape:
    """The nearest escape by one way at one speed.

    turn rad: between the two launch directions; higher, righter rad: its elevation and azimuth less the normal ones;
    past, other: names of the guards that it passes; speed m/s, time s, point `(3,)` m: as it meets what it meets.
    closer: the shot 0.02 deg nearer to the normal one, None where there is none.
    """

    way: Way
    factor: float
    shot: Turned
    higher: float
    righter: float
    past: str
    other: str
    speed: float
    time: float
    point: Array
    closer: Turned | None


@dataclass(frozen=True)
class _Tried:
    """Shots flown round the normal one: contacts, regions, whether they get out, and by which way, as WaysOut."""

    contacts: Contacts
    region: Index
    gets_out: Mask
    way: Index
    past: Index
    other: Index


@dataclass
class _Lanes:
    """Searches that go on side by side, `(n,)` each: for a way, index into WAYS, at a factor of the speed, round a turn
    and bearing, rad; wide, nearer, farther, rad: how far round; best, NaN where none is found yet.
    """

    way: Index
    factor: Array
    turn: Array
    bearing: Array
    wide: Array
    nearer: Array
    farther: Array
    best: Array


@dataclass(frozen=True)
class _Search:
    """The search for escapes on one map."""

    map: DirectionMap
    sight: Sight

    def tried(self, elevation: Array, azimuth: Array, factor: Array | float = 1.0) -> _Tried:
        """Fly these."""
        shooter = self.map.shooter
        contacts = shooter.first(elevation, azimuth, factor)
        region = shooter.region_of(contacts)
        gets_out = shooter.at_once(contacts) & np.isin(shooter.meets[region], (Meets.UNPROTECTED, Meets.OUT))
        ways = self.sight.ways_out(elevation, azimuth, contacts, gets_out)
        return _Tried(contacts, region, gets_out, ways.way, ways.past, ways.other)

    def on_map(self) -> dict[Way, tuple[float, float]]:
        """Turn and bearing, rad, of the point of the map nearest to the normal shot, by each way out."""
        cells, lattice, aim = self.map.cells, self.map.cells.lattice, self.map.aim
        out = self.map.first & np.isin(self.map.shooter.meets[self.map.region], (Meets.UNPROTECTED, Meets.OUT))
        rows, columns = (a[out] for a in _points(cells.row, cells.column, cells.size, lattice))
        places = np.unique(rows * lattice.shape[1] + columns)
        elevation, azimuth = lattice.elevation(places // lattice.shape[1]), lattice.azimuth(places % lattice.shape[1])
        direction = unit(elevation, azimuth)
        turn = apart(direction, unit(aim.elevation, aim.azimuth)[:, None])
        order = np.argsort(turn, kind="stable")
        nearest: dict[Way, tuple[float, float]] = {}
        for begin in range(0, order.size, _CHUNK):
            some = order[begin : begin + _CHUNK]
            tried = self.tried(elevation[some], azimuth[some])
            for k, way in enumerate(WAYS):
                hits = np.flatnonzero(tried.way == k)
                if hits.size and way not in nearest:
                    at = some[hits[0]]
                    nearest[way] = float(turn[at]), float(_bearing_of(aim, direction[:, [at]])[0])
        return nearest

    def refine(self, lanes: _Lanes, tries: int = _TRIES) -> None:
        """Search every lane for the least turn by its way.

        On a fan of bearings the turns are tried in steps, then bisected; the best bearing is the middle of a narrower
        fan, and so on. tries: bearings, and turns, of the first round.
        """
        for k in range(_ROUNDS):
            count = _TRIES if k else tries
            fan, steps = np.linspace(-1.0, 1.0, count), np.linspace(0.0, 1.0, count)[:, None]
            bearing = lanes.bearing[:, None] + lanes.wide[:, None] * fan
            low, high = np.maximum(lanes.turn - lanes.nearer, 0.0), np.minimum(lanes.turn + lanes.farther, np.pi)
            turn = low[:, None, None] + (high - low)[:, None, None] * steps
            turn, spread = np.broadcast_arrays(turn, bearing[:, None, :])
            hit = self._hits(lanes, turn, spread)
            at = hit.argmax(axis=1)
            some = hit.any(axis=1)
            before = np.take_along_axis(turn, np.maximum(at - 1, 0)[:, None], 1)[:, 0]
            least = self._bisect(lanes, before, np.take_along_axis(turn, at[:, None], 1)[:, 0], bearing)
            least[~some] = np.inf
            best = least.argmin(axis=1)
            rows = np.arange(best.size)
            better = some.any(axis=1) & ~(least[rows, best] > lanes.best)
            lanes.best = np.where(better, least[rows, best], lanes.best)
            lanes.turn = np.where(better, least[rows, best], lanes.turn)
            lanes.bearing = np.where(better, bearing[rows, best], lanes.bearing)
            lanes.wide = lanes.wide / 3.0
            lanes.nearer = np.maximum(lanes.nearer / 3.0, 8.0 * REFINED)
            lanes.farther = np.maximum(lanes.farther / 3.0, REFINED)

    def _hits(self, lanes: _Lanes, turn: Array, bearing: Array) -> Mask:
        """Which shots get out by their lane's way; turn and bearing `(lanes, ...)`, rad."""
        shape = (-1, *(1,) * (turn.ndim - 1))
        factor = np.broadcast_to(lanes.factor.reshape(shape), turn.shape).ravel()
        tried = self.tried(*_turned(self.map.aim, turn.ravel(), bearing.ravel()), factor)
        return np.asarray(tried.way.reshape(turn.shape) == lanes.way.reshape(shape))

    def _bisect(self, lanes: _Lanes, low: Array, high: Array, bearing: Array) -> Array:
        """The least turn `(lanes, bearings)`: from `low`, not by the lane's way, to `high`, by it."""
        low, high = low.copy(), high.copy()
        while float((high - low).max(initial=0.0)) > REFINED / 10.0:
            middle = (low + high) / 2.0
            out = self._hits(lanes, middle, bearing)
            high, low = np.where(out, middle, high), np.where(out, low, middle)
        return high

    def escape(self, way: Way, factor: float, turn: float, bearing: float) -> Escape:
        """The shot and its neighbour, flown."""
        aim, shooter = self.map.aim, self.map.shooter
        turns = np.array([turn, max(turn - CLOSER, 0.0)])
        elevation, azimuth = _turned(aim, turns, np.full(2, bearing))
        tried = self.tried(elevation, azimuth, factor)
        both = [
            Turned(
                float(turns[k]), float(elevation[k]), float(azimuth[k]), shooter.regions[tried.region[k]],
                bool(tried.gets_out[k]), None if tried.way[k] == NONE else WAYS[tried.way[k]],
            )
            for k in range(2)
        ]  # fmt: skip
        past, other = ("" if k == NONE else shooter.regions[k].name for k in (tried.past[0], tried.other[0]))
        righter = (azimuth[0] - aim.azimuth + np.pi) % (2.0 * np.pi) - np.pi
        return Escape(
            way, factor, both[0], float(elevation[0] - aim.elevation), float(righter), past, other,
            float(tried.contacts.speed_of()[0]), float(tried.contacts.time[0]), tried.contacts.point[:, 0].copy(),
            both[1] if turn > CLOSER else None,
        )  # fmt: skip


def nearest_escapes(found: DirectionMap, factors: tuple[float, ...] = FACTORS) -> tuple[Escape, ...]:
    """The nearest escape by each way and speed, smallest turn first. factors: of the map's ball speed."""
    search = _Search(found, Sight(found))
    on_map = search.on_map()
    fine = found.cells.lattice.step / 2**found.cells.lattice.levels
    usual = _lanes([(way, 1.0, *place) for way, place in on_map.items()], 4.0 * fine)
    search.refine(usual)
    others = [
        (WAYS[way], factor, turn, bearing)
        for way, turn, bearing in zip(usual.way, usual.best, usual.bearing, strict=True)
        for factor in factors
        if factor != 1.0 and np.isfinite(turn)
    ]
    elsewhere = _lanes(others, ELSEWHERE)
    search.refine(elsewhere, 2 * round(np.degrees(ELSEWHERE) / _CLOSE) + 1)
    kept = [usual, elsewhere] if 1.0 in factors else [elsewhere]
    escapes = [
        search.escape(WAYS[lanes.way[k]], float(lanes.factor[k]), float(lanes.best[k]), float(lanes.bearing[k]))
        for lanes in kept
        for k in np.flatnonzero(np.isfinite(lanes.best))
    ]
    return tuple(sorted(escapes, key=lambda escape: (escape.shot.turn, escape.factor)))


def _lanes(starts: list[tuple[Way, float, float, float]], near: float) -> _Lanes:
    """Lanes that begin at a way, factor, turn and bearing, and look `near`, rad, round it."""
    way = np.array([WAYS.index(start[0]) for start in starts], dtype=np.intp)
    factor, turn, bearing = np.array([start[1:] for start in starts], dtype=np.float64).reshape(-1, 3).T
    wide = np.minimum(near / np.maximum(np.sin(np.minimum(turn, np.pi / 2.0)), 1e-3), np.pi)
    round_ = np.full(turn.size, near)
    return _Lanes(way, factor, turn, bearing, wide, round_, round_.copy(), np.full(turn.size, np.nan))


def _frame(aim: Aim) -> Array:
    """Rows: the normal launch direction, its up, its right."""
    along = unit(aim.elevation, aim.azimuth)
    right = np.array([-np.sin(aim.azimuth), -np.cos(aim.azimuth), 0.0])
    return np.stack([along, np.cross(right, along), right])


def _turned(aim: Aim, turn: Array, bearing: Array) -> tuple[Array, Array]:
    """Elevation and azimuth of shots turned from the normal one by `turn` toward `bearing` (0 up, + right), rad."""
    along, up, right = _frame(aim)[:, :, None]
    return angles(np.cos(turn) * along + np.sin(turn) * (np.cos(bearing) * up + np.sin(bearing) * right))


def _bearing_of(aim: Aim, direction: Array) -> Array:
    _, up, right = _frame(aim) @ direction
    return np.asarray(np.arctan2(right, up))
