"""The sphere of launch directions cut into cells of elevation and azimuth, finer where neighbours differ.

All points lie on one lattice of elevations -90..90 deg and azimuths -180..180 deg, so that what was flown once for a
corner is known to all cells that share it. A cell's solid angle is d_azimuth (sin el_2 - sin el_1).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

STEP_DEG = 2.5  # of the coarsest cells: judgement; a tube of 40 mm at 2 m is as wide, with the ball round it
LEVELS = 3  # times a cell may be cut in four: down to 0.31 deg
POINTS = 5  # looked at in a cell: its middle first, then its corners
_SHARE_OF_POINT = np.array([0.5, 0.125, 0.125, 0.125, 0.125])  # of a mixed cell: judgement, its middle stands for half


@dataclass(frozen=True)
class Lattice:
    """Every place at which a direction can be looked at. step: of the coarsest cells, rad; levels: of cutting."""

    step: float
    levels: int

    @property
    def units(self) -> int:
        """Lattice steps along one side of a coarsest cell: even at the last level, so that each cell has a middle."""
        return int(2 ** (self.levels + 1))

    @property
    def rows(self) -> int:
        """Coarsest cells from -90 to 90 deg."""
        return round(np.pi / self.step)

    @property
    def shape(self) -> tuple[int, int]:
        """Places in elevation and azimuth; -180 and 180 deg are one place."""
        return self.rows * self.units + 1, 2 * self.rows * self.units

    def elevation(self, row: Index) -> Array:
        """Rad."""
        return np.asarray(row * (np.pi / (self.shape[0] - 1)) - np.pi / 2.0)

    def azimuth(self, column: Index) -> Array:
        """Rad, + right."""
        return np.asarray(column * (2.0 * np.pi / self.shape[1]) - np.pi)


def make_lattice(step_deg: float = STEP_DEG, levels: int = LEVELS) -> Lattice:
    """A lattice whose coarsest cells fit the sphere a whole number of times."""
    rows = max(2, round(180.0 / step_deg))
    return Lattice(float(np.pi / rows), levels)


@dataclass(frozen=True)
class DirectionCells:
    """Cells that fill the sphere, and what was found at their points.

    row and column `(n,)`: their lower left corner on the lattice; size `(n,)`: lattice steps a side; code
    `(POINTS, n)`: what was found at the middle and the four corners.
    """

    lattice: Lattice
    row: Index
    column: Index
    size: Index
    code: Index

    def __len__(self) -> int:
        return int(self.row.size)

    @property
    def mixed(self) -> Mask:
        """Cells `(n,)` whose points differ: something begins or ends in them."""
        return np.asarray((self.code != self.code[0]).any(axis=0))

    @cached_property
    def middle(self) -> tuple[Array, Array]:
        """Elevation and azimuth of the middles `(n,)`, rad."""
        rows, columns = _points(self.row, self.column, self.size, self.lattice)
        return self.lattice.elevation(rows[0]), self.lattice.azimuth(columns[0])

    @cached_property
    def share(self) -> Array:
        """Solid angle of each cell over that of the sphere `(n,)`; they add to 1."""
        low, high = self.lattice.elevation(self.row), self.lattice.elevation(self.row + self.size)
        wide = self.size / self.lattice.shape[1]
        return np.asarray(wide * (np.sin(high) - np.sin(low)) / 2.0)

    def share_of(self, has: Mask, within: Mask | None = None) -> tuple[float, float, float]:
        """Share of the sphere where something holds, by its points `(POINTS, n)`: as found, at least, at most.

        within `(n,)`: only these cells. A cell whose points differ counts by them; not at all in the least, whole in
        the most.
        """
        area = self.share if within is None else self.share * within
        found = float(_SHARE_OF_POINT @ (has * area).sum(axis=1))
        return found, float(area[has.all(axis=0)].sum()), float(area[has.any(axis=0)].sum())


def _points(row: Index, column: Index, size: Index, lattice: Lattice) -> tuple[Index, Index]:
    """Rows and columns `(POINTS, n)` of middles and corners."""
    half = size // 2
    rows = np.stack([row + half, row, row, row + size, row + size])
    columns = np.stack([column + half, column, column + size, column, column + size])
    return rows, columns % lattice.shape[1]


class Looked:
    """What has been found on a lattice so far, -1 where nobody has looked."""

    def __init__(self, lattice: Lattice, look: Callable[[Array, Array], Index]) -> None:
        self.lattice, self.look = lattice, look
        self.code = np.full(lattice.shape, -1, dtype=np.int32)

    def codes_at(self, rows: Index, columns: Index) -> Index:
        """Codes at these places, `look` being asked for new ones only."""
        new = self.code[rows, columns] < 0
        if new.any():
            places = np.unique(rows[new] * self.lattice.shape[1] + columns[new])
            r, c = np.divmod(places, self.lattice.shape[1])
            self.code[r, c] = self.look(self.lattice.elevation(r), self.lattice.azimuth(c))
        return self.code[rows, columns].astype(np.intp)


def cut_cells(
    lattice: Lattice, look: Callable[[Array, Array], Index], fine: Mask | None = None, least: int = 1
) -> DirectionCells:
    """Cut cells in four wherever their points differ, down to the lattice's last level.

    look: elevations and azimuths `(k,)`, rad, to codes `(k,)` of nought or more. fine `(rows, 2 rows)`: coarsest cells
    that are cut `least` times in any case.
    """
    looked = Looked(lattice, look)
    row, column = (a.ravel() * lattice.units for a in np.indices((lattice.rows, 2 * lattice.rows)))
    forced = np.zeros(row.size, dtype=bool) if fine is None else fine.ravel()
    done: list[tuple[Index, Index, Index, Index]] = []
    for level in range(lattice.levels + 1):
        size = np.full(row.size, lattice.units >> level)
        code = looked.codes_at(*_points(row, column, size, lattice))
        again = (code != code[0]).any(axis=0) | (forced & (level < least))
        if level == lattice.levels:
            again[:] = False
        done.append((row[~again], column[~again], size[~again], code[:, ~again]))
        half = size[again] // 2
        row = (row[again] + np.stack([0 * half, 0 * half, half, half])).ravel()
        column = (column[again] + np.stack([0 * half, half, 0 * half, half])).ravel()
        forced = np.tile(forced[again], 4)
    whole = [np.concatenate(parts, axis=-1) for parts in zip(*done, strict=True)]
    return DirectionCells(lattice, *whole)
