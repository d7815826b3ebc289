"""What springs and cords do to the nodes of a cloth's lattice, compiled: a row of nodes, and all its hits, at once.

Each loop writes one row of numbers, so that the compiler works on several at a time.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.mesh import Cords, Mesh, Springs
from flightsim.engine.compiled import compiled

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

FIRST_ROW, FIRST_COLUMN, SECOND_ROW, SECOND_COLUMN, ROWS, COLUMNS, WEIGHTS = range(7)  # of a family's whole numbers
REST, STIFFNESS, IN_COMPRESSION, OFF = range(4)  # of its others; OFF: from a node to the other at rest, three
ANCHOR, CORD_REST, CORD_STIFFNESS = 0, 3, 4  # of a cord's numbers


class Pulls(NamedTuple):
    """All springs and cords of a lattice, as plain arrays.

    windows `(families, 7)` and numbers `(families, 6)` of the families of springs; weights `(all,)`: what a spring
    stands for, row by row, from each family's WEIGHTS on; ties `(cords, 2)`: their nodes; cords `(cords, 5)`, their
    anchors from where those nodes rest.
    """

    windows: Whole
    numbers: Array
    weights: Array
    ties: Whole
    cords: Array


def pulls_of(mesh: Mesh, kind: Any) -> Pulls:
    """The springs and cords of a mesh, in numbers of a kind."""
    rows, columns = mesh.mass.shape[:2]
    windows, numbers, weights, begins = [], [], [np.zeros(0)], 0
    for springs in mesh.springs:
        weight = _weights(springs, mesh.mass)
        starts = [springs.first[k].indices(size)[0] for k, size in enumerate((rows, columns))]
        ends = [springs.second[k].indices(size)[0] for k, size in enumerate((rows, columns))]
        windows.append([*starts, *ends, *weight.shape, begins])
        off = (springs.to(mesh.place) - springs.of(mesh.place))[:, 0, 0, 0]
        numbers.append([springs.rest, springs.stiffness, springs.in_compression, *off])
        weights.append(weight.ravel())
        begins += weight.size
    ties = [np.column_stack([cords.rows, cords.columns]) for cords in mesh.cords]
    return Pulls(
        np.array(windows, dtype=np.int64).reshape(-1, 7),
        np.array(numbers, dtype=kind).reshape(-1, 6),
        np.concatenate(weights).astype(kind),
        np.concatenate([np.zeros((0, 2)), *ties]).astype(np.int64),
        np.concatenate([np.zeros((0, 5)), *(_numbers(cords, mesh) for cords in mesh.cords)]).astype(kind),
    )


def _weights(springs: Springs, nodes: Array) -> Array:
    """How much cloth each spring stands for `(rows, columns)`: a half along a rim or a mirror."""
    weight = np.ones(springs.of(nodes).shape[:2])
    for rows, columns in springs.halved:
        weight[rows, columns] *= 0.5
    return weight


def _numbers(cords: Cords, mesh: Mesh) -> Array:
    many = cords.rows.size
    anchors = cords.anchors - mesh.place[:, cords.rows, cords.columns]
    return np.column_stack([anchors[..., 0].T, np.full(many, cords.rest), cords.stiffness])


@compiled
def pull_springs(pulls: Pulls, row: int, moved: Array, force: Array, room: Array, hits: int) -> None:
    """Add the force of the springs that begin in a row to that on the nodes, N, which have moved, m; both
    `(3, rows, columns x hits)`.

    They end in that row or a later one. room `(4, columns x hits)`: to work in.
    """
    for family in range(len(pulls.windows)):
        family_row = row - pulls.windows[family, FIRST_ROW]
        if 0 <= family_row < pulls.windows[family, ROWS]:
            _pull_row(pulls, family, family_row, moved, force, room, hits)


@compiled
def pull_cords(pulls: Pulls, moved: Array, force: Array, hits: int) -> None:
    """Add the force of all cords to that on the nodes, N, which have moved, m; both `(3, rows, columns x hits)`."""
    for cord in range(len(pulls.cords)):
        _pull_cord(pulls, cord, moved, force, hits)


@compiled
def _pull_row(pulls: Pulls, family: int, row: int, moved: Array, force: Array, room: Array, hits: int) -> None:
    """One row of a family's springs; they only pull, or are weak in compression."""
    window, number = pulls.windows[family], pulls.numbers[family]
    columns, n = window[COLUMNS], window[COLUMNS] * hits
    first, second = window[FIRST_COLUMN] * hits, window[SECOND_COLUMN] * hits
    first_row, second_row = window[FIRST_ROW] + row, window[SECOND_ROW] + row
    for axis in range(3):
        start, end = moved[axis, first_row, first : first + n], moved[axis, second_row, second : second + n]
        along = room[axis]
        off = number[OFF + axis]
        for j in range(n):
            along[j] = (end[j] - start[j]) + off
    share = room[3]
    # The sheet is flat at rest: off its plane a spring begins with nought, of the kind that all numbers here are.
    nought = number[OFF + 2]
    _shares(room[0], room[1], room[2], share, n, number[REST], number[STIFFNESS], number[IN_COMPRESSION], nought)
    for column in range(columns):
        weight = pulls.weights[window[WEIGHTS] + row * columns + column]
        if weight != 1.0:
            for j in range(column * hits, column * hits + hits):
                share[j] *= weight
    for axis in range(3):
        here, there = force[axis, first_row, first : first + n], force[axis, second_row, second : second + n]
        along = room[axis]
        for j in range(n):
            here[j] += along[j] * share[j]
        for j in range(n):
            there[j] -= along[j] * share[j]


@compiled
def _shares(
    x: Array, y: Array, z: Array, share: Array, n: int, rest: float, stiffness: float, weak: float, nought: float
) -> None:
    """What each spring pulls, N, over its length, m."""
    for j in range(n):
        length = np.sqrt(x[j] * x[j] + y[j] * y[j] + z[j] * z[j])
        stretch = length - rest
        share[j] = (stiffness if stretch > nought else weak) * stretch / length


@compiled
def _pull_cord(pulls: Pulls, cord: int, moved: Array, force: Array, hits: int) -> None:
    row, first = pulls.ties[cord, 0], pulls.ties[cord, 1] * hits
    number = pulls.cords[cord]
    for j in range(first, first + hits):
        x, y = number[ANCHOR] - moved[0, row, j], number[ANCHOR + 1] - moved[1, row, j]
        z = number[ANCHOR + 2] - moved[2, row, j]
        length = np.sqrt(x * x + y * y + z * z)
        if length > number[CORD_REST]:
            share = number[CORD_STIFFNESS] * (length - number[CORD_REST]) / length
            force[0, row, j] += x * share
            force[1, row, j] += y * share
            force[2, row, j] += z * share
