"""A surface of triangles: for what is no box, sheet, tube or capsule."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

Array = NDArray[np.float64]
Index = NDArray[np.int64]
_TINY = 1.0e-300
SMALLEST = 1.0e-15  # m2: twice the area of a triangle that has a surface
ALIKE = 1.0e-9  # relative: squares of distances that are one, where triangles meet
_AT_ONCE = 200_000  # pairs of a point and a triangle


@dataclass(frozen=True, eq=False)
class TriangleMesh:
    """A surface of flat triangles, or what lies `inset` under them.

    corners `(k, 3)`, m; triangles `(m, 3)` int: three corners each, anticlockwise as seen from outside. inset, m: the
    surface is that far behind the triangles, as a box is that has been cast round. drawn: polygons that draw it; all
    triangles where none are given. A mesh in which each edge is shared by two triangles is a solid; any other is a
    sheet. Raises ValueError for corners that are not there and triangles without a surface.
    """

    corners: Array
    triangles: Index
    inset: float = 0.0
    drawn: tuple[Array, ...] = ()
    convex: bool = field(default=False, init=False)

    def __post_init__(self) -> None:
        corners, triangles = np.asarray(self.corners, dtype=np.float64), np.asarray(self.triangles, dtype=np.int64)
        if corners.ndim != 2 or corners.shape[1] != 3 or triangles.ndim != 2 or triangles.shape[1] != 3:
            raise ValueError("a mesh needs corners (k, 3) and triangles (m, 3)")
        if not np.isfinite(corners).all():
            raise ValueError("a mesh's corners must be finite")
        if not len(triangles) or triangles.min() < 0 or triangles.max() >= len(corners):
            raise ValueError(f"a mesh's triangles must name corners from 0 to {len(corners) - 1}")
        object.__setattr__(self, "corners", corners)
        object.__setattr__(self, "triangles", triangles)
        size = np.linalg.norm(self._across, axis=1)
        if not (size > SMALLEST).all():
            raise ValueError(f"a mesh's triangle {int(size.argmin())} has no surface")

    @cached_property
    def of_three(self) -> Array:
        """The corners of each triangle `(m, 3, 3)`, m."""
        return self.corners[self.triangles]

    @cached_property
    def _across(self) -> Array:
        a, b, c = self.of_three.transpose(1, 0, 2)
        return np.cross(b - a, c - a)

    @cached_property
    def closed(self) -> bool:
        """Whether it is a solid: each edge is shared by two triangles that go along it in opposite directions."""
        ways = np.concatenate([self.triangles[:, (k, (k + 1) % 3)] for k in range(3)])
        there, back = (np.unique(each, axis=0, return_counts=True) for each in (ways, ways[:, ::-1]))
        same = there[0].shape == back[0].shape and bool((there[0] == back[0]).all())
        return same and bool((there[1] == back[1]).all())

    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper corner of the box that holds it."""
        low, high = self.corners.min(axis=0) + self.inset, self.corners.max(axis=0) - self.inset
        middle = (low + high) / 2.0
        return np.minimum(low, middle), np.maximum(high, middle)

    def distance(self, points: Array) -> tuple[Array, Array]:
        """Distance and unit normal, edges and corners included; negative inside a solid."""
        found, normals = np.empty(points.shape[1]), np.empty(points.shape)
        pairs = self._candidates(points)
        first, done = 0, np.cumsum([len(numbers) for numbers in pairs])
        while first < len(pairs):
            last = max(first + 1, int(np.searchsorted(done, (done[first - 1] if first else 0) + _AT_ONCE)))
            chunk = slice(first, last)
            which = np.concatenate([np.full(len(numbers), k) for k, numbers in enumerate(pairs[chunk])]).astype(np.intp)
            triangle = np.concatenate([np.asarray(numbers, dtype=np.intp) for numbers in pairs[chunk]])
            found[chunk], normals[:, chunk] = self._nearest(points[:, chunk].T, which, triangle)
            first = last
        return found + self.inset, normals

    def outlines(self) -> list[Array]:
        """Polygons that draw it."""
        return list(self.drawn) or list(self.of_three)

    @cached_property
    def _middles(self) -> tuple[cKDTree, float]:
        """The triangles' middles, and how far a triangle reaches from its own at most, m."""
        from scipy.spatial import cKDTree  # no start waits for it

        middles = self.of_three.mean(axis=1)
        return cKDTree(middles), float(np.linalg.norm(self.of_three - middles[:, None], axis=2).max())

    def _candidates(self, points: Array) -> list[list[int]]:
        """The triangles that may be nearest to each point."""
        tree, reach = self._middles
        near = tree.query(points.T)[0]
        found: list[list[int]] = list(tree.query_ball_point(points.T, near + reach + 1e-9))
        return found

    def _nearest(self, points: Array, which: Index, triangle: Index) -> tuple[Array, Array]:
        """Distance `(n,)` and normal `(3, n)` of points `(n, 3)` from the nearest of their triangles."""
        near = nearest_on(self.of_three[triangle], points[which])
        off = points[which] - near
        square = (off * off).sum(axis=1)
        least = np.full(len(points), np.inf)
        np.minimum.at(least, which, square)
        # Of the triangles that meet at the nearest point all say which side it is, each by the angle that it has there
        # (Baerentzen and Aanaes 2005, IEEE Transactions on Visualization 11, 243: theorem 1).
        meets = np.flatnonzero(square <= least[which] * (1.0 + ALIKE))
        across = self._across[triangle[meets]]
        across = across / np.linalg.norm(across, axis=1)[:, None]
        there = np.zeros((len(points), 3))
        np.add.at(there, which[meets], across * _angle_at(self.of_three[triangle[meets]], near[meets])[:, None])
        first = meets[np.unique(which[meets], return_index=True)[1]]
        away, out = np.sqrt(square[first]), off[first]
        on = away <= 1e-12
        out = np.where(on[:, None], there, out)
        out = out / np.maximum(np.linalg.norm(out, axis=1), _TINY)[:, None]
        sign = np.where(self.closed & ((there * out).sum(axis=1) < 0.0) & ~on, -1.0, 1.0)
        return away * sign, (out * sign[:, None]).T


def _angle_at(triangles: Array, points: Array) -> Array:
    """The angle `(n,)` of each triangle at a point of it: at a corner its own, else half a turn."""
    angle = np.full(len(points), np.pi)
    for k in range(3):
        corner, ahead, back = (triangles[:, (k + j) % 3] for j in range(3))
        a, b = ahead - corner, back - corner
        own = np.arctan2(np.linalg.norm(np.cross(a, b), axis=1), (a * b).sum(axis=1))
        angle = np.where((points == corner).all(axis=1), own, angle)
    return angle


def nearest_on(triangles: Array, points: Array) -> Array:
    """The point `(n, 3)` of each triangle `(n, 3, 3)` nearest to a point `(n, 3)`.

    By the regions of its corners, sides and face (Ericson, Real-Time Collision Detection, 2005, section 5.1.5).
    """
    a, b, c = triangles.transpose(1, 0, 2)
    ab, ac = b - a, c - a

    def along(way: Array, start: Array) -> Array:
        return np.asarray((way * (points - start)).sum(axis=1))

    d1, d2, d3, d4, d5, d6 = along(ab, a), along(ac, a), along(ab, b), along(ac, b), along(ab, c), along(ac, c)
    va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
    whole = np.maximum(va + vb + vc, _TINY)
    v, w = vb / whole, vc / whole
    for region, at_v, at_w in (
        ((va <= 0.0) & (d4 - d3 >= 0.0) & (d5 - d6 >= 0.0), None, (d4 - d3) / np.maximum(d4 - d3 + d5 - d6, _TINY)),
        ((vb <= 0.0) & (d2 >= 0.0) & (d6 <= 0.0), 0.0, d2 / np.maximum(d2 - d6, _TINY)),
        ((vc <= 0.0) & (d1 >= 0.0) & (d3 <= 0.0), d1 / np.maximum(d1 - d3, _TINY), 0.0),
        ((d6 >= 0.0) & (d5 <= d6), 0.0, 1.0),
        ((d3 >= 0.0) & (d4 <= d3), 1.0, 0.0),
        ((d1 <= 0.0) & (d2 <= 0.0), 0.0, 0.0),
    ):
        w = np.where(region, at_w, w)
        v = np.where(region, 1.0 - w if at_v is None else at_v, v)
    found = np.where((v == 1.0)[:, None], b, np.where((w == 1.0)[:, None], c, a + v[:, None] * ab + w[:, None] * ac))
    return np.asarray(found)
