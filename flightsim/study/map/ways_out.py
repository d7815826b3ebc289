"""By which way a ball gets past the protection in its first flight, as the player sees it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Role
from flightsim.contact.contacts import Contacts
from flightsim.study.map.direction_map import DirectionMap
from flightsim.study.map.shooting import Meets

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

NARROW_DEG = 10.0  # with protection nearer than this on both sides, a ball goes through a gap: judgement
FAR_DEG = 45.0  # protection farther off than this tells no way: judgement
DOWNWARD = -0.7  # of a face's normal: a face that looks down is ceiling, or hangs from it
BACK_DEG = 135.0  # from the target line: behind the player


class Way(StrEnum):
    """The way past the protection, told by where the nearest protection is from there, as seen from the ball.

    over: the nearest is below; left: it is to the right; right: it is to the left; under: it is above, and none below;
    gap: there is some within 10 deg on both sides, left and right or above and below; ceiling: to the ceiling, or what
    hangs from it, where no guard is straight below; back: more than 135 deg off the target line.
    """

    OVER = "over"
    LEFT = "left"
    RIGHT = "right"
    CEILING = "ceiling"
    UNDER = "under"
    GAP = "gap"
    BACK = "back"


WAYS = tuple(Way)
NONE = -1
_BESIDE = ((0, 1), (0, -1), (1, 0), (-1, 0))
# Of a guard to the left, right, below and above: the way that passes it.
_PASSING = np.array([WAYS.index(way) for way in (Way.RIGHT, Way.LEFT, Way.OVER, Way.UNDER)])


@dataclass(frozen=True)
class WaysOut:
    """way `(n,)`: index into WAYS, NONE where the ball does not get out in its first flight; past, other `(n,)`: index
    into shooter.regions of the guard that is nearest, and of the second one of a gap, else NONE.
    """

    way: Index
    past: Index
    other: Index


class Sight:
    """Where the nearest guard is from each direction of a map: to the left, right, below and above."""

    def __init__(self, found: DirectionMap) -> None:
        lattice = found.cells.lattice
        self.bay, self.lattice = found.shooter.around.bay, lattice
        region = paint(found, found.region[0]).astype(np.intp)
        self.cell = np.pi / region.shape[0]
        self.region = region
        # A cell that a guard fills in part only is none: balls that just get past look at it from there.
        guard = paint(found, (found.shooter.meets[found.region] == Meets.GUARD).all(axis=0)).astype(bool)
        tall, wide = guard.shape
        level = np.cos(lattice.elevation(np.arange(tall) * 2 + 1))[:, None]  # of the middles of the finest cells
        thrice = np.tile(guard, (1, 3))
        place = np.arange(wide, 2 * wide)
        before = _last(thrice, 1)[:, wide : 2 * wide]
        after = 3 * wide - 1 - _last(thrice[:, ::-1], 1)[:, ::-1][:, wide : 2 * wide]
        none_before, none_after = before < 0, after > 3 * wide - 1
        below, above = _last(guard, 0), tall - 1 - _last(guard[::-1], 0)[::-1]
        rows, columns = np.arange(tall)[:, None], np.arange(wide)[None, :]
        ways = [
            (np.where(none_before, np.inf, (place - before) * level), (rows, before % wide)),
            (np.where(none_after, np.inf, (after - place) * level), (rows, after % wide)),
            (np.where(below < 0, np.inf, rows - below), (below, columns)),
            (np.where(above > tall - 1, np.inf, above - rows), (np.minimum(above, tall - 1), columns)),
        ]
        far = np.stack([far * self.cell for far, _ in ways])
        which = np.stack([region[cells] for _, cells in ways]).astype(np.int16)
        self.gap = _gaps(far, which, guard)
        far[3][np.isfinite(far[2])] += np.pi  # over what is below, not under what is above
        nearest = far.argmin(axis=0)[None]
        self.nearest, self.far = nearest[0], np.take_along_axis(far, nearest, 0)[0]
        self.past = np.take_along_axis(which, nearest, 0)[0]
        for up, right in _BESIDE:  # a guard's cells at its edge see what the open cell beside them sees
            edge = guard & (self.far == 0.0) & ~np.roll(guard, (up, right), axis=(0, 1))
            for seen in (self.nearest, self.past, self.far):
                seen[edge] = np.roll(seen, (up, right), axis=(0, 1))[edge]

    def ways_out(self, elevation: Array, azimuth: Array, contacts: Contacts, gets_out: Mask) -> WaysOut:
        """The ways of shots in these directions `(n,)`, rad; gets_out `(n,)`: those that do."""
        found = WaysOut(*(np.full(elevation.size, NONE, dtype=np.intp) for _ in range(3)))
        escaping = np.flatnonzero(gets_out & ~contacts.failed)
        if escaping.size == 0:
            return found
        tall, wide = self.region.shape
        row = np.clip(((elevation[escaping] + np.pi / 2.0) / self.cell).astype(np.intp), 0, tall - 1)
        column = ((azimuth[escaping] + np.pi) / self.cell).astype(np.intp) % wide
        way = _PASSING[self.nearest[row, column]]
        past = self.past[row, column].astype(np.intp)
        far = np.where(np.isfinite(self.far[row, column]), self.far[row, column], 3.0)
        # No guard near enough to tell by, or one all round: by the side that it goes to.
        lonely = (far % np.pi > np.radians(FAR_DEG)) | (far == 0.0)
        way[lonely] = np.where(azimuth[escaping] < 0.0, WAYS.index(Way.LEFT), WAYS.index(Way.RIGHT))[lonely]
        past[lonely] = NONE
        overhead = (contacts.normal[2, escaping] < DOWNWARD) & ~self._guard_below(contacts.point[:, escaping])
        way[overhead], past[overhead] = WAYS.index(Way.CEILING), NONE
        sides = self.gap[:, row, column].astype(np.intp)
        gap = sides[0] >= 0
        way[gap], past[gap] = WAYS.index(Way.GAP), sides[0][gap]
        other = np.where(gap, sides[1], NONE)
        back = np.abs(azimuth[escaping]) > np.radians(BACK_DEG)
        way[back], past[back], other[back] = WAYS.index(Way.BACK), NONE, NONE
        found.way[escaping], found.past[escaping], found.other[escaping] = way, past, other
        return found

    def _guard_below(self, point: Array) -> Mask:
        """Whether a guard lies straight below these points `(3, n)`."""
        below = np.zeros(point.shape[1], dtype=bool)
        for part in self.bay.parts:
            if part.role is Role.GUARD:
                low, high = (corner[:, None] for corner in part.shape.bounds())
                below |= ((point >= low) & (point <= high))[:2].all(axis=0) & (point[2] > high[2])
        return below


def _gaps(far: Array, which: NDArray[np.int16], guard: Mask) -> NDArray[np.int16]:
    """The two guards `(2, rows, columns)` on both sides of gaps, -1 elsewhere: regions, the nearer first.

    far, which `(4, rows, columns)`: angle, rad, to the nearest guard to the left, right, below and above; its region.
    """
    sides = np.full((2, *guard.shape), NONE, dtype=np.int16)
    for a, b in ((0, 1), (2, 3)):
        gap = (np.maximum(far[a], far[b]) < np.radians(NARROW_DEG)) & (which[a] != which[b]) & ~guard
        nearer = far[a] <= far[b]
        sides[0] = np.where(gap, np.where(nearer, which[a], which[b]), sides[0])
        sides[1] = np.where(gap, np.where(nearer, which[b], which[a]), sides[1])
    # One cell further: what is seen from beside a narrow gap's cells belongs to it too.
    wider = sides.copy()
    for up, right in _BESIDE:
        beside = np.roll(sides, (up, right), axis=(1, 2))
        wider = np.where(wider[0] < 0, beside, wider)
    return wider


def _last(has: Mask, axis: int) -> Index:
    """Index of the last place up to each one, along an axis, where something is; -1 for none."""
    index = np.arange(has.shape[axis]).reshape((-1, 1) if axis == 0 else (1, -1))
    return np.asarray(np.maximum.accumulate(np.where(has, index, -1), axis=axis))


def paint(found: DirectionMap, value: NDArray[Any]) -> NDArray[Any]:
    """Values `(n,)` of cells on a raster of the finest cells, elevation from -90 deg by azimuth from -180 deg."""
    cells = found.cells
    unit = max(1, cells.lattice.units >> cells.lattice.levels)
    tall, wide = (cells.lattice.shape[0] - 1) // unit, cells.lattice.shape[1] // unit
    raster = np.zeros((tall, wide), dtype=value.dtype)
    span = cells.size // unit
    for k in np.unique(span):
        of_span = np.flatnonzero(span == k)
        row, column = cells.row[of_span] // unit, cells.column[of_span] // unit
        for i in range(int(k)):
            for j in range(int(k)):
                raster[row + i, column + j] = value[of_span]
    return raster
