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
    nodes[:, :, PER_MASS // LANES] = mesh.free[2].astype(np.float32) / mesh.mass.astype(np.float32)
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
def _length(x: Sixteen, y: Sixteen, z: Sixteen) -> Sixteen:
    seen = z + all_of(UNSEEN)
    return root(x * x + y * y + seen * seen)


@inlined
def _pull(x: Sixteen, y: Sixteen, z: Sixteen, rest: Sixteen, stiffness: Sixteen) -> Three:
    """The force of a yarn on the node where it begins, N, from how far the other is from it, m."""
    length, none = _length(x, y, z), all_of(NOUGHT)
    stretch = length - rest
    share = stiffness * chosen(stretch, none, stretch, none) / length
    return x * share, y * share, z * share


@inlined
def _pull_or_push(x: Sixteen, y: Sixteen, z: Sixteen, rest: Sixteen, stiffness: Sixteen, weak: Sixteen) -> Three:
    """The same of a diagonal, which is weak in compression."""
    length = _length(x, y, z)
    stretch = length - rest
    share = chosen(stretch, all_of(NOUGHT), stiffness, weak) * stretch / length
    return x * share, y * share, z * share


@inlined
def _ahead(nodes: Single, node: int, damping: Sixteen) -> Three:
    """Where a node will be a damping time ahead, m from where it rests."""
    x, y, z = _three_at(nodes, node + MOVED)
    u, v, w = _three_at(nodes, node + SPEED)
    return u * damping + x, v * damping + y, w * damping + z


@inlined
def _move(nodes: Single, node: int, force: Three, step: Sixteen, still: Sixteen) -> None:
    """Speed from the force on a node, then place from the new speed."""
    per_mass = sixteen_at(nodes, node + PER_MASS)
    u, v, w = _three_at(nodes, node + SPEED)
    u = u + force[0] * per_mass * step
    v = v + force[1] * per_mass * step
    w = w + force[2] * per_mass * step
    w = chosen(size(w), still, w, all_of(NOUGHT))
    x, y, z = _three_at(nodes, node + MOVED)
    _put_three(nodes, node + SPEED, (u, v, w))
    _put_three(nodes, node + MOVED, (x + u * step, y + v * step, z + w * step))


@inlined
def _move_if_free(hits: SixteenHits, row: int, column: int, force: Three, step: Sixteen, still: Sixteen) -> None:
    """The same of a node that may lie on a mirror."""
    node = row * hits.columns + column
    force = force[0] * one_at(hits.free, 3 * node), force[1] * one_at(hits.free, 3 * node + 1), force[2]
    _move(hits.nodes, node * NODE, force, step, still)


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
    nodes, at_work, tied, columns = hits.nodes, hits.at_work, hits.tied, hits.columns
    of_across, of_up, of_diagonal = hits.pulls.numbers[ACROSS], hits.pulls.numbers[UP], hits.pulls.numbers[DIAGONAL]
    none, step, still = all_of(NOUGHT), all_of(step_time), all_of(hits.still)
    across, rest_across, up, rest_up = _yarns(of_across, of_up)
    stiff_across, stiff_first, stiff_up, stiff_last = _stiff_in(hits, row)
    rest, stiff, weak = all_of(of_diagonal[REST]), all_of(of_diagonal[STIFFNESS]), all_of(of_diagonal[IN_COMPRESSION])
    here, there = (row & 1) * columns * AT_WORK, (1 - (row & 1)) * columns * AT_WORK
    node, above = row * columns * NODE, (row + 1) * columns * NODE
    before, rising, falling = (none, none, none), (none, none, none), (none, none, none)  # of the column before
    start, over, stiff_here = _three_at(at_work, here + AHEAD), _ahead(nodes, above, damping), stiff_first
    _put_three(at_work, there + AHEAD, over)
    for column in range(columns - 1):
        beside, beyond = _three_at(at_work, here + AT_WORK + AHEAD), _ahead(nodes, above + NODE, damping)
        _put_three(at_work, there + AT_WORK + AHEAD, beyond)
        x, y, z = _minus(beside, start)
        along = _pull(x + across, y, z, rest_across, stiff_across)
        force = _minus(_plus(_three_at(at_work, here + FORCE), along), before)
        before = along
        x, y, z = _minus(over, start)
        upward = _pull(x, y + up, z, rest_up, stiff_here)
        next_force = _minus(_minus(_three_at(tied, column * THREE), upward), rising)
        x, y, z = _minus(beyond, start)
        rising = _pull_or_push(x + across, y + up, z, rest, stiff, weak)
        force = _plus(_plus(_plus(force, upward), rising), falling)
        x, y, z = _minus(over, beside)
        falling = _pull_or_push(x - across, y + up, z, rest, stiff, weak)
        _put_three(at_work, there + FORCE, _minus(next_force, falling))
        _move(nodes, node, force, step, still)
        start, over, stiff_here = beside, beyond, stiff_up
        here, there, node, above = here + AT_WORK, there + AT_WORK, node + NODE, above + NODE
    x, y, z = _minus(over, start)
    upward = _pull(x, y + up, z, rest_up, stiff_last)
    next_force = _minus(_minus(_three_at(tied, (columns - 1) * THREE), upward), rising)
    _put_three(at_work, there + FORCE, next_force)
    force = _plus(_plus(_minus(_three_at(at_work, here + FORCE), before), upward), falling)
    _move_if_free(hits, row, columns - 1, force, step, still)


@compiled
def _step_row_without_shear(hits: SixteenHits, row: int, damping: Sixteen, step_time: float) -> None:
    """The same of a cloth that has no diagonals."""
    nodes, at_work, tied, columns = hits.nodes, hits.at_work, hits.tied, hits.columns
    none, step, still = all_of(NOUGHT), all_of(step_time), all_of(hits.still)
    across, rest_across, up, rest_up = _yarns(hits.pulls.numbers[ACROSS], hits.pulls.numbers[UP])
    stiff_across, stiff_first, stiff_up, stiff_last = _stiff_in(hits, row)
    here, there = (row & 1) * columns * AT_WORK, (1 - (row & 1)) * columns * AT_WORK
    node, above = row * columns * NODE, (row + 1) * columns * NODE
    before, start, stiff_here = (none, none, none), _three_at(at_work, here + AHEAD), stiff_first
    for column in range(columns - 1):
        beside, over = _three_at(at_work, here + AT_WORK + AHEAD), _ahead(nodes, above, damping)
        _put_three(at_work, there + AHEAD, over)
        x, y, z = _minus(beside, start)
        along = _pull(x + across, y, z, rest_across, stiff_across)
        force = _minus(_plus(_three_at(at_work, here + FORCE), along), before)
        x, y, z = _minus(over, start)
        upward = _pull(x, y + up, z, rest_up, stiff_here)
        _put_three(at_work, there + FORCE, _minus(_three_at(tied, column * THREE), upward))
        _move(nodes, node, _plus(force, upward), step, still)
        before, start, stiff_here = along, beside, stiff_up
        here, there, node, above = here + AT_WORK, there + AT_WORK, node + NODE, above + NODE
    over = _ahead(nodes, above, damping)
    _put_three(at_work, there + AHEAD, over)
    x, y, z = _minus(over, start)
    upward = _pull(x, y + up, z, rest_up, stiff_last)
    _put_three(at_work, there + FORCE, _minus(_three_at(tied, (columns - 1) * THREE), upward))
    force = _plus(_minus(_three_at(at_work, here + FORCE), before), upward)
    _move_if_free(hits, row, columns - 1, force, step, still)


@compiled
def _step_last_row(hits: SixteenHits, row: int, step_time: float) -> None:
    """The last row, which has springs along itself alone."""
    at_work, columns = hits.at_work, hits.columns
    none, step, still = all_of(NOUGHT), all_of(step_time), all_of(hits.still)
    across, rest, _, _ = _yarns(hits.pulls.numbers[ACROSS], hits.pulls.numbers[UP])
    stiff = all_of(hits.pulls.numbers[ACROSS, STIFFNESS] * _weight_across(hits, row))
    here = (row & 1) * columns * AT_WORK
    before, start = (none, none, none), _three_at(at_work, here + AHEAD)
    for column in range(columns - 1):
        beside = _three_at(at_work, here + AT_WORK + AHEAD)
        x, y, z = _minus(beside, start)
        along = _pull(x + across, y, z, rest, stiff)
        force = _minus(_plus(_three_at(at_work, here + FORCE), along), before)
        _move_if_free(hits, row, column, force, step, still)
        before, start, here = along, beside, here + AT_WORK
    _move_if_free(hits, row, columns - 1, _minus(_three_at(at_work, here + FORCE), before), step, still)


@inlined
def _yarns(of_across: Single, of_up: Single) -> tuple[Sixteen, Sixteen, Sixteen, Sixteen]:
    """A cell's width and the rest length of its yarn, and its height and the rest length of that, m."""
    return all_of(of_across[OFF]), all_of(of_across[REST]), all_of(of_up[OFF + 1]), all_of(of_up[REST])


@inlined
def _stiff_in(hits: SixteenHits, row: int) -> tuple[Sixteen, Sixteen, Sixteen, Sixteen]:
    """How stiff yarns are, N/m: across, and up in the first column, in all others and in the last.

    A yarn weighs a half or a whole, all along the row, and in all columns but the first and the last: to weigh it
    before it pulls or after is the same to the bit.
    """
    columns, weights, stiff_up = hits.columns, hits.pulls.weights, hits.pulls.numbers[UP, STIFFNESS]
    first = hits.pulls.windows[UP, WEIGHTS] + row * columns
    inner, last = first + min(1, columns - 1), first + columns - 1
    return (
        all_of(hits.pulls.numbers[ACROSS, STIFFNESS] * _weight_across(hits, row)),
        all_of(stiff_up * weights[first]),
        all_of(stiff_up * weights[inner]),
        all_of(stiff_up * weights[last]),
    )


@inlined
def _weight_across(hits: SixteenHits, row: int) -> float:
    return float(hits.pulls.weights[hits.pulls.windows[ACROSS, WEIGHTS] + row * (hits.columns - 1)])


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
