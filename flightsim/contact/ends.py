"""How arcs end: at the first part that the ball touches, through an opening, or nowhere that is known."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Role
from flightsim.contact.arcs import TIE, ArcBatch
from flightsim.contact.leaving import leaving
from flightsim.contact.touch import Touch, heeded

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# Tests a whole batch of arcs against the parts of one plugin.
BatchTest = Callable[[ArcBatch], Sequence[Touch]]


@dataclass(frozen=True)
class Ends:
    """Where each of n arcs ends.

    part `(n,)` int: index into bay.parts, -1 for none; opening `(n,)` int: index into bay.openings, -1 for none,
    len(openings) where it leaves the room and no opening is known; tau `(n,)`: when, 1 where nothing ends it;
    normal `(3, n)`, unit, from the part toward the ball, or out of the opening; failed `(n,)`: nobody knows.
    """

    part: Index
    opening: Index
    tau: Array
    normal: Array
    failed: NDArray[np.bool_]

    @property
    def goes_on(self) -> NDArray[np.bool_]:
        """Arcs that end nowhere: the ball flies on."""
        return (self.part < 0) & (self.opening < 0) & ~self.failed


def arc_ends(bay: Bay, arcs: ArcBatch, tests: Sequence[BatchTest]) -> Ends:
    """The end of each arc. tests: one a plugin; together they cover all parts.

    The earliest touch wins; ties within 1 micrometre of path go to what is no guard, then by part name, so the order
    of tests never shows. An arc that missed its tolerance may be anywhere: what it seems to touch is nothing to go by.
    """
    n = len(arcs)
    touches = [heeded(touch, arcs) for test in tests for touch in test(arcs)]
    ends = Ends(np.full(n, -1), np.full(n, -1), np.ones(n), np.zeros((3, n)), np.zeros(n, dtype=bool))
    balls, tau, normal, part = earliest(bay, arcs, touches)
    soonest = np.full(n, np.inf)
    soonest[balls] = tau
    out_balls, out_tau, out_normal, opening = leaving(bay, arcs, soonest)
    for kind, who, when, direction, what in (
        (ends.part, balls, tau, normal, part),
        (ends.opening, out_balls, out_tau, out_normal, opening),
    ):
        kind[who], ends.tau[who], ends.normal[:, who] = what, when, direction
    ends.part[out_balls] = -1
    ends.failed[:] = ~np.isfinite(arcs.flights.error)
    for touch in touches:
        ends.failed[touch.undecided] = True
    ends.part[ends.failed] = ends.opening[ends.failed] = -1
    return ends


def earliest(bay: Bay, arcs: ArcBatch, touches: list[Touch]) -> tuple[Index, Array, Array, Index]:
    """The first touch of each ball that touches anything: balls, tau, normal, part index.

    A tie goes to what is no guard: cloth flat on a wall stops no ball.
    """
    place = {part.name: k for k, part in enumerate(bay.parts)}
    balls = np.concatenate([np.empty(0, dtype=np.intp), *(t.balls for t in touches)])
    tau = np.concatenate([np.empty(0), *(t.tau for t in touches)])
    normal = np.concatenate([np.empty((3, 0)), *(t.normal for t in touches)], axis=1)
    part = np.concatenate(
        [
            np.empty(0, dtype=np.intp),
            *(np.full(t.balls.size, place[t.part.name], dtype=np.intp) for t in touches),
        ]
    )
    soonest = np.full(len(arcs), np.inf)
    np.minimum.at(soonest, balls, tau)
    tie = tau <= soonest[balls] + TIE / arcs.speed[balls]  # as the tests skip what comes later, to the last digit
    balls, tau, normal, part = balls[tie], tau[tie], normal[:, tie], part[tie]
    rank = np.argsort(np.lexsort(([p.name for p in bay.parts], [p.role is Role.GUARD for p in bay.parts])))
    order = np.lexsort((rank[part], balls))
    first = order[np.unique(balls[order], return_index=True)[1]]
    return balls[first], tau[first], normal[:, first], part[first]
