"""One step of a cloth's lattice with sixteen hits in it at once, compiled: all that happens at a node in one go.

Each force is the same sum of the same numbers in the same order as in `following.step_nodes`, so that both give the
same bits (`tests/cloth/test_sixteen.py`).
"""

from __future__ import annotations

from typing import Any, NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.mesh import Mesh
from flightsim.cloth.pulling import (
    ANCHOR,
    CORD_REST,
    CORD_STIFFNESS,
    IN_COMPRESSION,
    OFF,
    REST,
    STIFFNESS,
    WEIGHTS,
    Pulls,
    pulls_of,
)
from flightsim.cloth.sixteen import (
    LANES,
    Sixteen,
    all_of,
    chosen,
    one_at,
    put_sixteen,
    root,
    rows_of_sixteen,
    sixteen_at,
    size,
)
from flightsim.engine.compiled import compiled, inlined

Single = NDArray[np.floating[Any]]
Whole = NDArray[np.int64]
Three = tuple[Sixteen, Sixteen, Sixteen]

# What a node holds, sixteen numbers each: how far it has moved, m, its speed, m/s, three each, and 1/mass, 1/kg.
MOVED, SPEED, PER_MASS, NODE = 0, 3 * LANES, 6 * LANES, 7 * LANES
# What a node of the row at work or of the next one holds: where it will be a damping time ahead, m, and the force on
# it so far, N, three each.
AHEAD, FORCE, AT_WORK = 0, 3 * LANES, 6 * LANES
THREE = 3 * LANES
ACROSS, UP, DIAGONAL = 0, 1, 2  # the families of springs; the other diagonal is as the first, turned over
# Numbers below 1e-38 are worked ten times as slowly, and ahead of a wave a cloth is full of them. A square of 1e-18 m
# is lost beside that of a spring's length, if that is 1e-7 m or more: no bit of a force hangs on it.
UNSEEN: Any = np.float32(1e-18)  # m
NOUGHT: Any = np.float32(0.0)  # of the kind that all numbers here are
ONE: Any = np.float32(1.0)


class SixteenHits(NamedTuple):
    """A cloth in sixteen motions at once, of single numbers.

    nodes, at_work and tied are rows of sixteens: see NODE and AT_WORK above, and what cords do to the next row, three
    each; free (one a node and axis): 1 where it may move, else 0; pulls: its springs, and its cords by row; cords_from
    `(rows + 1,)`: which cords a row has; columns of nodes; still, m/s: a node that goes more slowly away from its rest
    plane stands still.
    """

    nodes: Single
    at_work: Single
    tied: Single
    free: Single
    pulls: Pulls
    cords_from: Whole
    columns: int
    still: float


def sixteen_hits(mesh: Mesh, still: float = 0.0) -> SixteenHits:
    """A mesh at rest; still, m/s: see SixteenHits."""
    pulls = pulls_of(mesh, np.float32)
    rows, columns = mesh.mass.shape[:2]
    nodes = rows_of_sixteen(rows, columns, NODE // LANES)
    nodes[:, :, PER_MASS // LANES] = np.float32(1.0) / mesh.mass.astype(np.float32)
    by_row = np.argsort(pulls.ties[:, 0], kind="stable")
    ties, cords = np.ascontiguousarray(pulls.ties[by_row]), np.ascontiguousarray(pulls.cords[by_row])
    return SixteenHits(
        nodes.reshape(-1),
        rows_of_sixteen(2, columns, AT_WORK // LANES).reshape(-1),
        rows_of_sixteen(columns, 3).reshape(-1),
        mesh.free[..., 0].transpose(1, 2, 0).astype(np.float32).reshape(-1),
        pulls._replace(ties=ties, cords=cords),
        np.searchsorted(ties[:, 0], np.arange(rows + 1)).astype(np.int64),
        columns,
        cast(float, np.float32(still)),
    )


@inlined
def _three_at(numbers: Single, begins: int) -> Three:
    return sixteen_at(numbers, begins), sixteen_at(numbers, begins + LANES), sixteen_at(numbers, begins + 2 * LANES)


@inlined
def _put_three(numbers: Single, begins: int, a: Three) -> None:
    put_sixteen(numbers, begins, a[0])
    put_sixteen(numbers, begins + LANES, a[1])
    put_sixteen(numbers, begins + 2 * LANES, a[2])


@inlined
def _plus(a: Three, b: Three) -> Three:
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


@inlined
def _minus(a: Three, b: Three) -> Three:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


@inlined
def _pull(apart: Three, rest: Sixteen, stiffness: Sixteen, weak: Sixteen, none: Sixteen, weight: Sixteen) -> Three:
    """The force of a spring on the node where it begins, N, from how far the other is from it, m."""
    x, y, z = apart
    far = z + all_of(UNSEEN)
    length = root(x * x + y * y + far * far)
    stretch = length - rest
    share = chosen(stretch, none, stiffness, weak) * stretch / length * weight
    return x * share, y * share, z * share


@inlined
def _ahead(nodes: Single, node: int, damping: Sixteen) -> Three:
    """Where a node will be a damping time ahead, m from where it rests."""
    x, y, z = _three_at(nodes, node + MOVED)
    u, v, w = _three_at(nodes, node + SPEED)
    return u * damping + x, v * damping + y, w * damping + z


@inlined
def _move(nodes: Single, node: int, free: Single, first: int, force: Three, step: Sixteen, still: Sixteen) -> None:
    """Speed from the force on a node, then place from the new speed."""
    per_mass = sixteen_at(nodes, node + PER_MASS)
    u, v, w = _three_at(nodes, node + SPEED)
    u = u + force[0] * (per_mass * one_at(free, first)) * step
    v = v + force[1] * (per_mass * one_at(free, first + 1)) * step
    w = w + force[2] * (per_mass * one_at(free, first + 2)) * step
    w = chosen(size(w), still, w, all_of(NOUGHT))
    x, y, z = _three_at(nodes, node + MOVED)
    _put_three(nodes, node + SPEED, (u, v, w))
    _put_three(nodes, node + MOVED, (x + u * step, y + v * step, z + w * step))


@compiled
def step_sixteen(hits: SixteenHits, damping_time: float, step_time: float) -> None:
    """One step of all sixteen, s: the force is taken where the nodes will be a damping time ahead, s."""
    damping, columns = all_of(damping_time), hits.columns
    rows = len(hits.cords_from) - 1
    _pull_cords(hits, 0, damping)
    for column in range(columns):
        _put_three(hits.at_work, column * AT_WORK + AHEAD, _ahead(hits.nodes, column * NODE, damping))
        _put_three(hits.at_work, column * AT_WORK + FORCE, _three_at(hits.tied, column * THREE))
    _forget_cords(hits, 0)
    for row in range(rows - 1):
        _pull_cords(hits, row + 1, damping)
        if len(hits.pulls.windows) > DIAGONAL:
            _step_row(hits, row, damping, step_time)
        else:
            _step_row_without_shear(hits, row, damping, step_time)
        _forget_cords(hits, row + 1)
    _step_last_row(hits, rows - 1, step_time)


@compiled
def _step_row(hits: SixteenHits, row: int, damping: Sixteen, step_time: float) -> None:
    """A row of nodes, and what its springs do to the next one."""
    nodes, at_work, tied, free, columns = hits.nodes, hits.at_work, hits.tied, hits.free, hits.columns
    weights, of_across, of_up = hits.pulls.weights, hits.pulls.numbers[ACROSS], hits.pulls.numbers[UP]
    of_diagonal, none = hits.pulls.numbers[DIAGONAL], all_of(NOUGHT)
    step, still = all_of(step_time), all_of(hits.still)
    across, rest_across, stiff_across = all_of(of_across[OFF]), all_of(of_across[REST]), all_of(of_across[STIFFNESS])
    up, rest_up, stiff_up = all_of(of_up[OFF + 1]), all_of(of_up[REST]), all_of(of_up[STIFFNESS])
    rest, stiff, weak = all_of(of_diagonal[REST]), all_of(of_diagonal[STIFFNESS]), all_of(of_diagonal[IN_COMPRESSION])
    weight_across, weight_up = _weights_from(hits, row)
    here, there = (row & 1) * columns * AT_WORK, (1 - (row & 1)) * columns * AT_WORK
    node, above, axis = row * columns * NODE, (row + 1) * columns * NODE, 3 * row * columns
    before, rising, falling = (none, none, none), (none, none, none), (none, none, none)  # of the column before
    start, over = _three_at(at_work, here + AHEAD), _ahead(nodes, above, damping)
    _put_three(at_work, there + AHEAD, over)
    for column in range(columns - 1):
        beside, beyond = _three_at(at_work, here + AT_WORK + AHEAD), _ahead(nodes, above + NODE, damping)
        _put_three(at_work, there + AT_WORK + AHEAD, beyond)
        x, y, z = _minus(beside, start)
        weight = all_of(one_at(weights, weight_across + column))
        along = _pull((x + across, y, z), rest_across, stiff_across, none, none, weight)
        force = _minus(_plus(_three_at(at_work, here + FORCE), along), before)
        before = along
        x, y, z = _minus(over, start)
        upward = _pull((x, y + up, z), rest_up, stiff_up, none, none, all_of(one_at(weights, weight_up + column)))
        next_force = _minus(_minus(_three_at(tied, column * THREE), upward), rising)
        x, y, z = _minus(beyond, start)
        rising = _pull((x + across, y + up, z), rest, stiff, weak, none, all_of(ONE))
        force = _plus(_plus(_plus(force, upward), rising), falling)
        x, y, z = _minus(over, beside)
        falling = _pull((x - across, y + up, z), rest, stiff, weak, none, all_of(ONE))
        _put_three(at_work, there + FORCE, _minus(next_force, falling))
        _move(nodes, node, free, axis, force, step, still)
        start, over = beside, beyond
        here, there, node, above, axis = here + AT_WORK, there + AT_WORK, node + NODE, above + NODE, axis + 3
    x, y, z = _minus(over, start)
    upward = _pull((x, y + up, z), rest_up, stiff_up, none, none, all_of(one_at(weights, weight_up + columns - 1)))
    next_force = _minus(_minus(_three_at(tied, (columns - 1) * THREE), upward), rising)
    _put_three(at_work, there + FORCE, next_force)
    force = _plus(_plus(_minus(_three_at(at_work, here + FORCE), before), upward), falling)
    _move(nodes, node, free, axis, force, step, still)


@compiled
def _step_row_without_shear(hits: SixteenHits, row: int, damping: Sixteen, step_time: float) -> None:
    """The same of a cloth that has no diagonals."""
    nodes, at_work, tied, free, columns = hits.nodes, hits.at_work, hits.tied, hits.free, hits.columns
    weights, of_across, of_up = hits.pulls.weights, hits.pulls.numbers[ACROSS], hits.pulls.numbers[UP]
    none, step, still = all_of(NOUGHT), all_of(step_time), all_of(hits.still)
    across, rest_across, stiff_across = all_of(of_across[OFF]), all_of(of_across[REST]), all_of(of_across[STIFFNESS])
    up, rest_up, stiff_up = all_of(of_up[OFF + 1]), all_of(of_up[REST]), all_of(of_up[STIFFNESS])
    weight_across, weight_up = _weights_from(hits, row)
    here, there = (row & 1) * columns * AT_WORK, (1 - (row & 1)) * columns * AT_WORK
    node, above, axis = row * columns * NODE, (row + 1) * columns * NODE, 3 * row * columns
    before, start = (none, none, none), _three_at(at_work, here + AHEAD)
    for column in range(columns):
        over = _ahead(nodes, above, damping)
        _put_three(at_work, there + AHEAD, over)
        force = _three_at(at_work, here + FORCE)
        beside = start
        if column + 1 < columns:
            beside = _three_at(at_work, here + AT_WORK + AHEAD)
            x, y, z = _minus(beside, start)
            weight = all_of(one_at(weights, weight_across + column))
            along = _pull((x + across, y, z), rest_across, stiff_across, none, none, weight)
            force, before = _minus(_plus(force, along), before), along
        else:
            force = _minus(force, before)
        x, y, z = _minus(over, start)
        upward = _pull((x, y + up, z), rest_up, stiff_up, none, none, all_of(one_at(weights, weight_up + column)))
        _put_three(at_work, there + FORCE, _minus(_three_at(tied, column * THREE), upward))
        _move(nodes, node, free, axis, _plus(force, upward), step, still)
        start = beside
        here, there, node, above, axis = here + AT_WORK, there + AT_WORK, node + NODE, above + NODE, axis + 3


@compiled
def _step_last_row(hits: SixteenHits, row: int, step_time: float) -> None:
    """The last row, which has springs along itself alone."""
    at_work, columns, of_across = hits.at_work, hits.columns, hits.pulls.numbers[ACROSS]
    none, step, still = all_of(NOUGHT), all_of(step_time), all_of(hits.still)
    across, rest, stiff = all_of(of_across[OFF]), all_of(of_across[REST]), all_of(of_across[STIFFNESS])
    weight_across, _ = _weights_from(hits, row)
    here, node, axis = (row & 1) * columns * AT_WORK, row * columns * NODE, 3 * row * columns
    before, start = (none, none, none), _three_at(at_work, here + AHEAD)
    for column in range(columns - 1):
        beside = _three_at(at_work, here + AT_WORK + AHEAD)
        x, y, z = _minus(beside, start)
        weight = all_of(one_at(hits.pulls.weights, weight_across + column))
        along = _pull((x + across, y, z), rest, stiff, none, none, weight)
        force = _minus(_plus(_three_at(at_work, here + FORCE), along), before)
        _move(hits.nodes, node, hits.free, axis, force, step, still)
        before, start = along, beside
        here, node, axis = here + AT_WORK, node + NODE, axis + 3
    _move(hits.nodes, node, hits.free, axis, _minus(_three_at(at_work, here + FORCE), before), step, still)


@inlined
def _weights_from(hits: SixteenHits, row: int) -> tuple[int, int]:
    """Where the weights of a row's springs begin: across, and up."""
    windows, columns = hits.pulls.windows, hits.columns
    return windows[ACROSS, WEIGHTS] + row * (columns - 1), windows[UP, WEIGHTS] + row * columns


@compiled
def _pull_cords(hits: SixteenHits, row: int, damping: Sixteen) -> None:
    """Write down what cords do to a row."""
    none = all_of(NOUGHT)
    for k in range(hits.cords_from[row], hits.cords_from[row + 1]):
        cord, column = hits.pulls.cords[k], hits.pulls.ties[k, 1]
        moved = _ahead(hits.nodes, (row * hits.columns + column) * NODE, damping)
        x = all_of(cord[ANCHOR]) - moved[0]
        y, z = all_of(cord[ANCHOR + 1]) - moved[1], all_of(cord[ANCHOR + 2]) - moved[2]
        length = root(x * x + y * y + z * z)
        taut = length - cord[CORD_REST]
        share = chosen(length, all_of(cord[CORD_REST]), cord[CORD_STIFFNESS] * taut / length, none)
        pulled = _three_at(hits.tied, column * THREE)
        _put_three(hits.tied, column * THREE, _plus(pulled, (x * share, y * share, z * share)))


@compiled
def _forget_cords(hits: SixteenHits, row: int) -> None:
    """Leave what cords do as it was, nought."""
    none = all_of(NOUGHT)
    for k in range(hits.cords_from[row], hits.cords_from[row + 1]):
        _put_three(hits.tied, hits.pulls.ties[k, 1] * THREE, (none, none, none))
