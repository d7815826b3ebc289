"""Balls followed through a cloth's lattice, compiled: in single numbers sixteen at once, in double numbers a block."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.ball_on_node import (
    BALL_SIZE,
    COLUMN,
    DONE,
    HIT,
    NODE_SIZE,
    ROW,
    Balls,
    Nodes,
    note,
    note_before,
)
from flightsim.cloth.pulling import Pulls, pull_cords, pull_springs
from flightsim.cloth.sixteen import LANES
from flightsim.cloth.sixteen_step import NODE, NOUGHT, PER_MASS, SixteenHits, step_sixteen
from flightsim.engine.cache import Kept
from flightsim.engine.compiled import NONE, compiled, entry_in
from flightsim.engine.ready import make_ready

Array = NDArray[np.float64]
Single = NDArray[np.floating[Any]]
Whole = NDArray[np.int64]

SOURCES, ENTRIES = ("cloth", "engine/compiled.py", "engine/linking.py"), "cloth/following.py"
LATTICE = Kept.of("lattice", SOURCES, ENTRIES)  # all that a run needs
FINE = Kept.of("lattice_fine", SOURCES, ENTRIES)


class Sheet(NamedTuple):
    """Nodes in motion, row by row: moved, speed, force and ahead `(3, rows, columns x hits)`; per_mass
    `(rows, columns x hits)`; free `(3, rows, columns)`; room `(4, columns x hits)`. All of one kind, single or double.
    """

    moved: Array
    speed: Array
    force: Array
    ahead: Array
    per_mass: Array
    free: Array
    room: Array


class Queue(NamedTuple):
    """Hits that wait for one of the sixteen: nodes `(hits, 4)` as of Balls; starts `(hits, 2)`: the mass of node and
    ball, kg, and their speed, m/s; rest_mass of the nodes `(rows, columns)`, kg; counts `(16,)`: steps done.
    """

    nodes: Whole
    starts: Single
    rest_mass: Single
    counts: Whole


@entry_in(LATTICE)
def follow_balls(
    hits: SixteenHits, nodes: Nodes, balls: Balls, queue: Queue, mass: float, times: Single, clear: float, last: int,
    to_deepest: bool,
) -> None:  # fmt: skip
    """Follow all balls, sixteen at a time, in single numbers: where one has gone, the next one begins.

    nodes: the same as of hits, seen as Nodes. mass of a ball, kg; times: of damping and of a step, s; clear: a ball has
    left for good when it is so many times as far in front of the rest plane as it sank; last: no ball has more steps.
    """
    waiting = going = 0
    for k in range(LANES):
        if waiting < len(queue.nodes):
            _begin(hits, nodes, balls, queue, k, waiting)
            waiting, going = waiting + 1, going + 1
    while going > 0:
        for k in range(LANES):
            if balls.node[k, HIT] != NONE:
                note_before(nodes, balls, k)
        step_sixteen(hits, times[0], times[1])
        for k in range(LANES):
            hit = balls.node[k, HIT]
            if hit == NONE:
                continue
            queue.counts[k] += 1
            note(nodes, balls, k, mass, queue.counts[k], times[1], clear, to_deepest)
            if balls.marks[hit, DONE] == 0 and queue.counts[k] < last:
                continue
            if waiting < len(queue.nodes):
                _begin(hits, nodes, balls, queue, k, waiting)
                waiting += 1
            else:
                balls.node[k, HIT] = NONE
                going -= 1


@compiled
def _begin(hits: SixteenHits, nodes: Nodes, balls: Balls, queue: Queue, k: int, hit: int) -> None:
    """Put a hit on a cloth at rest in the k-th place."""
    if balls.node[k, HIT] != NONE:
        row, column = balls.node[k, ROW], balls.node[k, COLUMN]
        nodes.mass[row, column, k] = queue.rest_mass[row, column]
        nodes.per_mass[row, column, k] = nodes.free[2, row, column] / nodes.mass[row, column, k]
        for node in range(0, len(hits.nodes), NODE):
            for begins in range(node, node + PER_MASS, LANES):
                hits.nodes[begins + k] = 0.0
    row, column = queue.nodes[hit, ROW], queue.nodes[hit, COLUMN]
    for j in range(NODE_SIZE):
        balls.node[k, j] = queue.nodes[hit, j]
    nodes.mass[row, column, k] = queue.starts[hit, 0]
    nodes.per_mass[row, column, k] = nodes.free[2, row, column] / nodes.mass[row, column, k]
    nodes.speed[2, row, column, k] = queue.starts[hit, 1]
    queue.counts[k] = 0


@entry_in(FINE)
def step_nodes(sheet: Sheet, pulls: Pulls, times: Array) -> None:
    """One step: speeds from the force, then places from the new speeds; times: of damping and of a step, s."""
    _advance(sheet, pulls, times[0], times[1])


@entry_in(FINE)
def follow_finely(
    sheet: Sheet, pulls: Pulls, nodes: Nodes, balls: Balls, mass: float, times: Array, clear: float, first: int,
    last: int, to_deepest: bool,
) -> int:  # fmt: skip
    """Steps first to last of the balls, in double numbers: what tables are held against. It ends once a tenth of those
    that are there has gone, and says how many steps were done. nodes: the same as of sheet; the others as above.
    """
    there = len(balls.node)
    for count in range(first, last + 1):
        for k in range(there):
            note_before(nodes, balls, k)
        _advance(sheet, pulls, times[0], times[1])
        going = 0
        for k in range(there):
            note(nodes, balls, k, mass, count, times[1], clear, to_deepest)
            going += balls.marks[balls.node[k, HIT], DONE] == 0
        if 10 * going <= 9 * there:
            return count
    return last


@compiled
def _advance(sheet: Sheet, pulls: Pulls, damping_time: float, step: float) -> None:
    """The force is taken where the nodes will be a damping time ahead."""
    rows, n = sheet.per_mass.shape
    columns = sheet.free.shape[2]
    hits = n // columns
    for axis in range(3):
        for row in range(rows):
            moved, speed = sheet.moved[axis, row], sheet.speed[axis, row]
            ahead, force = sheet.ahead[axis, row], sheet.force[axis, row]
            for j in range(n):
                ahead[j] = speed[j] * damping_time + moved[j]
            for j in range(n):
                force[j] = 0.0
    pull_cords(pulls, sheet.ahead, sheet.force, hits)
    for row in range(rows):  # whose force is whole once its own springs have pulled
        pull_springs(pulls, row, sheet.ahead, sheet.force, sheet.room, hits)
        for axis in range(3):
            moved, speed = sheet.moved[axis, row], sheet.speed[axis, row]
            force, per_mass = sheet.force[axis, row], sheet.per_mass[row]
            for column in range(columns):
                if sheet.free[axis, row, column] == 0.0:
                    force[column * hits : column * hits + hits] = 0.0
            for j in range(n):
                speed[j] += force[j] * per_mass[j] * step
            for j in range(n):
                moved[j] += speed[j] * step


def make_lattice_ready(fine: bool = False) -> None:
    """Load the compiled lattice, or compile it, which takes some seconds once on a machine. fine: in double numbers,
    and what steps a sheet by itself.
    """
    if fine:
        make_ready(_compile_fine, FINE, announced=False)
    else:
        make_ready(_compile, LATTICE, announced=False)


def _compile() -> None:
    flat, table = np.zeros(0, dtype=np.float32), np.zeros((0, 2), dtype=np.float32)
    hits = SixteenHits(flat, flat, flat, flat, _no_pulls(np.float32), np.zeros(1, dtype=np.int64), 0, NOUGHT)
    queue = Queue(np.zeros((0, NODE_SIZE), dtype=np.int64), table, table, np.zeros(LANES, dtype=np.int64))
    seen = np.zeros((2, 2, 7, LANES), dtype=np.float32).transpose(2, 0, 1, 3)
    balls = _no_balls()
    follow_balls(
        hits, _nodes(seen[:3], seen[3:6], seen[6]), balls, queue, 0.0, np.zeros(2, dtype=np.float32), 1.0, 1, False
    )


def _compile_fine() -> None:
    for kind in (np.float32, np.float64):
        moved, speed, force, ahead, free = np.zeros((5, 3, 2, 2), dtype=kind)
        sheet = Sheet(moved, speed, force, ahead, np.zeros((2, 2), dtype=kind), free, np.zeros((4, 2), dtype=kind))
        step_nodes(sheet, _no_pulls(kind), np.zeros(2, dtype=kind))
    moved, speed = np.zeros((2, 3, 2, 2, 1))
    nodes = _nodes(moved, speed, np.zeros((2, 2, 1)))
    follow_finely(sheet, _no_pulls(np.float64), nodes, _no_balls(), 0.0, np.zeros(2), 1.0, 1, 1, False)


def _nodes(moved: Single, speed: Single, per_mass: Single) -> Nodes:
    """Two by two nodes that weigh 1 kg, seen as these numbers."""
    sides, free = np.zeros((1, 3), dtype=np.int64), np.zeros((3, 2, 2), dtype=moved.dtype)
    return Nodes(moved, speed, np.ones((2, 2, moved.shape[3]), dtype=moved.dtype), per_mass, free, sides)


def _no_pulls(kind: Any) -> Pulls:
    springs = np.zeros((0, 7), dtype=np.int64), np.zeros((0, 6), dtype=kind), np.zeros(0, dtype=kind)
    return Pulls(*springs, np.zeros((0, 2), dtype=np.int64), np.zeros((0, 5), dtype=kind))


def _no_balls() -> Balls:
    return Balls(np.zeros((0, BALL_SIZE)), np.zeros((0, 3), dtype=np.int64), np.zeros((0, NODE_SIZE), dtype=np.int64))
