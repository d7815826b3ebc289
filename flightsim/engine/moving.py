"""The ball on its way: what is known of it between two arcs, and scratch for the search."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from flightsim.contact.law_table import VALUES
from flightsim.contact.limits import BEHIND_HIGH, BEHIND_LOW
from flightsim.engine.arc import ARC_SIZE
from flightsim.engine.compiled import compiled, place
from flightsim.engine.flight import NODE_SIZE
from flightsim.engine.layout import (
    BOX,
    CENTRE,
    CODE_SIZE,
    CORE,
    HIGH,
    KIND,
    LOW,
    SOLID_SIZE,
    STRAIGHT,
    BayArrays,
)
from flightsim.engine.nearest import FOUND_SIZE
from flightsim.engine.world import LOWER, PARTS, UPPER, WORDS

# ---- floats
POINT, VELOCITY, SPIN = place(0), place(3), place(6)  # m, m/s, rad/s, three each
LEVEL = place(9)  # three: the normal of the face that it rolls on
SINCE = place(12)  # m, three: where the first of the slow or jammed touches in a row was
TIME = 15  # s since the strike
LONGEST = 16  # s that its next arc may take
SLIP = 17  # m/s: how fast it got past the part that it SLIPPED past
CARRIED = place(18)  # m, three: how far along itself the cloth that it touched carried it
STAYED = 21  # s: how long that took
ONWARD, ONWARD_SPIN = place(22), place(25)  # m/s, rad/s, three each: of one that goes on past the edge that it is
# carried to; nought for one that does not
UNOPENED = 28  # 1: that edge its hit did not open
TOUCHED_AT = place(29)  # m, three: where its last touch left it
STATE_SIZE = 32

# ---- whole numbers
SHOT = 0  # which row of a call's balls
LAST = 1  # the part that it touched last; -1: none
ON = 2  # the part that it rolls on; -1: it is in the air
STUCK = 3  # how many touches in a row were slow, or jammed it
WANTS = 4  # the part whose cloth must be worked out before the ball can be followed; -1: none
LOGS = 5  # 1 where touches are logged
LOGGED = 6  # how many
PAST, PAST_BEFORE = 7, 8  # the parts that it got past last, not there for it until it is clear of them; -1: none
SLIPPED = 9  # the part that it got past and that no other guard has made up for since; -1: none
EDGE = 10  # which edge of that part, as in Fates
MARKS_SIZE = 11
ALONE = place(0)  # the row of what stands alone in its arrays


class Ball(NamedTuple):
    """One ball. arc: the one that it flies or rolls; way: into cloth; own: which zones count for each shot; space: the
    box behind its tee, alone; table: scratch for what a law's table says.
    """

    state: np.ndarray
    marks: np.ndarray
    arc: np.ndarray
    way: np.ndarray
    nodes: np.ndarray
    touches: np.ndarray
    seen: np.ndarray
    own: np.ndarray
    space: BayArrays
    table: np.ndarray


@compiled
def strayed(ball: Ball, since: int) -> float:
    """How far along any axis, at most, the ball is from the place that its state keeps at `since`, m."""
    most = 0.0
    for axis in range(3):
        most = max(most, abs(ball.state[POINT + axis] - ball.state[since + axis]))
    return most


def new_ball(bay: BayArrays, own: np.ndarray, logs: bool) -> Ball:
    """A ball with room for all that is known of it: one serves for all balls of a call."""
    marks = np.zeros(MARKS_SIZE, dtype=np.int64)
    marks[LOGS], marks[WANTS] = logs, -1
    parts, words = int(bay.world[PARTS]), int(bay.world[WORDS])
    return Ball(
        np.zeros(STATE_SIZE), marks, np.zeros(ARC_SIZE), np.zeros(ARC_SIZE), np.zeros(NODE_SIZE),
        np.zeros((parts, FOUND_SIZE)), np.zeros(words, dtype=np.uint64), own, _space(bay), np.zeros(VALUES),
    )  # fmt: skip


def _space(bay: BayArrays) -> BayArrays:
    """The space behind a tee at the far end of the room."""
    solids, codes = np.zeros((1, SOLID_SIZE)), np.zeros((1, CODE_SIZE), dtype=np.int64)
    codes[0, KIND], codes[0, STRAIGHT] = BOX, 1
    low, high = (bay.world[first : first + 3].copy() for first in (LOWER, UPPER))
    low[2], high[2] = bay.world[LOWER + 2] + BEHIND_LOW, bay.world[LOWER + 2] + BEHIND_HIGH
    solids[0, LOW : LOW + 3], solids[0, HIGH : HIGH + 3] = low, high
    solids[0, CENTRE : CENTRE + 3], solids[0, CORE : CORE + 3] = (low + high) / 2.0, (high - low) / 2.0
    return BayArrays(solids, codes, np.zeros(1), np.zeros((1, 1), dtype=np.uint64), bay.world)


@compiled
def behind_the_tee(ball: Ball, tee: float) -> None:
    """The space behind this ball's tee, m along the room."""
    row = ball.space.solids[0]
    row[HIGH] = tee
    row[CENTRE], row[CORE] = (row[LOW] + tee) / 2.0, (tee - row[LOW]) / 2.0
