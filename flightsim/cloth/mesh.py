"""The nodes, springs and cords of a cloth's lattice at rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, isinf, sqrt
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.fabric import SIDES, Cloth

Array = NDArray[np.float64]
Places = NDArray[np.intp]
Window = tuple[slice, slice]
Number = TypeVar("Number", bound=np.generic)

SHEAR_OF_DIAGONALS = 0.3  # G/E over g, two diagonals of .5 g Et each, a fifth of that in compression [cloth-lattice]
COMPRESSED_DIAGONAL = 0.2


@dataclass(frozen=True)
class Springs:
    """One family of springs, from each node of a window to the node that lies the same way off.

    rest, m, without load; stiffness and in_compression, N/m; halved: the windows of these springs, along a rim or a
    mirror, that stand for half as much cloth.
    """

    first: Window
    second: Window
    rest: float
    stiffness: float
    in_compression: float = 0.0
    halved: tuple[Window, ...] = ()

    def of(self, nodes: NDArray[Number]) -> NDArray[Number]:
        """View of the nodes `(..., rows, columns, hits)` where the springs begin."""
        return nodes[..., self.first[0], self.first[1], :]

    def to(self, nodes: NDArray[Number]) -> NDArray[Number]:
        """View of the nodes `(..., rows, columns, hits)` where the springs end."""
        return nodes[..., self.second[0], self.second[1], :]

    def stretch(self, place: Array) -> Array:
        """Length beyond the rest length, m `(rows, columns, hits)`."""
        stretched: Array = np.sqrt(np.sum((self.to(place) - self.of(place)) ** 2, axis=0)) - self.rest
        return stretched

    def energy(self, place: Array) -> Array:
        """Energy held, J `(hits,)`."""
        stretch = self.stretch(place)
        held = 0.5 * np.where(stretch > 0.0, self.stiffness, self.in_compression) * stretch**2
        for rows, columns in self.halved:
            held[rows, columns] *= 0.5
        return np.asarray(held.sum(axis=(0, 1)))


@dataclass(frozen=True)
class Cords:
    """Cords of one side, from rim nodes to the frame; they only pull.

    rows, columns `(n,)` of the nodes, none twice; anchors `(3, n, 1)`, m; rest, m; stiffness `(n, 1)`, N/m.
    """

    rows: Places
    columns: Places
    anchors: Array
    rest: float
    stiffness: Array

    def energy(self, place: Array) -> Array:
        """Energy held, J `(hits,)`."""
        length = np.sqrt(np.sum((self.anchors - place[:, self.rows, self.columns]) ** 2, axis=0))
        return np.asarray(0.5 * (self.stiffness * np.maximum(length - self.rest, 0.0) ** 2).sum(axis=0))


@dataclass(frozen=True)
class Mesh:
    """A lattice at rest.

    place `(3, rows, columns, 1)`, m: across, up, and the way the ball goes; mass `(rows, columns, 1)`, kg; free: 1
    where a node may move along that axis, else 0; sides: those that this part of the cloth has; highest_rate, rad/s,
    above every natural rate.
    """

    place: Array
    mass: Array
    free: Array
    springs: tuple[Springs, ...]
    cords: tuple[Cords, ...]
    sides: tuple[str, ...]
    highest_rate: float


def rim(side: str) -> Window:
    """Window of the nodes of a side."""
    whole, end = slice(None), -1 if side in ("right", "top") else 0
    line = slice(end, None) if end else slice(0, 1)
    return (whole, line) if side in ("left", "right") else (line, whole)


def cell_counts(cloth: Cloth, spacing: float) -> tuple[int, int]:
    """Cells across and up: as near to the spacing of the mesh, m, as fills the cloth, and even, so that its middle is a
    node.
    """
    return max(2, 2 * round(0.5 * cloth.width / spacing)), max(2, 2 * round(0.5 * cloth.height / spacing))


def make_mesh(cloth: Cloth, spacing: float, mirrors: Sequence[bool] = (False, False)) -> Mesh:
    """The lattice of a cloth, of cells as near to squares of the spacing, m, as fill it.

    mirrors: across, up; a mirror on that middle line leaves the far half of the cloth away.
    """
    counts = cell_counts(cloth, spacing)
    cell = (cloth.width / counts[0], cloth.height / counts[1])
    columns, rows = (count // 2 if mirror else count for count, mirror in zip(counts, mirrors, strict=True))
    sides = tuple(side for side in SIDES if not mirrors[side in ("foot", "top")] or side in ("left", "foot"))
    place = np.zeros((3, rows + 1, columns + 1, 1))
    place[:2, ..., 0] = np.meshgrid(np.arange(columns + 1) * cell[0], np.arange(rows + 1) * cell[1])
    # Nodes at a rim or on a mirror stand for half the cloth that inner nodes stand for, and so do the springs there.
    mass = np.full((rows + 1, columns + 1, 1), cloth.moving_mass * cell[0] * cell[1])
    for side in SIDES:
        mass[rim(side)] *= 0.5
    return Mesh(
        place,
        mass,
        _free(cloth, place, sides, mirrors),
        sheet_springs(cloth, cell),
        ()
        if isinf(cloth.cord_stiffness)
        else tuple(_cords(cloth, side, counts, mirrors) for side in sides if side in cloth.corded),
        sides,
        highest_rate(cloth, cell),
    )


def _free(cloth: Cloth, place: Array, sides: Sequence[str], mirrors: Sequence[bool]) -> Array:
    """1 where a node may move, 0 along all axes on a rim held fast and along one axis on a mirror."""
    free = np.ones_like(place)
    for axis, side in enumerate(("right", "top")):
        if mirrors[axis]:
            free[axis][rim(side)] = 0.0
    for side in sides:
        if isinf(cloth.cord_stiffness) and side in cloth.corded:
            free[:, *rim(side)] = 0.0
    return free


def sheet_springs(cloth: Cloth, cell: tuple[float, float]) -> tuple[Springs, ...]:
    """Warp and weft springs of Et h / rest length, h the width that a yarn stands for, m, and two diagonals a cell of
    .5 g Et with g = (G/E)/.3 [cloth-lattice]; cell: its sides, m.
    """
    whole, not_last, not_first = slice(None), slice(None, -1), slice(1, None)
    rests = tuple(side / (1.0 + cloth.pretension / cloth.stiffness) for side in cell)
    yarns = (cloth.stiffness * cell[1] / rests[0], cloth.stiffness * cell[0] / rests[1])
    families = (
        Springs((whole, not_last), (whole, not_first), rests[0], yarns[0], halved=(rim("foot"), rim("top"))),
        Springs((not_last, whole), (not_first, whole), rests[1], yarns[1], halved=(rim("left"), rim("right"))),
    )
    if cloth.shear_ratio == 0.0:
        return families
    long = hypot(*cell)
    stiff = _diagonal(cloth, cell)
    weak = COMPRESSED_DIAGONAL * stiff
    return (
        *families,
        Springs((not_last, not_last), (not_first, not_first), long, stiff, weak),
        Springs((not_last, not_first), (not_first, not_last), long, stiff, weak),
    )


def _diagonal(cloth: Cloth, cell: tuple[float, float]) -> float:
    """Stiffness of a diagonal, N/m: .5 g Et of a square cell, and of any the same shear stiffness."""
    square = (cell[0] ** 2 + cell[1] ** 2) / (2.0 * cell[0] * cell[1])
    return 0.5 * cloth.shear_ratio / SHEAR_OF_DIAGONALS * cloth.stiffness * square


def highest_rate(cloth: Cloth, cell: tuple[float, float]) -> float:
    """A bound on the natural rates, rad/s: yarns and diagonals of a node all pulling one way (Gershgorin)."""
    longer = cell[0] / cell[1] + cell[1] / cell[0]  # 2 of a square
    springs = 2.0 * longer * (cloth.stiffness + cloth.pretension) + 4.0 * _diagonal(cloth, cell)
    return sqrt(2.0 * springs / (cloth.moving_mass * cell[0] * cell[1]))


def cord_shares(cells: int, length: float, spacing: float) -> tuple[Places, Array]:
    """The nodes along an edge, m, that cords hold, and how many hold each.

    Cords begin half a spacing from each corner. One between two nodes holds both, the nearer one more: where a cord is
    does not hang on the mesh.
    """
    count = max(2, round(length / spacing))
    places = (np.arange(count) + 0.5) * cells / count  # in cells
    low = np.minimum(np.floor(places + 1e-9).astype(np.intp), cells - 1)
    share = np.clip(places - low, 0.0, 1.0)
    counted = np.bincount(low, 1.0 - share, cells + 1) + np.bincount(low + 1, share, cells + 1)
    held: Array = 0.5 * (counted + counted[::-1]).astype(np.float64)  # the same from both ends, to the last bit
    nodes = np.flatnonzero(held > 1e-6)
    return nodes, held[nodes]


def _cords(cloth: Cloth, side: str, counts: tuple[int, int], mirrors: Sequence[bool]) -> Cords:
    """Cords of one side. Those that share a node are one; what is on a mirror counts half."""
    upright = side in ("left", "right")
    sides = (cloth.width, cloth.height)
    cells, mirror = counts[upright], mirrors[upright]
    along, many = cord_shares(cells, sides[upright], cloth.cord_spacing)
    stiffness = cloth.cord_stiffness * many
    if mirror:
        stiffness = np.where(2 * along == cells, 0.5 * stiffness, stiffness)
        along, stiffness = along[2 * along <= cells], stiffness[2 * along <= cells]
    end = counts[not upright] if side in ("right", "top") else 0
    reach = cloth.cord_length + cloth.pretension * cloth.cord_spacing / cloth.cord_stiffness
    out = sides[not upright] + reach if end else -reach
    ends, level = np.full(along.size, end), np.zeros(along.size)
    places = along * (sides[upright] / cells)
    anchors = np.stack([level + out, places, level] if upright else [places, level + out, level])[..., None]
    rows, columns = (along, ends) if upright else (ends, along)
    return Cords(rows, columns, anchors, cloth.cord_length, stiffness[:, None])
