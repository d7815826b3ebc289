"""The nodes, springs and cords of a cloth's lattice at rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isinf, sqrt
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
    """Cells across and up, from the spacing of the mesh, m; sides are rounded to whole cells, at least two."""
    return max(2, round(cloth.width / spacing)), max(2, round(cloth.height / spacing))


def make_mesh(cloth: Cloth, spacing: float, mirrors: Sequence[bool] = (False, False)) -> Mesh:
    """The lattice of a cloth. mirrors: across, up; a mirror on that middle line leaves the far half of the cloth away.

    A mirror needs a node on the middle line: an odd number of cells is made even.
    """
    counts = cell_counts(cloth, spacing)
    counts = (counts[0] + (mirrors[0] and counts[0] % 2), counts[1] + (mirrors[1] and counts[1] % 2))
    columns, rows = (count // 2 if mirror else count for count, mirror in zip(counts, mirrors, strict=True))
    sides = tuple(side for side in SIDES if not mirrors[side in ("foot", "top")] or side in ("left", "foot"))
    place = np.zeros((3, rows + 1, columns + 1, 1))
    place[:2, ..., 0] = np.meshgrid(np.arange(columns + 1) * spacing, np.arange(rows + 1) * spacing)
    # Nodes at a rim or on a mirror stand for half the cloth that inner nodes stand for, and so do the springs there.
    mass = np.full((rows + 1, columns + 1, 1), cloth.moving_mass * spacing**2)
    for side in SIDES:
        mass[rim(side)] *= 0.5
    return Mesh(
        place,
        mass,
        _free(cloth, place, sides, mirrors),
        sheet_springs(cloth, spacing),
        ()
        if isinf(cloth.cord_stiffness)
        else tuple(_cords(cloth, spacing, side, counts, mirrors) for side in sides if side in cloth.corded),
        sides,
        highest_rate(cloth, spacing),
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


def sheet_springs(cloth: Cloth, h: float) -> tuple[Springs, ...]:
    """Warp and weft springs of Et h / rest length, and diagonals of .5 g Et with g = (G/E)/.3 [cloth-lattice]."""
    whole, not_last, not_first = slice(None), slice(None, -1), slice(1, None)
    rest = h / (1.0 + cloth.pretension / cloth.stiffness)
    yarn = cloth.stiffness * h / rest
    families = (
        Springs((whole, not_last), (whole, not_first), rest, yarn, halved=(rim("foot"), rim("top"))),
        Springs((not_last, whole), (not_first, whole), rest, yarn, halved=(rim("left"), rim("right"))),
    )
    if cloth.shear_ratio == 0.0:
        return families
    long, stiff, weak = sqrt(2.0) * h, _diagonal(cloth), COMPRESSED_DIAGONAL * _diagonal(cloth)
    return (
        *families,
        Springs((not_last, not_last), (not_first, not_first), long, stiff, weak),
        Springs((not_last, not_first), (not_first, not_last), long, stiff, weak),
    )


def _diagonal(cloth: Cloth) -> float:
    """Stiffness of a diagonal, N/m."""
    return 0.5 * cloth.shear_ratio / SHEAR_OF_DIAGONALS * cloth.stiffness


def highest_rate(cloth: Cloth, h: float) -> float:
    """A bound on the natural rates, rad/s: yarns and diagonals of a node all pulling one way (Gershgorin)."""
    springs = 4.0 * (cloth.stiffness + cloth.pretension) + 4.0 * _diagonal(cloth)
    return sqrt(2.0 * springs / (cloth.moving_mass * h**2))


def cord_nodes(cells: int, length: float, spacing: float) -> Places:
    """Node numbers of the cords along an edge, m: half a spacing from each corner, the same from both ends."""
    count = max(2, round(length / spacing))
    first = np.floor((np.arange(count) + 0.5) * cells / count + 0.5).astype(np.intp)
    return np.where(np.arange(count) < count / 2, first, cells - first[::-1])


def _cords(cloth: Cloth, h: float, side: str, counts: tuple[int, int], mirrors: Sequence[bool]) -> Cords:
    """Cords of one side. Those that share a node are one; one on a mirror counts half."""
    upright = side in ("left", "right")
    cells, mirror = counts[upright], mirrors[upright]
    along, count = np.unique(cord_nodes(cells, cells * h, cloth.cord_spacing), return_counts=True)
    stiffness = cloth.cord_stiffness * count.astype(np.float64)
    if mirror:
        stiffness = np.where(2 * along == cells, 0.5 * stiffness, stiffness)
        along, stiffness = along[2 * along <= cells], stiffness[2 * along <= cells]
    across = counts[not upright]
    end = across if side in ("right", "top") else 0
    reach = cloth.cord_length + cloth.pretension * cloth.cord_spacing / cloth.cord_stiffness
    out = end * h + (reach if end else -reach)
    ends, level = np.full(along.size, end), np.zeros(along.size)
    anchors = np.stack([level + out, along * h, level] if upright else [along * h, level + out, level])[..., None]
    rows, columns = (along, ends) if upright else (ends, along)
    return Cords(rows, columns, anchors, cloth.cord_length, stiffness[:, None])
