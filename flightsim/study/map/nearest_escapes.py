"""The smallest turn of a normal shot that gets a ball out in its first flight, by each way, shown by flying it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.contacts import Contacts
from flightsim.study.map.direction_cells import _points
from flightsim.study.map.direction_map import DirectionMap
from flightsim.study.map.directions import Aim, angles, apart, unit
from flightsim.study.map.shooting import Meets, Region
from flightsim.study.map.ways_out import NONE, WAYS, Sight, Way

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

CLOSER = np.radians(0.02)  # the shot that is flown beside it, nearer to the normal one
REFINED = np.radians(0.01)  # what an escape is refined to; bisection goes ten times further
FACTORS = (0.7, 1.0, 1.1)  # of the normal ball speed
ELSEWHERE = np.radians(1.5)  # how far another speed's escape is looked for from that of the normal speed
_TRIES, _ROUNDS = 13, 6  # bearings, and turns, a round
_CLOSE = 0.125  # of a degree: between tries of the first round, for another speed
MOST_ROUTES = 20  # looked at, the nearest
_CHUNK = 16_384
_MOST = 4096  # regions that a route's number has room for


@dataclass(frozen=True)
class Turned:
    """A shot turned from the normal one by an angle, flown: what it met first, and whether it got out by that."""

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

    @property
    def route(self) -> tuple[Way, frozenset[str]]:
        """The way, and the guards that it passes."""
        return self.way, frozenset((self.past, self.other))


@dataclass(frozen=True)
class _Tried:
    """Shots flown round the normal one: contacts, regions, whether they get out, and by which way, as WaysOut."""

    contacts: Contacts
    region: Index
    gets_out: Mask
    way: Index
    past: Index
    other: Index

    @property
    def route(self) -> Index:
        """One number `(n,)` for each way and the guards that it passes; NONE where the ball does not get out."""
        low, high = np.minimum(self.past, self.other) + 1, np.maximum(self.past, self.other) + 1
        return np.where(self.way == NONE, NONE, (self.way * _MOST + low) * _MOST + high)


@dataclass
class _Lanes:
    """Searches that go on side by side, `(n,)` each: for a route, at a factor of the speed, round a turn and bearing,
    rad; wide, nearer, farther, rad: how far round; best, NaN where none is found yet.
    """

    route: Index
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

    def on_map(self) -> dict[int, tuple[float, float]]:
        """Turn and bearing, rad, of the point of the map nearest to the normal shot, by each route out."""
        cells, lattice, aim = self.map.cells, self.map.cells.lattice, self.map.aim
        out = self.map.first & np.isin(self.map.shooter.meets[self.map.region], (Meets.UNPROTECTED, Meets.OUT))
        out &= cells.mixed  # the nearest of a way is where it begins
        rows, columns = (a[out] for a in _points(cells.row, cells.column, cells.size, lattice))
        places = np.unique(rows * lattice.shape[1] + columns)
        elevation, azimuth = lattice.elevation(places // lattice.shape[1]), lattice.azimuth(places % lattice.shape[1])
        direction = unit(elevation, azimuth)
        turn = apart(direction, unit(aim.elevation, aim.azimuth)[:, None])
        order = np.argsort(turn, kind="stable")
        nearest: dict[int, tuple[float, float]] = {}
        for begin in range(0, order.size, _CHUNK):
            chunk = order[begin : begin + _CHUNK]
            tried = self.tried(elevation[chunk], azimuth[chunk])
            routes, hits = np.unique(tried.route, return_index=True)
            for route, hit in zip(routes.tolist(), hits, strict=True):
                if route != NONE and route not in nearest:
                    cell = chunk[hit]
                    nearest[route] = float(turn[cell]), float(_bearing_of(aim, direction[:, [cell]])[0])
        return dict(sorted(nearest.items(), key=lambda item: item[1][0])[:MOST_ROUTES])

    def refine(self, lanes: _Lanes, tries: int = _TRIES) -> None:
        """Search every lane for the least turn by its route.

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
            step, any_hit = hit.argmax(axis=1), np.asarray(hit.any(axis=1))
            before = np.take_along_axis(turn, np.maximum(step - 1, 0)[:, None], 1)[:, 0]
            least = self._bisect(lanes, before, np.take_along_axis(turn, step[:, None], 1)[:, 0], bearing)
            least[~any_hit] = np.inf
            best = least.argmin(axis=1)
            rows = np.arange(best.size)
            better = any_hit.any(axis=1) & ~(least[rows, best] > lanes.best)
            lanes.best = np.where(better, least[rows, best], lanes.best)
            lanes.turn = np.where(better, least[rows, best], lanes.turn)
            lanes.bearing = np.where(better, bearing[rows, best], lanes.bearing)
            lanes.wide = lanes.wide / 3.0
            ended = better & (step[rows, best] == 0)  # at the near end of what was tried: look as far again
            lanes.nearer = np.where(ended, lanes.nearer, np.maximum(lanes.nearer / 3.0, 4.0 * REFINED))
            lanes.farther = np.maximum(lanes.farther / 3.0, REFINED)

    def _hits(self, lanes: _Lanes, turn: Array, bearing: Array) -> Mask:
        """Which shots get out by their lane's route; turn and bearing `(lanes, ...)`, rad."""
        shape = (-1, *(1,) * (turn.ndim - 1))
        factor = np.broadcast_to(lanes.factor.reshape(shape), turn.shape).ravel()
        tried = self.tried(*_turned(self.map.aim, turn.ravel(), bearing.ravel()), factor)
        return np.asarray(tried.route.reshape(turn.shape) == lanes.route.reshape(shape))

    def _bisect(self, lanes: _Lanes, low: Array, high: Array, bearing: Array) -> Array:
        """The least turn `(lanes, bearings)`: from `low`, not by the lane's route, to `high`, by it."""
        low, high = low.copy(), high.copy()
        enough = max(REFINED / 10.0, float((high - low).max(initial=0.0)) / 32.0)  # later rounds start from less
        while float((high - low).max(initial=0.0)) > enough:
            middle = (low + high) / 2.0
            out = self._hits(lanes, middle, bearing)
            high, low = np.where(out, middle, high), np.where(out, low, middle)
        return high

    def escape(self, lanes: _Lanes, lane: int) -> Escape:
        """What a lane found: the shot and its neighbour, flown."""
        factor, turn, bearing = (float(a[lane]) for a in (lanes.factor, lanes.best, lanes.bearing))
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
            WAYS[tried.way[0]], factor, both[0], float(elevation[0] - aim.elevation), float(righter), past, other,
            float(tried.contacts.speed_of()[0]), float(tried.contacts.time[0]), tried.contacts.point[:, 0].copy(),
            both[1] if turn > CLOSER else None,
        )  # fmt: skip


def nearest_escapes(found: DirectionMap, factors: tuple[float, ...] = FACTORS) -> tuple[Escape, ...]:
    """The nearest escape by each way past each guard, at each speed, smallest turn first.

    factors: of the map's ball speed, besides 1.
    """
    search = _Search(found, Sight(found))
    on_map = search.on_map()
    fine = found.cells.lattice.step / 2**found.cells.lattice.levels
    usual = _lanes([(route, 1.0, *place) for route, place in on_map.items()], 4.0 * fine)
    search.refine(usual)
    found_there = [(k, search.escape(usual, k)) for k in np.flatnonzero(np.isfinite(usual.best)).tolist()]
    near = _at_edges(found_there)
    others = [
        (int(usual.route[k]), factor, float(usual.best[k]), float(usual.bearing[k]))
        for k, _ in near
        for factor in factors
        if factor != 1.0
    ]
    elsewhere = _lanes(others, ELSEWHERE)
    search.refine(elsewhere, 2 * round(np.degrees(ELSEWHERE) / _CLOSE) + 1)
    far = [search.escape(elsewhere, k) for k in np.flatnonzero(np.isfinite(elsewhere.best)).tolist()]
    both = [*(escape for _, escape in near), *far]
    return tuple(sorted(both, key=lambda escape: (escape.shot.turn, escape.factor)))


def _at_edges(escapes: list[tuple[int, Escape]]) -> list[tuple[int, Escape]]:
    """The escapes at an edge of the protection, and the nearest of each way.

    Where the shot beside it gets out as well, it is no edge: one way only goes over into another there.
    """
    kept, ways = [], set()
    for lane, escape in sorted(escapes, key=lambda pair: pair[1].shot.turn):
        if escape.way not in ways or escape.closer is None or not escape.closer.gets_out:
            kept.append((lane, escape))
        ways.add(escape.way)
    return kept


def _lanes(starts: list[tuple[int, float, float, float]], near: float) -> _Lanes:
    """Lanes that begin at a route, factor, turn and bearing, and look `near`, rad, round it."""
    route = np.array([start[0] for start in starts], dtype=np.intp)
    factor, turn, bearing = np.array([start[1:] for start in starts], dtype=np.float64).reshape(-1, 3).T
    wide = np.minimum(near / np.maximum(np.sin(np.minimum(turn, np.pi / 2.0)), 1e-3), np.pi)
    round_ = np.full(turn.size, near)
    return _Lanes(route, factor, turn, bearing, wide, round_, round_.copy(), np.full(turn.size, np.nan))


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
