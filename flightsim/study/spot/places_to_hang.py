"""Where a projector, lamp or sensor can hang: the places of a box that the fewest balls come to, rebounds included."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.overlap import depth_of_overlap
from flightsim.bay.parts import IN_CODE, Bay, Part, PartKind, Role
from flightsim.bay.shapes import Box, block
from flightsim.contact.log import ContactLog
from flightsim.errors import Asked, BadInputError
from flightsim.scenario.reading.display import INCH, Display
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.pooled import pooled_upper
from flightsim.study.run.replay import Replay
from flightsim.study.spot.projector import Light, Picture, Projector, light_from, picture_on
from flightsim.study.spot.sight import Sight, seen_points

Array = NDArray[np.float64]
Index = NDArray[np.intp]

GRID = 0.10  # m between the places that are tried
FINE = 0.02  # m between the points of a ball's way: it cuts a box's corner by half of that at most
CLEAR = 0.02  # m that a box keeps from all parts
UNDER_ROOF = 0.6  # m below the roof that something may hang
SWING = 0.15  # m that it keeps from the club, as swing_room's margin
NAME = "the box"
APART = (0.8, 0.4, 0.25)  # m between the places that are told, in plan: spread out, and closer only where it must be
BESIDE = 0.5  # m past a screen's edges that are behind it still: balls go round an edge (judgement)
BEFORE_CLOTH = 0.10  # m that it keeps in front of a screen, which swings back when it is hit (judgement)
STEP_ASIDE = np.radians(5.0)  # less aside than that is as good as straight: of two such places the higher is first
_MOST_FLOWN = 60  # places that are flown before the search for better spread ones ends


@dataclass(frozen=True)
class Place:
    """One place of the box's middle `(3,)`, m, as flown with the box there.

    hits: balls that touch it, of `shots`; rate: weighted; upper: its bound; from_end_wall, from_left_wall,
    above_floor: to the box's nearest side, left side and underside, m; swing: least room to a club, m, None where
    nothing measures it; air, beside: the least distance to anything else, m, and to what; light: of a projector.
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
    air: float = 0.0
    beside: str = ""
    light: Light | None = None


@dataclass(frozen=True)
class Spots:
    """What was found: the best places, fewest hits first; how many were tried and why others fell out.

    looked_at `(m, 3)`, m, and visits `(m,)`: every middle tried, and the share of all balls whose ways go through the
    box there, without the box flown. behind, out_of_throw: places never tried, for they are behind a screen or in what
    it sinks through, or too near or far for the projector; picture: where it throws; hidden_by: what
    stops the view or the light of how many places, the most first.
    """

    places: tuple[Place, ...]
    looked_at: Array
    visits: Array
    tried: int
    in_the_way: int
    in_the_swing: int
    hidden: int
    behind: int = 0
    out_of_throw: int = 0
    picture: Picture | None = None
    hidden_by: tuple[tuple[str, int], ...] = ()


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


@dataclass
class _Search:
    """Places in order, least hit first, and what was found out of each."""

    opened: OpenBay
    box: Box3
    flyer: Flyer
    table: ShotTable
    weight: Array
    places: Array
    order: Index
    sight: Sight
    confidence: float
    picture: Picture | None
    known: dict[int, Place | str] = field(default_factory=dict)

    def found(self, best: int) -> list[Place]:
        """The best places, spread out as far as there are enough."""
        spread_out: list[Place] = []
        for apart in APART:
            for rank, middle in enumerate(self.places[self.order]):
                if len(spread_out) == best:
                    return spread_out
                near = any(np.abs(middle[:2] - other.middle[:2]).max() < apart for other in spread_out)
                if not near and isinstance(place := self.place_of(rank), Place):
                    spread_out.append(place)
        return spread_out

    def place_of(self, rank: int) -> Place | str:
        """The place, or why it is none: hidden, parts, swing."""
        if rank not in self.known:
            if sum(isinstance(seen, Place) for seen in self.known.values()) >= _MOST_FLOWN:
                return "enough"
            self.known[rank] = self._looked_at(rank)
        return self.known[rank]

    def _looked_at(self, rank: int) -> Place | str:
        middle = self.places[self.order[rank]]
        if not self.sight.clear(rank):
            return "hidden"
        if _in_the_way(self.opened, middle, self.box):
            return "parts"
        if self.picture is not None and not self.sight.clear_to(rank, self.picture.close_points):
            return "hidden"
        swing = _swing(self.opened, middle, self.box)
        return "swing" if swing is not None and swing < SWING else _flown(self, middle, swing)

    def fell(self, why: str) -> int:
        """How many fell out for this."""
        return sum(seen == why for seen in self.known.values() if isinstance(seen, str))

    def hidden_by(self) -> tuple[tuple[str, int], ...]:
        """What stops the view of how many places, the most first."""
        hidden = (rank for rank, seen in self.known.items() if isinstance(seen, str) and seen == "hidden")
        counts = Counter(name for rank in hidden for name in self.sight.stopped_by(rank))
        return tuple(sorted(counts.items(), key=lambda one: (-one[1], one[0])))


def find_spots(
    opened: OpenBay, box: Box3, shots: int = 4000, seed: int = 1, under_roof: float = UNDER_ROOF,
    see: Sequence[str] = (), best: int = 5, confidence: float = 0.95, projector: Projector | None = None,
) -> Spots:  # fmt: skip
    """The least-hit places for a box under the roof, in front of every screen.

    see: what must be in clear view of the box's middle: parts or things by name, or "ball"; projector: its light must
    reach all of its picture from the middle of the box's face. Raises BadInputError for a box that fits nowhere, a
    thing to see that is not there, or a picture that does not fit.
    """
    if not opened.plan.sampled:
        raise BadInputError("spot needs sampled shots: a grid says nothing of how often a ball comes")
    targets = seen_points(opened, see)
    picture = (
        None
        if projector is None
        else picture_on(opened.bay, projector, next(iter(see), ""), Display(opened.scenario.units))
    )
    places, behind, out_of_throw = _allowed(opened, box, under_roof, projector, picture)
    flyer = Flyer.of(opened, seed)
    n = max(shots, len(opened.plan.types))
    table = flyer.draw(0, n)
    weight = opened.plan.weights(n)
    visits = _visits(flyer, table, weight, places, box)
    lens = np.array([box.half[0], 0.0, 0.0])
    if picture is not None:
        targets = [*targets, *picture.rim]
    # Of places hit alike: straight before a picture and high, the nearest to what must be seen, else the highest.
    away = np.linalg.norm(places - np.mean(targets, axis=0), axis=1) if targets else -places[:, 2]
    if picture is not None:
        away = np.round(np.abs(places[:, 1] - picture.middle[1]) / GRID) - 1e-3 * places[:, 2]
    order = np.lexsort((away, visits))
    sight = Sight(opened, places[order] + (lens if picture is not None else 0.0), targets)
    search = _Search(opened, box, flyer, table, weight, places, order, sight, confidence, picture)
    found = search.found(best)
    found.sort(key=lambda place: (place.hits, place.rate, _off_axis(place), -place.above_floor))
    return Spots(
        tuple(found), places, visits, len(places), search.fell("parts"), search.fell("swing"), search.fell("hidden"),
        behind, out_of_throw, picture, search.hidden_by(),
    )  # fmt: skip


def _off_axis(place: Place) -> float:
    """How far a projector's picture is aside of straight ahead, in steps of STEP_ASIDE; nought for what is none."""
    return 0.0 if place.light is None else round(abs(place.light.aside) / STEP_ASIDE)


def _allowed(
    opened: OpenBay, box: Box3, under_roof: float, projector: Projector | None, picture: Picture | None
) -> tuple[Array, int, int]:
    """Middles `(m, 3)` that may be tried; how many more are behind a screen, and too near or far for the projector."""
    places = _grid(opened, box, under_roof)
    if not len(places):
        raise BadInputError("the box fits nowhere under the roof\n  try: a smaller box, or ", Asked("under_roof", "1m"))
    behind = behind_screens(opened.bay, places, box)
    throw = np.zeros(len(places), dtype=bool)
    if projector is not None and picture is not None:
        away = picture.middle[0] - (places[:, 0] + box.half[0])
        throw = (away < projector.nearest) | (away > projector.farthest)
    kept = places[~behind & ~throw]
    if not len(kept):
        why = "lies within the projector's throw" if (~behind).any() else "is in front of the screen"
        words = f"no place under the roof {why}\n  try: a longer throw, or "
        raise BadInputError(words, Asked("under_roof", "1m"))
    return kept, int(behind.sum()), int((throw & ~behind).sum())


def behind_screens(bay: Bay, places: Array, box: Box3) -> NDArray[np.bool_]:
    """Middles `(m, 3)` where the box reaches behind a screen, which sinks when it is hit, or stands close before it."""
    found = np.zeros(len(places), dtype=bool)
    for part in bay.guards_of(PartKind.SCREEN):
        low, high = part.shape.bounds()
        across = np.abs(places[:, 1] - (low[1] + high[1]) / 2.0) < (high[1] - low[1]) / 2.0 + box.half[1] + BESIDE
        found |= across & (places[:, 0] + box.half[0] > low[0] - BEFORE_CLOTH)
    return found


def _grid(opened: OpenBay, box: Box3, under_roof: float) -> Array:
    """Middles `(m, 3)` of the box in all places that lie in the room, not lower under the roof than asked, at whole
    centimetres or inches from the walls and the slab.
    """
    bay, half, scenario = opened.bay, box.half, opened.scenario
    mark = INCH if scenario.units == "imperial" else 0.01
    step = round(GRID / mark) * mark
    low, high = bay.lower + half + CLEAR, bay.upper - half - CLEAR
    if (low > high).any():
        return np.empty((0, 3))
    # Of the box's nearest and left side, from end wall and left wall: what a tape reads, in whole steps.
    tee = np.array([scenario.tee.from_end_wall, scenario.tee.from_left_wall])
    near, far = tee - high[:2] - half[:2], tee - low[:2] - half[:2]
    axes = [np.arange(ceil(a / step - 1e-9), floor(b / step + 1e-9) + 1) * step for a, b in zip(near, far, strict=True)]
    s, t = (grid.ravel() for grid in np.meshgrid(*axes, indexing="ij"))
    x, y = tee[0] - s - half[0], tee[1] - t - half[1]
    roof = scenario.room.roof_shape()
    corners = [(tee[0] - x + ds * half[0], tee[1] - y + dt * half[1]) for ds in (-1, 1) for dt in (-1, 1)]
    top = np.min([roof.height(a, b) for a, b in corners], axis=0) - CLEAR
    levels = []
    for drop in np.arange(0.0, under_roof + 1e-9, step):
        z = np.floor((top - drop - box.height) / mark + 1e-9) * mark + half[2]
        above_slab = z > low[2]
        levels.append(np.column_stack([x[above_slab], y[above_slab], z[above_slab]]))
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
            rows = self.order[self.starts[k] : self.starts[k + 1]]
            z = high[point[column == k], 2]
            hit[rows] |= (np.abs(self.places[rows, 2][:, None] - z[None, :]) <= self.reach[2]).any(axis=1)
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


def _free_air(opened: OpenBay, middle: Array, box: Box3) -> tuple[float, str]:
    """The least distance from the box's corners, edges and faces to any part, m, and what that is."""
    signs = np.array([[i, j, k] for i in (-1, 0, 1) for j in (-1, 0, 1) for k in (-1, 0, 1)], dtype=float)
    points = (middle + signs * box.half).T
    found = ((float(part.shape.distance(points)[0].min()), part.label) for part in opened.bay.parts)
    return min(found, default=(0.0, ""))


def _with_box(opened: OpenBay, middle: Array, box: Box3) -> OpenBay:
    parts = tuple(sorted((*opened.bay.parts, _box_part(middle, box)), key=lambda p: p.name))
    return replace(opened, bay=replace(opened.bay, parts=parts))


def _swing(opened: OpenBay, middle: Array, box: Box3) -> float | None:
    """The least room between the box and a swung club, m; None where nothing measures it."""
    bay = _with_box(opened, middle, box).bay
    measures = opened.plugins.measures(opened.scenario, bay, opened.physics.ball, opened.facings)
    ends = [value for name, value in measures.items() if name.endswith(f".{NAME.replace(' ', '_')}")]
    return min(ends, default=None)


def _flown(search: _Search, middle: Array, swing: float | None) -> Place:
    """The shots flown with the box there."""
    opened, box, table = search.opened, search.box, search.table
    there = _with_box(opened, middle, box)
    parts = there.bay.parts
    log = ContactLog()
    Flyer.of(there, search.flyer.seed).follow(table, log=log)
    contacts = log.sorted()
    index = next(k for k, p in enumerate(parts) if p.name == NAME)
    hits = np.zeros(len(table), dtype=bool)
    hits[contacts.shot[contacts.part == index]] = True
    share = np.array([kind.share for kind in opened.plan.types])
    upper = pooled_upper(hits, table.type, share, 1.0 - search.confidence)
    lens, light = middle + np.array([box.half[0], 0.0, 0.0]), None
    if search.picture is not None:
        light = light_from(lens, search.picture, opened.bay.zones)
    scenario, (x, y, z) = opened.scenario, middle
    return Place(
        middle, int(hits.sum()), len(table), float(search.weight[hits].sum()), upper,
        scenario.tee.from_end_wall - x - box.half[0], scenario.tee.from_left_wall - y - box.half[1], z - box.half[2],
        swing, *_free_air(opened, middle, box), light,
    )  # fmt: skip
