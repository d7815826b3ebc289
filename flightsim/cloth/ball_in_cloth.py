"""Balls in a cloth's lattice, followed until they have left it for good: let go, caught up with, and let go again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth import following as at
from flightsim.cloth.following import Balls, follow_balls, follow_finely
from flightsim.cloth.lattice import Lattice

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Places = NDArray[np.intp]

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
        hits = np.arange(side.size)
        self.node = np.column_stack([nodes[1], nodes[0], side, hits]).astype(np.int64)  # of the hits still there
        self.numbers, self.marks = np.zeros((side.size, at.BALL_SIZE)), np.zeros((side.size, 3), dtype=np.int64)
        self.numbers[:, at.RETURN_TIME] = np.nan
        self.marks[:, at.GLUED] = 1
        self.energy: list[Array] = []

    def follow(self, step: float, clear: float = 1.0) -> Strikes:
        """Follow all, in steps of s, until each is so many times as far in front of the cloth as it sank."""
        done, last = 0, int(LONGEST / step)
        while done < last and not self.marks[:, at.DONE].all():
            self._note_energy()
            done = self._go_on(done + 1, done + 1 if self.keep_energy else last, step, clear)
            going = self.marks[self.node[:, at.HIT], at.DONE] == 0
            if not self.keep_energy and going.any() and not going.all():
                self.lattice.keep(going)
                self.node = np.ascontiguousarray(self.node[going])
        self._note_energy()
        return self._strikes()

    def _go_on(self, first: int, last: int, step: float, clear: float) -> int:
        """Steps first to last, or fewer: until a tenth of the balls has gone. Says how many were done."""
        balls = Balls(self.numbers, self.marks, self.node)
        given = self.lattice.sheet, self.lattice.pulls, balls, self.ball_mass, self.lattice.times(step)
        follow = follow_balls if self.lattice.kind is np.float32 else follow_finely
        return follow(*given, clear, first, last, self.to_deepest)

    def _strikes(self) -> Strikes:
        turned = self.marks[:, at.TURNED] == 1
        left = (self.marks[:, at.DONE] == 1) & (not self.to_deepest)
        depth, time = (np.where(turned, self.numbers[:, k], np.nan) for k in (at.DEPTH, at.DEPTH_TIME))
        ends = (-self.numbers[:, at.SPEED + 2], self.numbers[:, at.RETURN_TIME], self.numbers[:, at.EDGE_MOVED])
        back, gone, moved = (np.where(left, each, np.nan) for each in ends)
        return Strikes(depth, time, back, gone, moved, left, np.array(self.energy))

    def _note_energy(self) -> None:
        if self.keep_energy:
            hit = self.node[:, at.HIT]
            flying = 0.5 * self.ball_mass * np.sum(self.numbers[hit, at.SPEED : at.SPEED + 3] ** 2, axis=1)
            free = self.marks[hit, at.GLUED] == 0
            self.energy.append(self.lattice.energy() + np.where(free, flying, 0.0))
