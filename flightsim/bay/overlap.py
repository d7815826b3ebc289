"""How far two convex shapes go into one another."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.shapes import Shape

Array = NDArray[np.float64]
_TINY = 1.0e-9
_ALIKE = 1.0e-12  # the square of the sine between two directions that are one


def depth_of_overlap(first: Shape, second: Shape) -> float:
    """The least distance, m, to move one shape so that the two no longer overlap; nought where they do not.

    By separating axes over the flat faces and edges of the shapes' outlines (Gottschalk, Lin, Manocha 1996,
    SIGGRAPH, theorem 1); round tubes are taken as the prisms that draw them. Shapes without outlines overlap
    nothing.
    """
    low_a, high_a = first.bounds()
    low_b, high_b = second.bounds()
    if (np.minimum(high_a - low_b, high_b - low_a) <= 0.0).any():
        return 0.0
    a, b = first.outlines(), second.outlines()
    return _depth(_Outlines.of(a), _Outlines.of(b)) if a and b else 0.0


@dataclass(frozen=True)
class _Outlines:
    """Outlines of a shape, each `(k, 3)`, as bytes: a bay that is opened again and again asks the same again."""

    corners: tuple[bytes, ...]

    @classmethod
    def of(cls, outlines: list[Array]) -> _Outlines:
        return cls(tuple(np.ascontiguousarray(outline, dtype=np.float64).tobytes() for outline in outlines))

    def arrays(self) -> list[Array]:
        return [np.frombuffer(corners).reshape(-1, 3) for corners in self.corners]


@lru_cache(maxsize=4096)
def _depth(first: _Outlines, second: _Outlines) -> float:
    (edges_a, normals_a), (edges_b, normals_b) = _directions(first), _directions(second)
    axes = np.concatenate([normals_a, normals_b, *(_crossed(*pair) for pair in (
        (edges_a, edges_b), (normals_a, edges_a), (normals_b, edges_b)
    ))])  # fmt: skip
    a, b = first.arrays(), second.arrays()
    length = np.linalg.norm(axes, axis=1)
    axes = axes[length > _TINY] / length[length > _TINY, None]
    along_a, along_b = np.concatenate(a) @ axes.T, np.concatenate(b) @ axes.T
    depth = np.minimum(along_a.max(axis=0) - along_b.min(axis=0), along_b.max(axis=0) - along_a.min(axis=0))
    return max(0.0, float(depth.min()))


@lru_cache(maxsize=1024)
def _directions(shape: _Outlines) -> tuple[Array, Array]:
    """The different edge directions and face normals, each `(k, 3)` of length 1."""
    outlines = shape.arrays()
    edges = [np.roll(outline, -1, axis=0) - outline for outline in outlines]
    normals = [np.cross(o[1] - o[0], o[2] - o[1])[None] for o in outlines]
    return _different(np.concatenate(edges)), _different(np.concatenate(normals))


def _crossed(first: Array, second: Array) -> Array:
    """The cross product `(k m, 3)` of each with each."""
    return np.asarray(np.cross(first[:, None], second[None]).reshape(-1, 3))


def _different(vectors: Array) -> Array:
    """Unit directions `(k, 3)` of these that do not lie along an earlier one."""
    size = np.linalg.norm(vectors, axis=1)
    units = vectors[size > _TINY] / size[size > _TINY, None]
    kept: list[int] = []
    for k, unit in enumerate(units):
        if not (1.0 - (units[kept] @ unit) ** 2 < _ALIKE).any():
            kept.append(k)
    return np.asarray(units[kept])
