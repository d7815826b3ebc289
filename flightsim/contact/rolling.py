"""Balls that roll: along a face that is nearly level, slowed by rolling friction, drawn by its slope."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.arcs import Flights
from flightsim.flight.ball import Ball

Array = NDArray[np.float64]

SETTLES = 0.35  # m/s: a ball that would leave a nearly level face slower (a hop of 6 mm) rolls on it: judgement
NEARLY_LEVEL = 0.94  # upward part of the face's normal, 20 deg: judgement; steeper, a ball hops down
LIFT = 5.0e-7  # m: a rolling ball is kept this far off its face, so that seams are no obstacles; less than touch.INSIDE
LONGEST_ROLL = 0.25  # s an arc: its friction keeps the direction that it began with
STILL = 1.0e-6  # m/s
OFF = 1.0e-3  # m: a face further below the ball than this no longer carries it


def settle(velocity: Array, spin: Array, normal: Array, ball: Ball) -> tuple[Array, Array]:
    """Velocity and spin `(3, n)` when slipping has ended: v_t + k R w about the contact is kept, u is nought."""
    along = velocity - normal * (velocity * normal).sum(axis=0)
    slip = along - ball.radius * np.cross(spin, normal, axis=0)
    slip -= normal * (slip * normal).sum(axis=0)
    rolling = along - slip / (1.0 + 1.0 / ball.inertia_factor)
    return rolling, np.cross(normal, rolling, axis=0) / ball.radius


def roll_arcs(
    point: Array, velocity: Array, normal: Array, friction: Array, start: Array, gravity: float, ball: Ball, terms: int
) -> tuple[Flights, NDArray[np.bool_]]:
    """Arcs of rolling balls, and which of them come to rest at the end of theirs `(n,)`.

    A solid ball on a slope gathers g sin/(1 + k); rolling friction takes mu_r g cos along its way (Penner 2002, Can.
    J. Phys. 80:83, from memory). point, velocity, normal `(3, n)`; friction mu_r, start (time, s) `(n,)`; terms:
    number of coefficients of the paths.
    """
    n = point.shape[1]
    down = np.zeros((3, n))
    down[2] = -gravity
    pull = (down - normal * (down * normal).sum(axis=0)) / (1.0 + ball.inertia_factor)
    grip = friction * gravity * np.abs(normal[2])
    speed = np.sqrt((velocity * velocity).sum(axis=0))
    drawn = np.sqrt((pull * pull).sum(axis=0))
    # A ball that lies still goes where the slope draws it, if that is more than friction holds.
    still = speed < STILL
    way = np.where(still, pull / np.maximum(drawn, 1.0e-300), velocity / np.maximum(speed, 1.0e-300))
    acceleration = np.where(still & (drawn <= grip), 0.0, pull - way * grip)
    slowing = -(acceleration * way).sum(axis=0)
    until_stop = np.where(slowing > 0.0, speed / np.maximum(slowing, 1.0e-300), np.inf)
    duration = np.clip(np.minimum(until_stop, LONGEST_ROLL), 1.0e-6, None)
    rests = ((until_stop <= LONGEST_ROLL) | still) & (drawn <= grip)
    path = np.zeros((terms, 3, n))
    path[0], path[1], path[2] = point, velocity * duration, acceleration * (0.5 * duration * duration)
    end = velocity + acceleration * duration
    turning, turned = (np.cross(normal, v, axis=0) / ball.radius for v in (velocity, end))
    return Flights(start, duration, path, turning, end, turned, np.zeros((terms - 1, n)), 0.0, np.zeros(n)), rests
