"""What a club can do at all: the cells of launch directions that its strikes reach, and which are shown closed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.study.map.closed_cells import Closing, Shown
from flightsim.study.map.direction_cells import DirectionCells, Lattice
from flightsim.study.map.directions import Aim, unit

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

WIDER = np.radians(1.0)  # round each drawn launch direction: judgement
FINEST = 256  # parts of a coarsest cell's side: 2.5 deg down to 0.01 deg
BUDGET = 20_000  # cells looked at; those that are left then are undecided


def envelope(aim: Aim, lattice: Lattice) -> Mask:
    """Which coarsest cells `(rows, 2 rows)` the club's strikes reach.

    Those that come within WIDER of any launch drawn of it, measured from the middle to the farthest corner, never less;
    and those that these enclose.
    """
    from scipy.spatial import cKDTree

    rows, columns = np.indices((lattice.rows, 2 * lattice.rows)).reshape(2, -1)
    low, high = (lattice.elevation((rows + k) * lattice.units) for k in (0, 1))
    middle = unit((low + high) / 2.0, lattice.azimuth((2 * columns + 1) * lattice.units // 2))
    widest = np.cos(np.clip(0.0, low, high))  # a cell reaches farthest sideways where it is nearest to level
    reach = lattice.step / 2.0 * np.sqrt(1.0 + widest**2) + WIDER
    chord = 2.0 * np.sin(reach / 2.0)
    nearest, _ = cKDTree(aim.drawn.T).query(middle.T, distance_upper_bound=float(chord.max()))
    return fill((nearest <= chord).reshape(lattice.rows, 2 * lattice.rows))


def fill(reached: Mask) -> Mask:
    """With the holes that are left between drawn launches; all round the back, where the ends of azimuth meet, too."""
    from scipy.ndimage import binary_fill_holes

    wide = reached.shape[1]
    whole = binary_fill_holes(np.tile(reached, (1, 3)))[:, wide : 2 * wide]
    return np.asarray(whole | binary_fill_holes(reached))


def inside(cells: DirectionCells, coarse: Mask) -> Mask:
    """Which cells `(n,)` lie in these coarsest cells."""
    units = cells.lattice.units
    return np.asarray(coarse[cells.row // units, cells.column // units])


@dataclass(frozen=True)
class Closure:
    """What is shown of the directions of an envelope.

    closed, floor, bare, undecided: shares of the sphere: shown to meet a guard first; shown to meet a guard or the
    floor first, and no more; whose middle meets something bare first or leaves; not shown. cells: how many were looked
    at; left: how many are undecided; smallest, rad: their least size; spent: the budget ended it.
    """

    closed: float
    floor: float
    bare: float
    undecided: float
    cells: int
    left: int
    smallest: float
    spent: bool

    @property
    def whole(self) -> bool:
        """Nothing is bare, and nothing undecided."""
        return self.bare == 0.0 and self.left == 0


def close(closing: Closing, lattice: Lattice, coarse: Mask, finest: int = FINEST, budget: int = BUDGET) -> Closure:
    """Show cell by cell that a guard is met first, cutting in four what is not shown.

    finest: parts of a coarsest cell's side at which cutting ends; budget: of cells looked at.
    """
    rows, columns = np.nonzero(coarse)
    low, left = lattice.elevation(rows * lattice.units), lattice.azimuth(columns * lattice.units)
    size, seen, spent = lattice.step, 0, False
    shares = dict.fromkeys(("closed", "floor", "bare", "undecided"), 0.0)
    count = 0
    while low.size:
        area = size * (np.sin(low + size) - np.sin(low)) / (4.0 * np.pi)
        if seen + low.size > budget:
            spent, count = True, low.size
            shares["undecided"] += float(area.sum())
            break
        seen += low.size
        up, side = low + size / 2.0, left + size / 2.0
        first = closing.shooter.first(up, side)
        half = np.full(low.size, size / 2.0)
        shown = closing.shown(up, side, half, half, first)
        bare = (shown == Shown.NOTHING) & closing.shooter.at_once(first)
        last = size <= lattice.step / finest * 1.000001
        coarse_enough = size <= lattice.step / 2**lattice.levels * 1.000001
        bare &= coarse_enough
        again = (shown == Shown.NOTHING) & ~bare & (not last)
        left_over = (shown == Shown.NOTHING) & ~bare & last
        for name, points in (
            ("closed", shown == Shown.CLOSED), ("floor", shown == Shown.FLOOR), ("bare", bare),
            ("undecided", left_over),
        ):  # fmt: skip
            shares[name] += float(area[points].sum())
        count += int(left_over.sum())
        size /= 2.0
        low = (low[again] + size * np.array([[0], [0], [1], [1]])).ravel()
        left = (left[again] + size * np.array([[0], [1], [0], [1]])).ravel()
    return Closure(**shares, cells=seen, left=count, smallest=size if spent else 2.0 * size, spent=spent)
