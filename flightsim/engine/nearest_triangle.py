"""A mesh of triangles in the pool: a tree of boxes, and the nearest of the triangles that they hold.

The tree is a whole binary one, node k with the nodes 2 k and 2 k + 1 in it, and some triangles in each of its last
nodes, so that a walk over it needs no list of where it has been.
"""

from __future__ import annotations

from collections.abc import Callable
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.triangles import ALIKE, TriangleMesh
from flightsim.engine.compiled import compiled
from flightsim.engine.three import Vector, cross, dot, length, minus, plus, three, times

Array = NDArray[np.float64]
IN_A_LEAF = 4
BOX_SIZE, TRIANGLE_SIZE = 6, 9


_trees: WeakKeyDictionary[TriangleMesh, tuple[Array, int]] = WeakKeyDictionary()


def mesh_numbers(mesh: TriangleMesh, add: Callable[[Array], int]) -> tuple[int, int]:
    """Where the mesh begins in the pool that `add` writes to, and how many last nodes its tree has."""
    if mesh not in _trees:
        _trees[mesh] = _tree(mesh)
    numbers, leaves = _trees[mesh]
    return add(numbers), leaves


def _tree(mesh: TriangleMesh) -> tuple[Array, int]:
    """The numbers of a mesh: the boxes of its nodes, then its triangles; and how many last nodes there are."""
    triangles = mesh.of_three[np.argsort(_along_a_curve(mesh.of_three.mean(axis=1)), kind="stable")]
    leaves = 1 << max(0, int(np.ceil(np.log2(len(triangles) / IN_A_LEAF))))
    short = leaves * IN_A_LEAF - len(triangles)
    padded = np.concatenate([triangles, np.repeat(triangles[-1:], short, axis=0)])
    boxes = np.empty((2 * leaves, BOX_SIZE))
    of_leaves = padded.reshape(leaves, -1, 3)
    boxes[leaves:, :3], boxes[leaves:, 3:] = of_leaves.min(axis=1), of_leaves.max(axis=1)
    first = leaves
    while first > 1:
        pairs = boxes[first : 2 * first].reshape(-1, 2, BOX_SIZE)
        first //= 2
        boxes[first : 2 * first, :3] = pairs[:, :, :3].min(axis=1)
        boxes[first : 2 * first, 3:] = pairs[:, :, 3:].max(axis=1)
    boxes[0, 0] = len(triangles)  # there is no node 0
    return np.concatenate([boxes.ravel(), padded.ravel()]), leaves


def _along_a_curve(points: Array) -> NDArray[np.uint64]:
    """Places of points `(n, 3)` along Morton's curve: what is near along it is near in space."""
    low, size = points.min(axis=0), np.maximum(np.ptp(points, axis=0), 1e-9)
    cells = np.minimum((points - low) / size * 1024.0, 1023.0).astype(np.uint64)
    key = np.zeros(len(points), dtype=np.uint64)
    for bit in range(10):
        for axis in range(3):
            found = (cells[:, axis] >> np.uint64(bit)) & np.uint64(1)
            key |= found << np.uint64(3 * bit + axis)
    return key


@compiled
def nearest_of_mesh(pool: np.ndarray, mesh: int, leaves: int, solid: int, point: Vector) -> tuple[float, Vector]:
    """Distance of a point from the triangles, m, negative inside a solid, and the unit normal."""
    node = 1
    while node < leaves:  # first down to some triangle that is near: it spares most of the rest
        one, other = (
            _from_box(pool, mesh + BOX_SIZE * 2 * node, point),
            _from_box(pool, mesh + BOX_SIZE * (2 * node + 1), point),
        )
        node = 2 * node + (1 if other < one else 0)
    least = np.sqrt(_from_box_far(pool, mesh + BOX_SIZE * node, point)) * (1.0 + ALIKE)
    square, best, there, node = least * least, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 1
    while True:
        if _from_box(pool, mesh + BOX_SIZE * node, point) <= square * (1.0 + ALIKE):
            if node < leaves:
                node *= 2
                continue
            for j in range(in_leaf(pool, mesh, leaves, node)):
                triangle = triangle_at(mesh, leaves, node, j)
                near = nearest_point(pool, triangle, point)
                off = minus(point, near)
                found = dot(off, off)
                if found > square * (1.0 + ALIKE):
                    continue
                # Those that meet at the nearest point all say which side it is, as in `TriangleMesh`.
                if found < square * (1.0 - ALIKE):
                    there, best = (0.0, 0.0, 0.0), off
                square = min(found, square)
                there = plus(there, times(outward(pool, triangle), _angle_at(pool, triangle, near)))
        node = next_node(node)
        if node == 1:
            break
    away = length(best)
    if not away > 1.0e-12:
        return 0.0, times(there, 1.0 / max(length(there), 1.0e-300))
    sign = -1.0 if solid == 1 and dot(there, best) < 0.0 else 1.0
    return away * sign, times(best, sign / away)


@compiled
def in_leaf(pool: np.ndarray, mesh: int, leaves: int, node: int) -> int:
    """How many triangles a last node holds: the last ones may hold fewer than others."""
    return int(min(max(pool[mesh] - IN_A_LEAF * (node - leaves), 0.0), IN_A_LEAF))


@compiled
def _angle_at(pool: np.ndarray, triangle: int, near: Vector) -> float:
    """The angle of a triangle at a point of it: at a corner its own, else half a turn."""
    for k in range(3):
        corner = three(pool, triangle + 3 * k)
        if near[0] == corner[0] and near[1] == corner[1] and near[2] == corner[2]:
            a = minus(three(pool, triangle + 3 * ((k + 1) % 3)), corner)
            b = minus(three(pool, triangle + 3 * ((k + 2) % 3)), corner)
            return np.arctan2(length(cross(a, b)), dot(a, b))
    return np.pi


@compiled
def next_node(node: int) -> int:
    """The node to look at after all of this one; 1 after the last."""
    node += 1
    while node % 2 == 0 and node > 1:
        node //= 2
    return node


@compiled
def triangle_at(mesh: int, leaves: int, node: int, j: int) -> int:
    """Where in the pool a triangle of a last node stands."""
    return mesh + BOX_SIZE * 2 * leaves + TRIANGLE_SIZE * (IN_A_LEAF * (node - leaves) + j)


@compiled
def _from_box(pool: np.ndarray, box: int, point: Vector) -> float:
    """The square of the distance of a point from a box, m2."""
    total = 0.0
    for axis in range(3):
        off = max(pool[box + axis] - point[axis], point[axis] - pool[box + 3 + axis], 0.0)
        total += off * off
    return total


@compiled
def _from_box_far(pool: np.ndarray, box: int, point: Vector) -> float:
    """The square of the distance of a point from the farthest corner of a box, m2."""
    total = 0.0
    for axis in range(3):
        off = max(point[axis] - pool[box + axis], pool[box + 3 + axis] - point[axis])
        total += off * off
    return total


@compiled
def from_box(pool: np.ndarray, mesh: int, node: int, point: Vector) -> Vector:
    """The way to a point from the nearest point of the box of a node, m."""
    box = mesh + BOX_SIZE * node
    low, high = three(pool, box), three(pool, box + 3)
    return (
        point[0] - min(max(point[0], low[0]), high[0]),
        point[1] - min(max(point[1], low[1]), high[1]),
        point[2] - min(max(point[2], low[2]), high[2]),
    )


@compiled
def outward(pool: np.ndarray, triangle: int) -> Vector:
    """The unit normal of a triangle."""
    a = three(pool, triangle)
    square = cross(minus(three(pool, triangle + 3), a), minus(three(pool, triangle + 6), a))
    return times(square, 1.0 / max(length(square), 1.0e-300))


@compiled
def nearest_point(pool: np.ndarray, triangle: int, point: Vector) -> Vector:
    """The point of a triangle nearest to this one, by its corners, sides and face, as in `TriangleMesh`."""
    a, b, c = three(pool, triangle), three(pool, triangle + 3), three(pool, triangle + 6)
    ab, ac = minus(b, a), minus(c, a)
    off = minus(point, a)
    d1, d2 = dot(ab, off), dot(ac, off)
    if d1 <= 0.0 and d2 <= 0.0:
        return a
    off = minus(point, b)
    d3, d4 = dot(ab, off), dot(ac, off)
    if d3 >= 0.0 and d4 <= d3:
        return b
    off = minus(point, c)
    d5, d6 = dot(ab, off), dot(ac, off)
    if d6 >= 0.0 and d5 <= d6:
        return c
    va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
    if vc <= 0.0 and d1 >= 0.0 and d3 <= 0.0:
        return plus(a, times(ab, d1 / (d1 - d3)))
    if vb <= 0.0 and d2 >= 0.0 and d6 <= 0.0:
        return plus(a, times(ac, d2 / (d2 - d6)))
    if va <= 0.0 and d4 - d3 >= 0.0 and d5 - d6 >= 0.0:
        return plus(b, times(minus(c, b), (d4 - d3) / (d4 - d3 + d5 - d6)))
    whole = 1.0 / (va + vb + vc)
    return plus(a, plus(times(ab, vb * whole), times(ac, vc * whole)))
