"""How far two convex shapes go into one another."""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.shapes import Shape

Array = NDArray[np.float64]
_TINY = 1.0e-9


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
    if not (a and b):
        return 0.0
    (edges_a, normals_a), (edges_b, normals_b) = _directions(a), _directions(b)
    crosses = [np.cross(p, q) for p, q in product(edges_a, edges_b)]
    axes = np.array([*normals_a, *normals_b, *crosses, *(np.cross(n, e) for n, e in product(normals_a, edges_a)),
                     *(np.cross(n, e) for n, e in product(normals_b, edges_b))])  # fmt: skip
    length = np.linalg.norm(axes, axis=1)
    axes = axes[length > _TINY] / length[length > _TINY, None]
    along_a, along_b = np.concatenate(a) @ axes.T, np.concatenate(b) @ axes.T
    depth = np.minimum(along_a.max(axis=0) - along_b.min(axis=0), along_b.max(axis=0) - along_a.min(axis=0))
    return max(0.0, float(depth.min()))


def _directions(outlines: list[Array]) -> tuple[list[Array], list[Array]]:
    """The different edge directions and face normals, each `(3,)` of length 1."""
    edges = [side for outline in outlines for side in np.roll(outline, -1, axis=0) - outline]
    normals = [np.cross(o[1] - o[0], o[2] - o[1]) for o in outlines]
    return _different(edges), _different(normals)


def _different(vectors: list[Array]) -> list[Array]:
    kept: list[Array] = []
    for vector in vectors:
        size = np.linalg.norm(vector)
        if size > _TINY and not any(np.linalg.norm(np.cross(vector / size, k)) < 1e-6 for k in kept):
            kept.append(vector / size)
    return kept
