"""The map of one club: over every launch direction, what stops the ball first, and whether it gets out in the end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Flag
from flightsim.study.map.direction_cells import POINTS, DirectionCells, Lattice, _points, cut_cells
from flightsim.study.map.directions import Aim
from flightsim.study.map.envelope import envelope, inside
from flightsim.study.map.shooting import Meets, Region, Shooter

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Share:
    """Part of all directions, 0..1: as found, and what cells that are not of one kind could make of it."""

    found: float
    least: float
    most: float

    def over(self, whole: float) -> Share:
        """As part of something whose share is `whole`."""
        return Share(*(min(part / whole, 1.0) for part in (self.found, self.least, self.most)))


@dataclass(frozen=True)
class RegionShare:
    """A region with its share of all directions, and of those within the envelope, and what of it gets out.

    first: gets out in its first flight, without a rebound; open: with rebounds; reach: of the envelope.
    """

    region: Region
    share: Share
    first: Share
    open: Share
    reach: Share
    reach_open: Share


@dataclass(frozen=True)
class DirectionMap:
    """A club's map at one speed.

    region `(POINTS, n)`: index into shooter.regions at the points of cells; first, open `(POINTS, n)`: whether a ball
    gets out in its first flight; with rebounds; doubt `(n,)`: cells whose neighbours of one region came to other ends;
    reach `(n,)`: cells within the envelope; flags: share of directions by flag; followed: balls followed to their end.
    """

    aim: Aim
    factor: float
    shooter: Shooter
    cells: DirectionCells
    region: Index
    first: Mask
    open: Mask
    doubt: Mask
    reach: Mask
    coarse: Mask
    flags: dict[str, float]
    flown: int
    followed: int

    def share(self, has: Mask, within: Mask | None = None) -> Share:
        """Share of the sphere where something holds by the cells' points."""
        return Share(*self.cells.share_of(has, within))

    def share_open(self, within: Mask | None = None, of: Mask | None = None) -> Share:
        """Share that gets out, rebounds included. A cell in doubt counts not at all in the least, whole in the most."""
        of = np.ones_like(self.open) if of is None else of
        found, _, _ = self.cells.share_of(self.open & of, within)
        _, least, _ = self.cells.share_of(self.open & of & ~self.doubt, within)
        _, _, most = self.cells.share_of((self.open | self.doubt) & of, within)
        return Share(found, least, most)

    @property
    def reached(self) -> float:
        """Share of the sphere within the envelope."""
        return float(self.cells.share[self.reach].sum())

    def by_region(self) -> list[RegionShare]:
        """The shares of all regions that are met, largest first."""
        rows = []
        for k, region in enumerate(self.shooter.regions):
            here = self.region == k
            if not here.any():
                continue
            rows.append(
                RegionShare(
                    region, self.share(here), self.share(here & self.first), self.share_open(None, here),
                    self.share(here, self.reach), self.share_open(self.reach, here),
                )
            )  # fmt: skip
        return sorted(rows, key=lambda row: -row.share.found)


def direction_map(shooter: Shooter, aim: Aim, factor: float, lattice: Lattice) -> DirectionMap:
    """Look in every direction: the first flight on cells that are cut where what is met changes, then the rebounds.

    Balls that do no harm at their first contact are followed to their ends: one for each four coarsest cells and thing
    met, within the envelope one for each quarter of such a cell.
    """
    coarse = envelope(aim, lattice)
    flown = 0

    def look(elevation: Array, azimuth: Array) -> Index:
        nonlocal flown
        flown += elevation.size
        contacts = shooter.first(elevation, azimuth)
        return np.asarray(2 * shooter.region_of(contacts) + shooter.at_once(contacts))

    cells = cut_cells(lattice, look, coarse)
    region, first = np.divmod(cells.code, 2)
    first = first.astype(bool)
    reach = inside(cells, coarse)
    groups, speakers = _groups(cells, cells.code, reach)
    rows, columns = _points(cells.row, cells.column, cells.size, lattice)
    followed_on = np.flatnonzero(~first.ravel()[speakers])
    followed = speakers[followed_on]
    _, fates = shooter.follow(lattice.elevation(rows.ravel()[followed]), lattice.azimuth(columns.ravel()[followed]))
    ends = np.zeros(speakers.size, dtype=bool)
    ends[followed_on] = fates.escaped
    open_ = first | ends[groups]
    doubt = _doubt(cells, region[0], open_[0]) & ~first.all(axis=0)
    flags = _flag_shares(
        cells, first, shooter.meets[region].astype(np.intp), groups, followed_on, fates.flags, speakers.size
    )
    return DirectionMap(
        aim, factor, shooter, cells, region, first, open_, doubt, reach, coarse, flags, flown, followed_on.size
    )


def _groups(cells: DirectionCells, code: Index, reach: Mask) -> tuple[Index, Index]:
    """The group `(POINTS, n)` of each point, and the point, as an index into (POINTS * n), that stands for each group.

    A group is what is met in four coarsest cells, or within the envelope in a quarter of one. Middles of large cells
    stand before all others.
    """
    units = cells.lattice.units
    fine = units // 2 if cells.lattice.levels else units
    side = np.where(reach, fine, 2 * units)
    wide = cells.lattice.shape[1]
    cell = (cells.row // side * side) * wide + cells.column // side * side
    name = (cell * 2 + reach) * (int(code.max()) + 1) + code
    rank = np.broadcast_to(-cells.size, code.shape) * POINTS + np.arange(POINTS)[:, None]
    order = np.argsort(rank.ravel(), kind="stable")
    _, first_of_group, back = np.unique(name.ravel()[order], return_index=True, return_inverse=True)
    group = np.empty(name.size, dtype=np.intp)
    group[order] = back.ravel()
    return group.reshape(code.shape), order[first_of_group]


def _doubt(cells: DirectionCells, region: Index, open_: Mask) -> Mask:
    """Cells `(n,)` beside one that meets the same thing first and comes to another end."""
    lattice = cells.lattice
    unit = max(1, lattice.units // 2)
    tall, wide = (lattice.shape[0] - 1) // unit, lattice.shape[1] // unit
    raster = np.full((tall, wide), -1, dtype=np.intp)
    code = region * 2 + open_
    span = np.maximum(cells.size // unit, 1)
    order = np.argsort(cells.size)
    for k in (1, 2):
        of_size = order[span[order] == k]
        for i in range(k):
            for j in range(k):
                raster[cells.row[of_size] // unit + i, cells.column[of_size] // unit + j] = code[of_size]
    doubt = np.zeros(raster.shape, dtype=bool)
    for axis, shift in ((0, 1), (0, -1), (1, 1), (1, -1)):
        other = np.roll(raster, shift, axis=axis)
        differs = (other != raster) & (other // 2 == raster // 2)
        if axis == 0:
            differs[0 if shift == 1 else -1] = False
        doubt |= differs
    found = np.zeros(len(cells), dtype=bool)
    for i in range(int(span.max())):
        for j in range(int(span.max())):
            inside_ = (i < span) & (j < span)
            found |= (
                inside_
                & doubt[np.minimum(cells.row // unit + i, tall - 1), np.minimum(cells.column // unit + j, wide - 1)]
            )
    return found


def _flag_shares(
    cells: DirectionCells, first: Mask, meets: Index, groups: Index, followed_on: Index, flags: Mask, count: int
) -> dict[str, float]:
    """Share of directions by flag: one ball may carry several."""
    shares = {}
    for flag in Flag:
        of_group = np.zeros(count, dtype=bool)
        of_group[followed_on] = flags[flag]
        at_once = {
            Flag.HIT_UNPROTECTED: meets == Meets.UNPROTECTED,
            Flag.GOT_OUT: meets == Meets.OUT,
            Flag.UNRESOLVED: meets == Meets.UNKNOWN,
        }.get(flag, np.zeros_like(first))
        shares[flag.key] = cells.share_of(of_group[groups] | (first & at_once))[0]
    return shares
