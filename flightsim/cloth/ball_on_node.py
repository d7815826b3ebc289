"""What a ball does at its node from step to step, compiled; `ball_in_cloth.py` says it in words."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from flightsim.engine.compiled import compiled

Array = NDArray[np.float64]
Numbers = NDArray[np.floating[Any]]
Whole = NDArray[np.int64]

EDGE_EVERY = 8  # steps: rims are heavy and slow

GLUED, TURNED, DONE = range(3)  # of a ball's marks
DEPTH, DEPTH_TIME, EDGE_MOVED, EDGE_NOW, RETURN_TIME, BEFORE, PLACE, SPEED, BALL_SIZE = 0, 1, 2, 3, 4, 5, 6, 7, 10
ROW, COLUMN, SIDE, HIT, NODE_SIZE = range(5)  # of a ball's node; HIT: its number
UPRIGHT, LINE, INWARD = range(3)  # of a side: whether it is upright, its line of nodes, and which way is inward


class Nodes(NamedTuple):
    """Nodes in motion: moved, m, and speed, m/s `(3, rows, columns, hits)`; mass, kg, and per_mass, 1 over it
    or 0 where nothing moves `(rows, columns, hits)`; free `(3, rows, columns)`; sides `(sides, 3)`.

    All of one kind, single or double: what is worked in double here, one value a ball, is written back to it.
    """

    moved: Numbers
    speed: Numbers
    mass: Numbers
    per_mass: Numbers
    free: Numbers
    sides: Whole


class Balls(NamedTuple):
    """Balls in the cloth: numbers `(hits, 10)`, marks `(hits, 3)`, and of those still there, node `(there, 4)`."""

    numbers: Array
    marks: Whole
    node: Whole


@compiled
def note_before(nodes: Nodes, balls: Balls, k: int) -> None:
    """Write down how fast the k-th of the hits that are there goes, before a step."""
    balls.numbers[balls.node[k, HIT], BEFORE] = nodes.speed[2, balls.node[k, ROW], balls.node[k, COLUMN], k]


@compiled
def note(
    nodes: Nodes, balls: Balls, k: int, mass: float, count: int, step: float, clear: float, to_deepest: bool
) -> None:
    """Write down what a step did to the k-th of the hits that are there."""
    hit = balls.node[k, HIT]
    number, mark = balls.numbers[hit], balls.marks[hit]
    if mark[DONE] == 1:
        return
    row, column = balls.node[k, ROW], balls.node[k, COLUMN]
    if mark[GLUED] == 0:
        number[PLACE] += number[SPEED + 2] * step
        if nodes.moved[2, row, column, k] <= number[PLACE] and nodes.speed[2, row, column, k] < number[SPEED + 2]:
            _glue(nodes, balls, k, mass)
    if count % EDGE_EVERY == 0:
        number[EDGE_NOW] = max(number[EDGE_NOW], _pulled_in(nodes, balls.node[k, SIDE], k))
    if mark[GLUED] == 1:
        depth, now = nodes.moved[2, row, column, k], nodes.speed[2, row, column, k]
        if depth > number[DEPTH]:
            number[DEPTH], number[DEPTH_TIME] = depth, count * step
        if now < 0.0:
            mark[TURNED] = 1
        number[EDGE_MOVED] = number[EDGE_NOW]
        if to_deepest:
            mark[DONE] = now < 0.0
        elif now < 0.0 and now > number[BEFORE]:
            number[RETURN_TIME] = count * step
            _let_go(nodes, balls, k, mass)
    if not to_deepest and mark[GLUED] == 0 and number[PLACE] <= -clear * number[DEPTH]:
        mark[DONE] = 1


@compiled
def _let_go(nodes: Nodes, balls: Balls, k: int, mass: float) -> None:
    """The k-th ball leaves its node, with the place and speed of the node."""
    row, column, number = balls.node[k, ROW], balls.node[k, COLUMN], balls.numbers[balls.node[k, HIT]]
    balls.marks[balls.node[k, HIT], GLUED] = 0
    number[PLACE] = nodes.moved[2, row, column, k]
    for axis in range(3):
        number[SPEED + axis] = nodes.speed[axis, row, column, k]
    _add_mass(nodes, row, column, k, -mass)


@compiled
def _glue(nodes: Nodes, balls: Balls, k: int, mass: float) -> None:
    """The k-th ball is caught by its node, from the momentum of both."""
    row, column, number = balls.node[k, ROW], balls.node[k, COLUMN], balls.numbers[balls.node[k, HIT]]
    _add_mass(nodes, row, column, k, mass)
    share = mass / nodes.mass[row, column, k]
    for axis in range(3):
        both = (1.0 - share) * nodes.speed[axis, row, column, k] + share * number[SPEED + axis]
        nodes.speed[axis, row, column, k] = both * nodes.free[axis, row, column]
    balls.marks[balls.node[k, HIT], GLUED] = 1


@compiled
def _add_mass(nodes: Nodes, row: int, column: int, k: int, mass: float) -> None:
    nodes.mass[row, column, k] += mass
    nodes.per_mass[row, column, k] = nodes.free[2, row, column] / nodes.mass[row, column, k]


@compiled
def _pulled_in(nodes: Nodes, side: int, k: int) -> float:
    """How far a side has been pulled inward in the plane, at its most, m, in the k-th hit."""
    upright, line, inward = nodes.sides[side, UPRIGHT], nodes.sides[side, LINE], nodes.sides[side, INWARD]
    rows, columns = nodes.free.shape[1:]
    most = -np.inf
    for along in range(rows if upright else columns):
        row, column = (along, line) if upright else (line, along)
        axis = 0 if upright else 1
        most = max(most, inward * float(nodes.moved[axis, row, column, k]))
    return most
