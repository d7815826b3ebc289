"""Balls in a cloth's lattice, followed until they have left it for good: let go, caught up with, and let go again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.lattice import Lattice

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Places = NDArray[np.intp]

LONGEST = 0.5  # s; slack cloth keeps a ball for .12 s at most; what is not over then is unresolved
EDGE_EVERY = 8  # steps: rims are heavy and slow


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
        self.lattice, self.nodes, self.side, self.ball_mass = lattice, nodes, side, ball_mass
        self.to_deepest, self.keep_energy = to_deepest, energy
        hits = side.size
        self.alive = np.arange(hits)  # the hits still in the lattice, by number
        self.depth, self.depth_time, self.edge_moved, self.edge_now = np.zeros((4, hits))
        self.return_time = np.full(hits, np.nan)
        self.turned, self.done = np.zeros((2, hits), dtype=np.bool_)
        self.glued = np.ones(hits, dtype=np.bool_)
        self.place = np.zeros(hits)  # of free balls, m along the way that the ball came
        self.speed = np.zeros((3, hits))  # of free balls, m/s
        self.energy: list[Array] = []

    def follow(self, step: float) -> Strikes:
        """Follow all, in steps of s."""
        for count in range(1, int(LONGEST / step) + 1):
            before = self._at_ball(self.lattice.speed)
            self._note_energy()
            self.lattice.advance(step)
            self._note(before, count, step)
            going = ~self.done[self.alive]
            if not going.any():
                break
            if not self.keep_energy and 10 * np.count_nonzero(going) <= 9 * going.size:
                self.lattice.keep(going)
                self.alive = self.alive[going]
        self._note_energy()
        left = self.done & (not self.to_deepest)
        return Strikes(
            np.where(self.turned, self.depth, np.nan), np.where(self.turned, self.depth_time, np.nan),
            np.where(left, -self.speed[2], np.nan), np.where(left, self.return_time, np.nan),
            np.where(left, self.edge_moved, np.nan), left, np.array(self.energy),
        )  # fmt: skip

    def _node(self, some: Places | slice = slice(None)) -> tuple[Places, Places, Places]:
        """The nodes that the balls hit, in the lattice: of all there, or of some."""
        alive = self.alive[some]
        return self.nodes[1][alive], self.nodes[0][alive], np.arange(self.alive.size)[some]

    def _at_ball(self, nodes: Array) -> Array:
        """What is known of all nodes, at the balls `(3, alive)`."""
        return np.asarray(nodes[(slice(None), *self._node())])

    def _note(self, before: Array, count: int, step: float) -> None:
        """Write down what the step did to hits that still go on. before: the nodes' speeds before it."""
        on = ~self.done[self.alive]
        self._move_free(on, step)
        self._touch(on)
        glued = on & self.glued[self.alive]
        hit, time = self.alive[glued], count * step
        depth, now, before = (each[glued] for each in (self._at_ball(self.lattice.place)[2], *self._speeds(before)))
        deeper = depth > self.depth[hit]
        self.depth[hit[deeper]], self.depth_time[hit[deeper]] = depth[deeper], time
        self.turned[hit[now < 0.0]] = True
        if count % EDGE_EVERY == 0:
            moved = self.lattice.mesh.pulled_in(self.lattice.place)[self.side[self.alive], np.arange(self.alive.size)]
            self.edge_now[self.alive] = np.maximum(self.edge_now[self.alive], moved)
        self.edge_moved[hit] = self.edge_now[hit]
        if self.to_deepest:
            self.done[hit] = now < 0.0
            return
        self._let_go(np.flatnonzero(glued)[(now < 0.0) & (now > before)], depth[(now < 0.0) & (now > before)], time)
        self.done |= ~self.glued & (self.place <= -self.depth)

    def _speeds(self, before: Array) -> tuple[Array, Array]:
        """Speeds of the nodes along the ball's way `(alive,)`, now and before the step."""
        return self._at_ball(self.lattice.speed)[2], before[2]

    def _move_free(self, on: Mask, step: float) -> None:
        free = self.alive[on & ~self.glued[self.alive]]
        self.place[free] += self.speed[2, free] * step

    def _let_go(self, some: Places, place: Array, time: float) -> None:
        """These balls in the lattice leave their nodes, at this place, m, and time, s, with the speed of the node."""
        if some.size == 0:
            return
        hit, at = self.alive[some], self._node(some)
        self.glued[hit], self.return_time[hit] = False, time
        self.place[hit], self.speed[:, hit] = place, self.lattice.speed[(slice(None), *at)]
        self.lattice.add_mass(at, -self.ball_mass)

    def _touch(self, on: Mask) -> None:
        """Free balls that their node has caught up with are glued to it again, from the momentum of both."""
        node, speed = self._at_ball(self.lattice.place)[2], self._at_ball(self.lattice.speed)[2]
        caught = on & ~self.glued[self.alive] & (node <= self.place[self.alive]) & (speed < self.speed[2, self.alive])
        some = np.flatnonzero(caught)
        if some.size == 0:
            return
        hit, at = self.alive[some], self._node(some)
        whole = self.lattice.add_mass(at, self.ball_mass)
        there = (slice(None), *at)
        share = self.ball_mass / whole
        self.lattice.speed[there] = (1.0 - share) * self.lattice.speed[there] + share * self.speed[:, hit]
        self.lattice.speed[there] *= self.lattice.mesh.free[:, at[0], at[1], 0]
        self.glued[hit] = True

    def _note_energy(self) -> None:
        if self.keep_energy:
            free = ~self.glued[self.alive]
            flying = 0.5 * self.ball_mass * np.sum(self.speed[:, self.alive] ** 2, axis=0)
            self.energy.append(self.lattice.energy() + np.where(free, flying, 0.0))
