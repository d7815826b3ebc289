"""Steps of a cloth's lattice with balls in it, compiled; `ball_in_cloth.py` says what a ball does there."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.pulling import Pulls, pull_cords, pull_springs
from flightsim.engine.cache import Kept
from flightsim.engine.compiled import compiled, entry_in
from flightsim.engine.ready import make_ready

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

SOURCES, ENTRIES = ("cloth", "engine/compiled.py"), "cloth/following.py"
LATTICE = Kept.of("lattice", SOURCES, ENTRIES)  # all that a run needs
FINE = Kept.of("lattice_fine", SOURCES, ENTRIES)
EDGE_EVERY = 8  # steps: rims are heavy and slow

GLUED, TURNED, DONE = range(3)  # of a ball's marks
DEPTH, DEPTH_TIME, EDGE_MOVED, EDGE_NOW, RETURN_TIME, BEFORE, PLACE, SPEED, BALL_SIZE = 0, 1, 2, 3, 4, 5, 6, 7, 10
ROW, COLUMN, SIDE, HIT, NODE_SIZE = range(5)  # of a ball's node; HIT: its number
UPRIGHT, LINE, INWARD = range(3)  # of a side: whether it is upright, its line of nodes, and which way is inward


class Sheet(NamedTuple):
    """Nodes in motion: moved from rest, speed, force, ahead, per_mass `(3, rows, columns x hits)`; mass
    `(rows, columns x hits)`; free `(3, rows, columns)`; sides `(sides, 3)`; room `(4, columns x hits)`.

    All of one kind, single or double: what is worked in double here, one value a ball, is written back to it.
    """

    moved: Array
    speed: Array
    force: Array
    ahead: Array
    per_mass: Array
    mass: Array
    free: Array
    sides: Whole
    room: Array


class Balls(NamedTuple):
    """Balls in the cloth: numbers `(hits, 10)`, marks `(hits, 3)`, and of those still there, node `(there, 4)`."""

    numbers: Array
    marks: Whole
    node: Whole


@entry_in(FINE)
def step_nodes(sheet: Sheet, pulls: Pulls, times: Array) -> None:
    """One step: speeds from the force, then places from the new speeds; times: of damping and of a step, s."""
    _advance(sheet, pulls, times[0], times[1])


@entry_in(LATTICE)
def follow_balls(
    sheet: Sheet, pulls: Pulls, balls: Balls, mass: float, times: Array, clear: float, first: int, last: int,
    to_deepest: bool,
) -> int:  # fmt: skip
    """Steps first to last of the balls, in single numbers: see `_follow`. Tables are worked so."""
    return _follow(sheet, pulls, balls, mass, times, clear, first, last, to_deepest)


@entry_in(FINE)
def follow_finely(
    sheet: Sheet, pulls: Pulls, balls: Balls, mass: float, times: Array, clear: float, first: int, last: int,
    to_deepest: bool,
) -> int:  # fmt: skip
    """The same in double numbers: what tables are held against."""
    return _follow(sheet, pulls, balls, mass, times, clear, first, last, to_deepest)


@compiled
def _follow(
    sheet: Sheet, pulls: Pulls, balls: Balls, mass: float, times: Array, clear: float, first: int, last: int,
    to_deepest: bool,
) -> int:  # fmt: skip
    """Steps first to last of the balls, until a tenth of those that are there has gone; how many steps were done.

    mass of a ball, kg; times: of damping and of a step, s; and clear: it has left for good when it is so many times as
    far in front of the rest plane as it sank.
    """
    there = len(balls.node)
    for count in range(first, last + 1):
        for k in range(there):
            at = balls.node[k, COLUMN] * there + k
            balls.numbers[balls.node[k, HIT], BEFORE] = sheet.speed[2, balls.node[k, ROW], at]
        _advance(sheet, pulls, times[0], times[1])
        going = 0
        for k in range(there):
            _note(sheet, balls, k, mass, count, times[1], clear, to_deepest)
            going += balls.marks[balls.node[k, HIT], DONE] == 0
        if 10 * going <= 9 * there:
            return count
    return last


@compiled
def _note(
    sheet: Sheet, balls: Balls, k: int, mass: float, count: int, step: float, clear: float, to_deepest: bool
) -> None:
    """Write down what a step did to the k-th of the hits that are there."""
    hit, there = balls.node[k, HIT], len(balls.node)
    number, mark = balls.numbers[hit], balls.marks[hit]
    if mark[DONE] == 1:
        return
    row, at = balls.node[k, ROW], balls.node[k, COLUMN] * there + k
    if mark[GLUED] == 0:
        number[PLACE] += number[SPEED + 2] * step
        if sheet.moved[2, row, at] <= number[PLACE] and sheet.speed[2, row, at] < number[SPEED + 2]:
            _glue(sheet, balls, k, mass)
    if count % EDGE_EVERY == 0:
        number[EDGE_NOW] = max(number[EDGE_NOW], _pulled_in(sheet, balls.node[k, SIDE], k, there))
    if mark[GLUED] == 1:
        depth, now = sheet.moved[2, row, at], sheet.speed[2, row, at]
        if depth > number[DEPTH]:
            number[DEPTH], number[DEPTH_TIME] = depth, count * step
        if now < 0.0:
            mark[TURNED] = 1
        number[EDGE_MOVED] = number[EDGE_NOW]
        if to_deepest:
            mark[DONE] = now < 0.0
        elif now < 0.0 and now > number[BEFORE]:
            number[RETURN_TIME] = count * step
            _let_go(sheet, balls, k, mass)
    if not to_deepest and mark[GLUED] == 0 and number[PLACE] <= -clear * number[DEPTH]:
        mark[DONE] = 1


@compiled
def _let_go(sheet: Sheet, balls: Balls, k: int, mass: float) -> None:
    """The k-th ball leaves its node, with the place and speed of the node."""
    row, at = balls.node[k, ROW], balls.node[k, COLUMN] * len(balls.node) + k
    number = balls.numbers[balls.node[k, HIT]]
    balls.marks[balls.node[k, HIT], GLUED] = 0
    number[PLACE] = sheet.moved[2, row, at]
    for axis in range(3):
        number[SPEED + axis] = sheet.speed[axis, row, at]
    _add_mass(sheet, balls, k, -mass)


@compiled
def _glue(sheet: Sheet, balls: Balls, k: int, mass: float) -> None:
    """The k-th ball is caught by its node, from the momentum of both."""
    row, at = balls.node[k, ROW], balls.node[k, COLUMN] * len(balls.node) + k
    number = balls.numbers[balls.node[k, HIT]]
    _add_mass(sheet, balls, k, mass)
    share = mass / sheet.mass[row, at]
    for axis in range(3):
        both = (1.0 - share) * sheet.speed[axis, row, at] + share * number[SPEED + axis]
        sheet.speed[axis, row, at] = both * sheet.free[axis, row, balls.node[k, COLUMN]]
    balls.marks[balls.node[k, HIT], GLUED] = 1


@compiled
def _add_mass(sheet: Sheet, balls: Balls, k: int, mass: float) -> None:
    row, column = balls.node[k, ROW], balls.node[k, COLUMN]
    at = column * len(balls.node) + k
    sheet.mass[row, at] += mass
    for axis in range(3):
        sheet.per_mass[axis, row, at] = sheet.free[axis, row, column] / sheet.mass[row, at]


@compiled
def _pulled_in(sheet: Sheet, side: int, k: int, hits: int) -> float:
    """How far a side has been pulled inward in the plane, at its most, m, in the k-th hit."""
    upright, line, inward = sheet.sides[side, UPRIGHT], sheet.sides[side, LINE], sheet.sides[side, INWARD]
    rows, columns = sheet.free.shape[1:]
    most = -np.inf
    for along in range(rows if upright else columns):
        row, column = (along, line) if upright else (line, along)
        axis = 0 if upright else 1
        most = max(most, inward * float(sheet.moved[axis, row, column * hits + k]))
    return most


@compiled
def _advance(sheet: Sheet, pulls: Pulls, damping_time: float, step: float) -> None:
    """The force is taken where the nodes will be a damping time ahead."""
    rows, n = sheet.mass.shape
    hits = n // sheet.free.shape[2]
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
            force, per_mass = sheet.force[axis, row], sheet.per_mass[axis, row]
            for j in range(n):
                speed[j] += force[j] * per_mass[j] * step
            for j in range(n):
                moved[j] += speed[j] * step


def make_lattice_ready(fine: bool = False) -> None:
    """Load the compiled lattice, or compile it, which takes some seconds once on a machine. fine: in double numbers,
    and what steps a sheet by itself.
    """
    if fine:
        make_ready(_compile_fine, FINE, told=False)
    else:
        make_ready(_compile, LATTICE, told=False)


def _compile() -> None:
    follow_balls(*_nothing(np.float32))


def _compile_fine() -> None:
    for kind in (np.float32, np.float64):
        sheet, pulls, _, _, times, *_ = _nothing(kind)
        step_nodes(sheet, pulls, times)
    follow_finely(*_nothing(np.float64))


def _nothing(kind: Any) -> tuple[Sheet, Pulls, Balls, float, Array, float, int, int, bool]:
    """A sheet without springs, and no balls in it, in numbers of this kind."""
    moved, speed, force, ahead, per_mass, free = np.zeros((6, 3, 2, 2), dtype=kind)
    sides, room = np.zeros((1, 3), dtype=np.int64), np.zeros((4, 2), dtype=kind)
    sheet = Sheet(moved, speed, force, ahead, per_mass, np.ones((2, 2), dtype=kind), free, sides, room)
    springs = np.zeros((0, 7), dtype=np.int64), np.zeros((0, 6), dtype=kind), np.zeros(0, dtype=kind)
    pulls = Pulls(*springs, np.zeros((0, 2), dtype=np.int64), np.zeros((0, 5), dtype=kind))
    marks, node = np.zeros((0, 3), dtype=np.int64), np.zeros((0, NODE_SIZE), dtype=np.int64)
    return sheet, pulls, Balls(np.zeros((0, BALL_SIZE)), marks, node), 0.0, np.zeros(2, dtype=kind), 1.0, 1, 1, False
