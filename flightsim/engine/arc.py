"""One arc of a ball: free flight, a roll, or its way into cloth, as a polynomial of time.

An arc is a row of numbers. What stands where in it is named here, and read through the functions below.
"""

from __future__ import annotations

import numpy as np

from flightsim.engine.compiled import compiled, place
from flightsim.engine.three import Vector, dot, fill, length, minus, plus, put, three, times
from flightsim.flight.integrator import DEGREE

TERMS = DEGREE + 3
PIECES = 4  # boxes an arc: more hug it closer and cost more
PATH = place(0)  # m: coefficient k of axis i, of tau = (t - start)/duration, at PATH + 3 k + i
AIR = PATH + 3 * TERMS  # m: the length of air flown through, same monomials, TERMS - 1 of them
SPIN = AIR + TERMS - 1  # rad/s, at tau 0
END_VELOCITY = SPIN + 3  # m/s, at tau 1
END_SPIN = END_VELOCITY + 3
START = END_SPIN + 3  # s since the strike
DURATION = START + 1  # s
ERROR = DURATION + 1  # m: bound of the position's error; NaN where the arc could not be flown
DECAY = ERROR + 1  # 1/m: spin falls by exp(-DECAY air)
ROLLS = DECAY + 1  # 1 for a ball that rolls: friction turns it evenly in time
BENDS = ROLLS + 1  # m: largest second derivative of position in tau, along each axis
BEND = BENDS + 3  # m: its largest length
SPEED = BEND + 1  # m: largest length of the first derivative in tau
BOXES = SPEED + 1  # m: of each piece, lower and upper corner of the box that the ball sweeps
SCRATCH = BOXES + 6 * PIECES  # three, for the normal that a test of a plugin gives
ARC_SIZE = SCRATCH + 3


@compiled
def position(arc: np.ndarray, tau: float) -> Vector:
    """Ball centre, m."""
    at = PATH + 3 * (TERMS - 1)
    x, y, z = arc[at], arc[at + 1], arc[at + 2]
    for _ in range(TERMS - 1):
        at -= 3
        x, y, z = x * tau + arc[at], y * tau + arc[at + 1], z * tau + arc[at + 2]
    return x, y, z


@compiled
def rate(arc: np.ndarray, tau: float) -> Vector:
    """First derivative of the position in tau, m."""
    at = PATH + 3 * (TERMS - 1)
    k = TERMS - 1.0
    x, y, z = arc[at] * k, arc[at + 1] * k, arc[at + 2] * k
    for _ in range(TERMS - 2):
        at -= 3
        k -= 1.0
        x, y, z = x * tau + arc[at] * k, y * tau + arc[at + 1] * k, z * tau + arc[at + 2] * k
    return x, y, z


@compiled
def velocity_at(arc: np.ndarray, tau: float) -> Vector:
    """Velocity, m/s."""
    if tau == 1.0:
        return three(arc, END_VELOCITY)
    return times(rate(arc, tau), 1.0 / arc[DURATION])


@compiled
def spin_at(arc: np.ndarray, tau: float) -> Vector:
    """Spin, rad/s."""
    first, last = three(arc, SPIN), three(arc, END_SPIN)
    if tau == 1.0:
        return last
    if arc[ROLLS] > 0.0:
        return plus(first, times(minus(last, first), tau))
    air = 0.0
    for k in range(TERMS - 2, -1, -1):
        air = air * tau + arc[AIR + k]
    return times(first, np.exp(-arc[DECAY] * air))


@compiled
def time_at(arc: np.ndarray, tau: float) -> float:
    """Time since the strike, s."""
    return arc[START] + tau * arc[DURATION]


@compiled
def bound(arc: np.ndarray, radius: float) -> None:
    """Write what bounds the whole arc, from its polynomial: bends, speed, and the boxes that its pieces sweep."""
    for axis in range(3):
        bend = 0.0
        for k in range(2, TERMS):
            bend += k * (k - 1.0) * abs(arc[PATH + 3 * k + axis])
        arc[BENDS + axis] = bend
    arc[BEND] = length(three(arc, BENDS))
    arc[SPEED] = length(three(arc, PATH + 3)) + arc[BEND]
    before = three(arc, PATH)
    for piece in range(PIECES):
        after = position(arc, (piece + 1.0) / PIECES)
        for axis in range(3):
            # A curve strays from its chord by at most bend h^2/8.
            margin = radius + arc[BENDS + axis] / (8.0 * PIECES * PIECES)
            at = BOXES + 6 * piece + axis
            arc[at] = min(before[axis], after[axis]) - margin
            arc[at + 3] = max(before[axis], after[axis]) + margin
        before = after


@compiled
def straight_arc(arc: np.ndarray, point: Vector, way: Vector, spin: Vector) -> None:
    """A straight way `way`, m, of one second, whose error is nought."""
    fill(arc, 0.0)
    put(arc, PATH, point)
    put(arc, PATH + 3, way)
    put(arc, SPIN, spin)
    put(arc, END_SPIN, spin)
    put(arc, END_VELOCITY, way)
    arc[DURATION] = 1.0


@compiled
def reach_along(arc: np.ndarray, direction: Vector, until: float) -> float:
    """How far the ball's centre may get along a unit direction up to tau `until`, m from the origin: a bound."""
    bends = abs(direction[0]) * arc[BENDS] + abs(direction[1]) * arc[BENDS + 1] + abs(direction[2]) * arc[BENDS + 2]
    ends = max(dot(direction, three(arc, PATH)), dot(direction, position(arc, until)))
    return ends + bends * until * until / 8.0
