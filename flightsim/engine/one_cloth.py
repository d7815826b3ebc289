"""Hits on one cloth and nothing else, for those who ask what its law does."""

from __future__ import annotations

import numpy as np

from flightsim.bay.parts import Bay
from flightsim.contact.giving import Give, answers
from flightsim.contact.rebound import Hits, Rebounds
from flightsim.contact.surroundings import surround
from flightsim.engine.bay_arrays import bay_arrays
from flightsim.engine.by_reference import by_reference
from flightsim.engine.cache import Kept
from flightsim.engine.cloth import leave_cloth
from flightsim.engine.compiled import NONE, entry_in
from flightsim.engine.layout import BayArrays
from flightsim.engine.moving import CARRIED, ONWARD, ONWARD_SPIN, STATE_SIZE, STAYED
from flightsim.engine.three import length, put, three
from flightsim.engine.world import world_of
from flightsim.flight.integrator import Physics

ONE_CLOTH = Kept.of("one-cloth", ("bay", "cloth", "contact", "engine", "flight"), "engine/one_cloth.py")
VELOCITY, SPIN, SINK, EDGE, UNKNOWN, WAY, STAY, LEFT_SIZE = 0, 3, 6, 7, 8, 9, 12, 13


@entry_in(ONE_CLOTH)
def leave_one(bay: BayArrays, hits: np.ndarray, left: np.ndarray, state: np.ndarray) -> None:
    """What the only part does to each hit, twelve numbers: point, velocity, spin, normal. left: `(n, 13)`."""
    bay = by_reference(bay)
    for row in range(len(hits)):
        hit, out = hits[row], left[row]
        put(state, CARRIED, (0.0, 0.0, 0.0))
        put(state, ONWARD, (0.0, 0.0, 0.0))
        state[STAYED] = 0.0
        after, turning, sink, edge, unknown = leave_cloth(
            bay, 0, three(hit, 0), three(hit, 3), three(hit, 6), three(hit, 9), state
        )
        if length(three(state, ONWARD)) > 0.0:
            after, turning = three(state, ONWARD), three(state, ONWARD_SPIN)
        put(out, VELOCITY, after)
        put(out, SPIN, turning)
        out[SINK], out[EDGE], out[UNKNOWN] = sink, edge, 1.0 if unknown else 0.0
        put(out, WAY, three(state, CARRIED))
        out[STAY] = state[STAYED]


def left_by(give: Give, hits: Hits) -> Rebounds:
    """The balls just after, of hits on this cloth."""
    left = _left(give, hits)
    velocity, spin = left[:, VELOCITY : VELOCITY + 3].T.copy(), left[:, SPIN : SPIN + 3].T.copy()
    edge = left[:, EDGE].astype(np.intp)
    still = np.sqrt((velocity**2).sum(axis=0)) < hits.facing.hold
    return Rebounds(
        velocity, spin, still & (edge == NONE), left[:, SINK].copy(), edge != NONE, left[:, UNKNOWN] > 0.0, edge
    )


def carried_by(give: Give, hits: Hits) -> tuple[np.ndarray, np.ndarray]:
    """How far along this cloth hits on it are carried `(3, k)`, m, if nothing is in the way, and how long `(k,)`, s."""
    left = _left(give, hits)
    return left[:, WAY : WAY + 3].T.copy(), left[:, STAY].copy()


def _left(give: Give, hits: Hits) -> np.ndarray:
    part = hits.part
    lower, upper = part.shape.bounds()
    bay = Bay((part,), (), np.minimum(lower, 0.0) - 1.0, np.maximum(upper, 0.0) + 1.0)
    around = surround(bay, (), {part.facing: hits.facing}, {part.name: give})
    arrays = bay_arrays(around, hits.ball, world_of(Physics(ball=hits.ball), bay), {0})
    left = np.zeros((hits.point.shape[1], LEFT_SIZE))
    leave_one(
        arrays, np.concatenate([hits.point, hits.velocity, hits.spin, hits.normal]).T.copy(), left, np.zeros(STATE_SIZE)
    )
    return left


answers.append(left_by)
