"""One arc of a ball: free flight, a roll, or its way into cloth, as a polynomial of time.

An arc is a row of numbers. What stands where in it is named here, and read through the functions below.
"""

from __future__ import annotations

import numpy as np

from flightsim.engine.compiled import compiled, place
from flightsim.engine.three import Vector, dot, fill, length, minus, plus, put, three, times
from flightsim.flight.integrator import DEGREE

BEGIN, GAIN, TURN = map(place, (0, 1, 2))  # the path's constant, linear and square coefficients
TERMS = DEGREE + 3  # as many as there are lanes
PIECES = 4  # boxes an arc: more hug it closer and cost more
PATH = place(0)  # m: coefficient k of axis i, of tau = (t - start)/duration, at PATH + TERMS i + k
AIR = PATH + 3 * TERMS  # m: the length of air flown through, same monomials; the last one is nought
SPIN = AIR + TERMS  # rad/s, at tau 0
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
SCRATCH = BOXES + 6 * PIECES  # for a test of a plugin: the normal that it gives, and the path as it is given
ARC_SIZE = SCRATCH + 3 + 3 * TERMS


@compiled
def position(arc: np.ndarray, tau: float) -> Vector:
    """Ball centre, m."""
    return _along(arc, PATH, tau), _along(arc, PATH + TERMS, tau), _along(arc, PATH + 2 * TERMS, tau)


@compiled
def _along(arc: np.ndarray, first: int, tau: float) -> float:
    """A polynomial, its halves side by side: less waiting for one another than one term after the other."""
    square = tau * tau
    early = (arc[first] + arc[first + 1] * tau) + (arc[first + 2] + arc[first + 3] * tau) * square
    late = (arc[first + 4] + arc[first + 5] * tau) + (arc[first + 6] + arc[first + 7] * tau) * square
    return early + late * (square * square)


@compiled
def rate(arc: np.ndarray, tau: float) -> Vector:
    """First derivative of the position in tau, m."""
    return _rate_along(arc, PATH, tau), _rate_along(arc, PATH + TERMS, tau), _rate_along(arc, PATH + 2 * TERMS, tau)


@compiled
def _rate_along(arc: np.ndarray, first: int, tau: float) -> float:
    """Its derivative."""
    square = tau * tau
    early = (arc[first + 1] + 2.0 * arc[first + 2] * tau) + (3.0 * arc[first + 3] + 4.0 * arc[first + 4] * tau) * square
    late = (5.0 * arc[first + 5] + 6.0 * arc[first + 6] * tau) + 7.0 * arc[first + 7] * square
    return early + late * (square * square)


@compiled
def coefficients_at(arc: np.ndarray, k: int) -> Vector:
    """The coefficients k of the path."""
    return arc[PATH + k], arc[PATH + TERMS + k], arc[PATH + 2 * TERMS + k]


@compiled
def put_coefficients(arc: np.ndarray, k: int, a: Vector) -> None:
    """Write the coefficients k of the path."""
    arc[PATH + k], arc[PATH + TERMS + k], arc[PATH + 2 * TERMS + k] = a[0], a[1], a[2]


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
    return times(first, np.exp(-arc[DECAY] * _along(arc, AIR, tau)))


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
            bend += k * (k - 1.0) * abs(arc[PATH + TERMS * axis + k])
        arc[BENDS + axis] = bend
    arc[BEND] = length(three(arc, BENDS))
    arc[SPEED] = length(coefficients_at(arc, GAIN)) + arc[BEND]
    before = coefficients_at(arc, BEGIN)
    for piece in range(PIECES):
        after = position(arc, (piece + 1.0) / PIECES)
        for axis in range(3):
            # A curve strays from its chord by at most bend h^2/8.
            margin = radius + arc[BENDS + axis] / (8.0 * PIECES * PIECES)
            corner = BOXES + 6 * piece + axis
            arc[corner] = min(before[axis], after[axis]) - margin
            arc[corner + 3] = max(before[axis], after[axis]) + margin
        before = after


@compiled
def straight_arc(arc: np.ndarray, point: Vector, way: Vector, spin: Vector) -> None:
    """A straight way `way`, m, of one second, whose error is nought."""
    fill(arc, 0.0)
    put_coefficients(arc, BEGIN, point)
    put_coefficients(arc, GAIN, way)
    put(arc, SPIN, spin)
    put(arc, END_SPIN, spin)
    put(arc, END_VELOCITY, way)
    arc[DURATION] = 1.0


@compiled
def reach_along(arc: np.ndarray, direction: Vector, end: Vector, until: float) -> float:
    """How far the ball's centre may get along a unit direction up to tau `until`, where it is at `end`: a bound, m from
    the origin.
    """
    bends = abs(direction[0]) * arc[BENDS] + abs(direction[1]) * arc[BENDS + 1] + abs(direction[2]) * arc[BENDS + 2]
    return max(dot(direction, coefficients_at(arc, BEGIN)), dot(direction, end)) + bends * until * until / 8.0
