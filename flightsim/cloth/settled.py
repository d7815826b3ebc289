"""The lattice at rest under a dead load: for pressing a cloth by hand, never for a ball."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.mesh import Mesh

if TYPE_CHECKING:
    from scipy import sparse

Array = NDArray[np.float64]
Places = NDArray[np.intp]

MOST_STEPS = 400
SOFT_FLOOR = 1e-9  # of the stiffest spring: keeps slack nodes solvable


@dataclass(frozen=True)
class _Links:
    """All springs and cords as pairs of nodes `(m,)`; nodes from the lattice's number on are anchors."""

    first: Places
    second: Places
    rest: Array
    stiffness: Array
    in_compression: Array

    def along(self, nodes: Array) -> tuple[Array, Array, Array]:
        """Unit vectors `(m, 3)`, lengths and stiffness in force `(m,)` for nodes `(n, 3)`."""
        between = nodes[self.second] - nodes[self.first]
        length = np.sqrt(np.sum(between**2, axis=1))
        active = np.where(length > self.rest, self.stiffness, self.in_compression)
        return between / length[:, None], length, active


def settle(mesh: Mesh, load: Array, allowed: float = 1e-6) -> Array:
    """Places of the nodes at rest under a dead load, m, from the load on each node, N; both `(3, rows, columns, 1)`.

    Newton's method on the energy, which is convex for springs that only pull. allowed: the force left over, of the
    load's whole. Raises ValueError when it does not settle.
    """
    from scipy.sparse.linalg import spsolve

    links, anchors = _links(mesh)
    free = mesh.free.reshape(3, -1).T.ravel() > 0.0
    nodes = np.vstack([mesh.place.reshape(3, -1).T, anchors])
    loads = load.reshape(3, -1).T
    # Lift the sheet a hair where it may move: flat, a sheet without pretension has no stiffness across.
    nodes[: loads.shape[0], 2] += 1e-3 * mesh.free[2].ravel()
    enough = allowed * np.abs(loads).sum()
    for _ in range(MOST_STEPS):
        force, stiffness = _force_and_stiffness(links, nodes, loads)
        if np.abs(force[free]).max() <= enough:
            return nodes[: loads.shape[0]].T.reshape(mesh.place.shape)
        move = np.zeros(force.size)
        move[free] = spsolve(stiffness[free][:, free].tocsc(), force[free])
        _step_down(links, nodes, loads, move.reshape(-1, 3), float(force @ move))
    raise ValueError("the cloth did not settle under the load: try a smaller one, or more pretension")


def _step_down(links: _Links, nodes: Array, loads: Array, move: Array, slope: float) -> None:
    """Move the nodes, in place, by as much of the move as lowers the energy."""
    start, count, part = _energy(links, nodes, loads), loads.shape[0], 1.0
    before = nodes[:count].copy()
    while part > 1e-9:
        nodes[:count] = before + part * move
        if _energy(links, nodes, loads) <= start - 1e-4 * part * slope:
            return
        part *= 0.5


def _energy(links: _Links, nodes: Array, loads: Array) -> float:
    """Energy of springs, cords and load, J."""
    _, length, active = links.along(nodes)
    held = 0.5 * np.sum(active * (length - links.rest) ** 2)
    return float(held - np.sum(loads * nodes[: loads.shape[0]]))


def _force_and_stiffness(links: _Links, nodes: Array, loads: Array) -> tuple[Array, sparse.csr_matrix]:
    """Force on the nodes, N `(3 n,)`, and the stiffness against moving them `(3 n, 3 n)`, N/m."""
    from scipy import sparse

    count = loads.shape[0]
    unit, length, active = links.along(nodes)
    pull = active * (length - links.rest)
    force = loads.copy()
    inner = links.second < count
    np.add.at(force, links.first, pull[:, None] * unit)
    np.add.at(force, links.second[inner], -(pull[:, None] * unit)[inner])
    outer = unit[:, :, None] * unit[:, None, :]
    across = np.maximum(pull, 0.0) / length
    blocks = active[:, None, None] * outer + across[:, None, None] * (np.eye(3) - outer)
    rows, columns, values = [], [], []
    pairs = ((links.first, links.first, 1.0), (links.second, links.second, 1.0),
             (links.first, links.second, -1.0), (links.second, links.first, -1.0))  # fmt: skip
    for one, other, sign in pairs:
        kept = (one < count) & (other < count)
        row = 3 * one[kept, None, None] + np.arange(3)[None, :, None]
        column = 3 * other[kept, None, None] + np.arange(3)[None, None, :]
        rows.append(np.broadcast_to(row, blocks[kept].shape).ravel())
        columns.append(np.broadcast_to(column, blocks[kept].shape).ravel())
        values.append(sign * blocks[kept].ravel())
    shape = (3 * count, 3 * count)
    table = (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))
    floor = SOFT_FLOOR * float(links.stiffness.max())
    return force.ravel(), sparse.csr_matrix(table, shape=shape) + floor * sparse.eye(3 * count, format="csr")


def _links(mesh: Mesh) -> tuple[_Links, Array]:
    """Springs and cords as pairs of nodes, and the cords' anchors `(k, 3)`, m."""
    number: Places = np.arange(mesh.mass.size).reshape(mesh.mass.shape)
    first: list[Places] = []
    second: list[Places] = []
    rest: list[Array] = []
    stiff: list[Array] = []
    weak: list[Array] = []
    for springs in mesh.springs:
        first.append(springs.of(number).ravel())
        second.append(springs.to(number).ravel())
        share = np.ones(springs.of(number).shape)
        for rows, columns in springs.halved:
            share[rows, columns] *= 0.5
        rest.append(np.full(share.size, springs.rest))
        stiff.append(springs.stiffness * share.ravel())
        weak.append(springs.in_compression * share.ravel())
    anchors, count = [np.zeros((0, 3))], number.size
    for cords in mesh.cords:
        many = cords.rows.size
        first.append(number[cords.rows, cords.columns, 0])
        second.append(count + np.arange(many))
        rest.append(np.full(many, cords.rest))
        stiff.append(cords.stiffness[:, 0])
        weak.append(np.zeros(many))
        anchors.append(cords.anchors[..., 0].T)
        count += many
    pairs = np.concatenate(first), np.concatenate(second)
    return _Links(*pairs, *(np.concatenate(each) for each in (rest, stiff, weak))), np.concatenate(anchors)
