"""Balls in a cloth's lattice, followed until they have left it for good: let go, caught up with, and let go again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth import ball_on_node as ball
from flightsim.cloth.ball_on_node import Balls
from flightsim.cloth.following import Queue, follow_balls, follow_finely, make_lattice_ready
from flightsim.cloth.lattice import DAMPING_TIME, Lattice, nodes_of
from flightsim.cloth.mesh import Mesh
from flightsim.cloth.sixteen import LANES
from flightsim.cloth.sixteen_step import sixteen_hits
from flightsim.engine.compiled import NONE

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Places = NDArray[np.intp]

AS_FAR = 1.0  # times as far in front of the cloth as it sank: a ball that has left for good
LONGEST = 0.5  # s; slack cloth keeps a ball for .12 s at most; what is not over then is unresolved


@dataclass(frozen=True)
class Strikes:
    """What hits did, one value a hit `(n,)`.

    depth, m, and its time, s, NaN for a ball that still sinks at the end. left: it has gone for good; else NaN are
    return_speed, m/s, back toward where it came from, its time, s, and edge_moved, m: how far the edge nearest to the
    hit was pulled inward in the plane, at its most, until the ball left. energy `(steps, n)`, J, of ball, cloth and
    cords, if kept.
    """

    depth: Array
    depth_time: Array
    return_speed: Array
    return_time: Array
    edge_moved: Array
    left: Mask
    energy: Array

    def taken(self, hits: Places) -> Strikes:
        """These hits alone, in this order, without their energies."""
        numbers = self.depth[hits], self.depth_time[hits], self.return_speed[hits], self.return_time[hits]
        return Strikes(*numbers, self.edge_moved[hits], self.left[hits], np.zeros((0, 0)))


def balls_at_rest(nodes: list[Places], side: Places) -> Balls:
    """Balls glued to their nodes, at (columns, rows), each with the side nearest to it."""
    hits = np.arange(side.size)
    numbers, marks = np.zeros((side.size, ball.BALL_SIZE)), np.zeros((side.size, 3), dtype=np.int64)
    numbers[:, ball.RETURN_TIME] = np.nan
    marks[:, ball.GLUED] = 1
    return Balls(numbers, marks, np.column_stack([nodes[1], nodes[0], side, hits]).astype(np.int64))


def strikes_of(balls: Balls, to_deepest: bool, energy: Array) -> Strikes:
    """What the balls did, once they have been followed."""
    numbers, marks = balls.numbers, balls.marks
    turned = marks[:, ball.TURNED] == 1
    left = (marks[:, ball.DONE] == 1) & (not to_deepest)
    depth, time = (np.where(turned, numbers[:, k], np.nan) for k in (ball.DEPTH, ball.DEPTH_TIME))
    ends = (-numbers[:, ball.SPEED + 2], numbers[:, ball.RETURN_TIME], numbers[:, ball.EDGE_MOVED])
    back, gone, moved = (np.where(left, each, np.nan) for each in ends)
    return Strikes(depth, time, back, gone, moved, left, energy)


class BallsInCloth:
    """Steps hits until each ball has left for good, or the time is over, and leaves those away that are done.

    A ball is glued to the node that it hit, from the momentum of both. On its way back, once the cloth would have to
    pull it on, it goes: cloth only pushes. It then flies on at an even speed (its weight is left out) until the node
    catches up with it, and is glued again. It has left for good when it is as far in front of the cloth's rest plane
    as it sank: a cloth that has given energy away swings out less far than it was pushed in.
    """

    def __init__(
        self, lattice: Lattice, nodes: list[Places], side: Places, ball_mass: float, *, to_deepest: bool, energy: bool
    ) -> None:
        self.lattice, self.ball_mass = lattice, ball_mass
        self.to_deepest, self.keep_energy = to_deepest, energy
        self.balls = balls_at_rest(nodes, side)
        self.energy: list[Array] = []

    def follow(self, step: float) -> Strikes:
        """Follow all, in steps of s."""
        done, last = 0, int(LONGEST / step)
        while done < last and not self.balls.marks[:, ball.DONE].all():
            self._note_energy()
            done = self._go_on(done + 1, done + 1 if self.keep_energy else last, step)
            going = self.balls.marks[self.balls.node[:, ball.HIT], ball.DONE] == 0
            if not self.keep_energy and going.any() and not going.all():
                self.lattice.keep(going)
                self.balls = self.balls._replace(node=np.ascontiguousarray(self.balls.node[going]))
        self._note_energy()
        return strikes_of(self.balls, self.to_deepest, np.array(self.energy))

    def _go_on(self, first: int, last: int, step: float) -> int:
        """Steps first to last, or fewer: until a tenth of the balls has gone. Says how many were done."""
        lattice = self.lattice
        given = lattice.sheet, lattice.pulls, lattice.nodes, self.balls, self.ball_mass, lattice.times(step)
        return follow_finely(*given, AS_FAR, first, last, self.to_deepest)

    def _note_energy(self) -> None:
        if self.keep_energy:
            numbers, hit = self.balls.numbers, self.balls.node[:, ball.HIT]
            flying = 0.5 * self.ball_mass * np.sum(numbers[hit, ball.SPEED : ball.SPEED + 3] ** 2, axis=1)
            free = self.balls.marks[hit, ball.GLUED] == 0
            self.energy.append(self.lattice.energy() + np.where(free, flying, 0.0))


def follow_sixteen(
    mesh: Mesh, speeds: Array, nodes: list[Places], side: Places, ball_mass: float, step: float, *, clear: float,
    still: float, to_deepest: bool,
) -> Strikes:  # fmt: skip
    """The same in single numbers, sixteen hits at a time, of balls of these speeds, m/s `(n,)`, at nodes (columns,
    rows) next to a side, in steps of s. clear: each is followed until it is so many times as far in front of the cloth
    as it sank; still, m/s: see SixteenHits.
    """
    make_lattice_ready()
    hits, balls = sixteen_hits(mesh, still), balls_at_rest(nodes, side)
    rest_mass = mesh.mass[..., 0].astype(np.float32)
    whole = rest_mass[nodes[1], nodes[0]] + np.float32(ball_mass)
    starts = np.column_stack([whole, speeds * ball_mass / whole]).astype(np.float32)
    queue = Queue(balls.node, starts, rest_mass, np.zeros(LANES, dtype=np.int64))
    places = np.zeros((LANES, ball.NODE_SIZE), dtype=np.int64)
    places[:, ball.HIT] = NONE
    times = np.array([DAMPING_TIME, step], dtype=np.float32)
    follow_balls(
        hits, nodes_of(hits, mesh), balls._replace(node=places), queue, ball_mass, times, clear, int(LONGEST / step),
        to_deepest,
    )  # fmt: skip
    return strikes_of(balls, to_deepest, np.zeros((0, 0)))
