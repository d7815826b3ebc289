"""A shape that is a Python function, made a mesh: once, when the bay is built.

The mesh stands off the surface, where all edges are round, and says so (`TriangleMesh.inset`). One vertex in each cell
of a grid that the surface goes through, moved onto the surface, and a pair of triangles across each edge of the grid
that it crosses: a surface net (Gibson, MICCAI 1998, "Constrained elastic surface nets"). The surface stands off by more
than half a cell's diagonal, so nothing is lost between the grid's points, however thin.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.shapes import Shape
from flightsim.bay.triangles import SMALLEST, TriangleMesh

Array = NDArray[np.float64]
Index = NDArray[np.int64]

OFF = 0.012  # m that the mesh stands off the surface: less than a ball's radius
FINEST, COARSEST = 0.003, 0.012  # m: sizes of a cell; half the diagonal of the coarsest is less than OFF
MOST_CELLS = 120_000  # that the surface goes through
_CORNERS = np.array(list(product((0, 1), repeat=3)))
_AT_ONCE = 100_000  # points that a shape is asked for in one call
_TRIED = np.array([[1, 1, 1], [2, 2, 0], [2, 0, 2], [0, 2, 2], [4, 1, 1], [1, 4, 1], [1, 1, 4]], dtype=np.float64)


class TooLargeError(ValueError):
    """A shape that a mesh of this many triangles cannot hold."""


@dataclass(frozen=True)
class Meshed:
    """A shape's mesh. larger: m by which it is larger than the shape at most, where it was tried; nowhere smaller."""

    mesh: TriangleMesh
    larger: float


def meshed(shape: Shape) -> Meshed:
    """The mesh of a shape. Raises TooLargeError, and ValueError for one that is nowhere."""
    cell, cells = _cells(shape)
    vertices = _onto(shape, np.asarray((cells + 0.5) * cell, dtype=np.float64), cell)
    triangles = _triangles(shape, cell, cells)
    vertices, triangles = _welded(vertices, triangles)
    low, high = _off_level(shape, vertices, triangles)
    # Where facets cut a round edge they lie too deep by `low`: the whole is taken to be so much larger.
    mesh = TriangleMesh(vertices, triangles, OFF + min(low, 0.0), tuple(shape.outlines()))
    return Meshed(mesh, max(high, 0.0) - min(low, 0.0))


def _cells(shape: Shape) -> tuple[float, Index]:
    """The size of a cell, m, and the cells `(n, 3)` that the standing-off surface goes through, by whole numbers."""
    lower, upper = shape.bounds()
    cell = COARSEST * 2.0 ** max(0, int(np.ceil(np.log2(max(float((upper - lower).max()), COARSEST) / COARSEST))) - 2)
    first, last = (
        np.floor((corner + sign * OFF) / cell).astype(np.int64) for corner, sign in ((lower, -1), (upper, 1))
    )
    cells = np.stack(
        np.meshgrid(*(np.arange(a - 1, b + 2) for a, b in zip(first, last, strict=True)), indexing="ij"), -1
    )
    cells = cells.reshape(-1, 3)
    while True:
        # Only outside is a shape's distance known to be exact.
        away = np.maximum(_distance(shape, (cells + 0.5) * cell), 0.0) - OFF
        cells = cells[np.abs(away) <= 0.5 * np.sqrt(3.0) * cell * (1.0 + 1e-9)]
        if not len(cells):
            raise ValueError("it is nowhere within its bounds")
        if len(cells) > MOST_CELLS and cell > COARSEST * 1.01:
            raise TooLargeError("it is too large for a mesh of cells of 12 mm")
        # Halving a cell makes some four of it.
        if cell <= COARSEST * 1.01 and (4 * len(cells) > MOST_CELLS or cell / 2.0 < FINEST * 0.99):
            if len(cells) > 4 * MOST_CELLS:
                raise TooLargeError("it is too large for a mesh of cells of 12 mm")
            return cell, cells
        cell /= 2.0
        cells = (2 * cells[:, None] + _CORNERS[None]).reshape(-1, 3)


def _distance(shape: Shape, points: Array) -> Array:
    """Distances of points `(n, 3)`."""
    chunks = [points[k : k + _AT_ONCE] for k in range(0, len(points), _AT_ONCE)]
    return np.concatenate([shape.distance(np.ascontiguousarray(chunk.T))[0] for chunk in chunks])


def _onto(shape: Shape, points: Array, cell: float) -> Array:
    """Points `(n, 3)` moved onto the surface that stands off, none by more than its cell."""
    moved = points.copy()
    for _ in range(4):
        for k in range(0, len(points), _AT_ONCE):
            chunk = slice(k, k + _AT_ONCE)
            away, normal = shape.distance(np.ascontiguousarray(moved[chunk].T))
            moved[chunk] -= (normal * (away - OFF)).T
        moved = np.clip(moved, points - 0.75 * cell, points + 0.75 * cell)
    return moved


def _triangles(shape: Shape, cell: float, cells: Index) -> Index:
    """Two triangles of cells across each edge of the grid that the surface crosses, seen from outside."""
    low = cells.min(axis=0) - 1
    size = cells.max(axis=0) - low + 3
    key_of_cells = _keys(cells - low, size)
    order = np.argsort(key_of_cells)
    keys = key_of_cells[order]
    grid = np.unique(_keys((cells[:, None] + _CORNERS[None]).reshape(-1, 3) - low, size))
    points = np.stack(np.unravel_index(grid, tuple(size)), axis=1) + low
    within = _distance(shape, points * cell) < OFF
    found = []
    for axis in range(3):
        step = np.eye(3, dtype=np.int64)
        ahead = _keys(points + step[axis] - low, size)
        next_points = np.minimum(np.searchsorted(grid, ahead), len(grid) - 1)
        crossed = (grid[next_points] == ahead) & (within != within[next_points])
        u, v = step[(axis + 1) % 3], step[(axis + 2) % 3]
        around = points[crossed][:, None] + np.stack([0 * u, -u, -u - v, -v])[None]
        wanted = _keys((around - low).reshape(-1, 3), size).reshape(-1, 4)
        place = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
        there = (keys[place] == wanted).all(axis=1)
        four = order[place][there]
        four = np.where(within[crossed][there][:, None], four, four[:, ::-1])
        found += [four[:, [0, 1, 2]], four[:, [0, 2, 3]]]
    return np.concatenate(found)


def _keys(places: Index, size: Index) -> Index:
    return np.asarray((places[..., 0] * size[1] + places[..., 1]) * size[2] + places[..., 2])


def _welded(vertices: Array, triangles: Index) -> tuple[Array, Index]:
    """The mesh without vertices that nothing uses, and with those that have met made one."""
    _, first, same = np.unique(np.round(vertices, 9), axis=0, return_index=True, return_inverse=True)
    triangles = same.reshape(-1)[triangles]
    apart = (triangles != np.roll(triangles, 1, axis=1)).all(axis=1)
    triangles = triangles[apart]
    a, b, c = vertices[first][triangles].transpose(1, 0, 2)
    triangles = triangles[np.linalg.norm(np.cross(b - a, c - a), axis=1) > SMALLEST]
    used, triangles = np.unique(triangles, return_inverse=True)
    return vertices[first][used], triangles.reshape(-1, 3)


def _off_level(shape: Shape, vertices: Array, triangles: Index) -> tuple[float, float]:
    """How far the triangles lie off the surface at least and at most, m, at seven points of each."""
    weights = _TRIED / _TRIED.sum(axis=1)[:, None]
    low, high = np.inf, -np.inf
    for weight in weights:
        away = _distance(shape, np.einsum("k,mkd->md", weight, vertices[triangles])) - OFF
        low, high = min(low, float(away.min())), max(high, float(away.max()))
    return low, high
