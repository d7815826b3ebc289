"""The ball on its way: what is known of it between two arcs, and scratch for the search."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from flightsim.engine.arc import ARC_SIZE
from flightsim.engine.compiled import place
from flightsim.engine.flight import NODE_SIZE
from flightsim.engine.layout import BayArrays
from flightsim.engine.nearest import FOUND_SIZE
from flightsim.engine.world import PARTS, WORDS

# ---- floats
POINT, VELOCITY, SPIN = place(0), place(3), place(6)  # m, m/s, rad/s, three each
LEVEL = place(9)  # three: the normal of the face that it rolls on
SINCE = place(12)  # m, three: where the first of its slow touches was
TIME = 15  # s since the strike
LONGEST = 16  # s that its next arc may take
STATE_SIZE = 17

# ---- whole numbers
SHOT = 0  # which row of a call's balls
LAST = 1  # the part that it touched last; -1: none
ON = 2  # the part that it rolls on; -1: it is in the air
SLOW = 3  # how many touches in a row were slow
WANTS = 4  # the part whose cloth must be worked out before the ball can be followed; -1: none
LOGS = 5  # 1 where touches are logged
LOGGED = 6  # how many
MARKS_SIZE = 7


class Ball(NamedTuple):
    """One ball. arc: the one that it flies or rolls; way: into cloth; own: which zones count for each shot."""

    state: np.ndarray
    marks: np.ndarray
    arc: np.ndarray
    way: np.ndarray
    nodes: np.ndarray
    found: np.ndarray
    seen: np.ndarray
    own: np.ndarray


def new_ball(bay: BayArrays, own: np.ndarray, logs: bool) -> Ball:
    """A ball with room for all that is known of it: one serves for all balls of a call."""
    marks = np.zeros(MARKS_SIZE, dtype=np.int64)
    marks[LOGS], marks[WANTS] = logs, -1
    parts, words = int(bay.world[PARTS]), int(bay.world[WORDS])
    return Ball(
        np.zeros(STATE_SIZE), marks, np.zeros(ARC_SIZE), np.zeros(ARC_SIZE), np.zeros(NODE_SIZE),
        np.zeros((parts, FOUND_SIZE)), np.zeros(words, dtype=np.uint64), own,
    )  # fmt: skip
