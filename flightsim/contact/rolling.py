"""Balls that slide and roll along a face that is nearly level, slowed by friction, drawn by its slope."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.arcs import Flights
from flightsim.flight.ball import Ball

Array = NDArray[np.float64]

SETTLES = 0.35  # m/s: a ball that would leave a nearly level face slower (a hop of 6 mm) rolls on it: judgement
NEARLY_LEVEL = 0.94  # upward part of the face's normal, 20 deg: judgement; steeper, a ball hops down
LIFT = 5.0e-7  # m: a rolling ball is kept this far off its face, so that seams are no obstacles; less than touch.INSIDE
LONGEST_ROLL = 0.25  # s an arc: its friction keeps the direction that it began with
SLIPS = 0.01  # m/s at the contact: below, a ball rolls
STILL = 1.0e-6  # m/s
OFF = 1.0e-3  # m: a face further below the ball than this no longer carries it


@dataclass(frozen=True)
class OnFace:
    """n balls on a face. point, velocity (along the face), normal `(3, n)`; spin `(3, n)`, rad/s; rolling and sliding
    friction `(n,)`; start `(n,)`, s.
    """

    point: Array
    velocity: Array
    normal: Array
    spin: Array
    rolling: Array
    sliding: Array
    start: Array


def roll_arcs(balls: OnFace, gravity: float, ball: Ball, terms: int) -> tuple[Flights, NDArray[np.bool_]]:
    """Arcs of balls that slide or roll, and which of them come to rest at the end of theirs `(n,)`.

    One that slips, u = v - R w at the contact, is slowed by mu g cos against u and turned by it until u is nought, at
    u/((1 + 1/k) mu g cos); then it rolls. A rolling ball gathers g sin/(1 + k) on a slope; rolling friction takes
    mu_r g cos along its way. Mechanics of a solid sphere; rolling friction after Penner 2002, Can. J. Phys. 80:83, from
    memory. terms: number of coefficients of the paths.
    """
    normal, velocity, k = balls.normal, balls.velocity, ball.inertia_factor
    down = np.zeros_like(velocity)
    down[2] = -gravity
    along = down - normal * (down * normal).sum(axis=0)
    press = gravity * np.abs(normal[2])
    slip = velocity - ball.radius * np.cross(balls.spin, normal, axis=0)
    slip -= normal * (slip * normal).sum(axis=0)
    slide = np.sqrt((slip * slip).sum(axis=0))
    slips = (slide > SLIPS) & (balls.sliding > 0.0)
    against = slip / np.maximum(slide, 1.0e-300)
    rolled, until_stop, still_held = _rolling(along / (1.0 + k), velocity, balls.rolling * press)
    drag = balls.sliding * press
    acceleration = np.where(slips, along - against * drag, rolled)
    until = np.where(slips, slide / np.maximum((1.0 + 1.0 / k) * drag, 1.0e-300), until_stop)
    duration = np.clip(np.minimum(until, LONGEST_ROLL), 1.0e-6, None)
    rests = ~slips & (until_stop <= LONGEST_ROLL) & still_held
    path = np.zeros((terms, *velocity.shape))
    path[0], path[1], path[2] = balls.point, velocity * duration, acceleration * (0.5 * duration * duration)
    end = velocity + acceleration * duration
    turned = balls.spin + np.cross(normal, against, axis=0) * (drag * duration / (k * ball.radius))
    spin = np.where(slips, balls.spin, np.cross(normal, velocity, axis=0) / ball.radius)
    end_spin = np.where(slips, turned, np.cross(normal, end, axis=0) / ball.radius)
    air = np.zeros((terms - 1, duration.size))
    return Flights(balls.start, duration, path, spin, end, end_spin, air, 0.0, np.zeros(duration.size)), rests


def _rolling(pull: Array, velocity: Array, grip: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Acceleration of rolling balls, when they stop, and whether they stay. pull, velocity `(3, n)`; grip `(n,)`."""
    speed, drawn = (np.sqrt((a * a).sum(axis=0)) for a in (velocity, pull))
    # A ball that lies still goes where the slope draws it, if that is more than friction holds.
    still = speed < STILL
    way = np.where(still, pull / np.maximum(drawn, 1.0e-300), velocity / np.maximum(speed, 1.0e-300))
    acceleration = np.where(still & (drawn <= grip), 0.0, pull - way * grip)
    slowing = -(acceleration * way).sum(axis=0)
    until_stop = np.where(slowing > 0.0, speed / np.maximum(slowing, 1.0e-300), np.inf)
    return acceleration, np.where(still & (drawn <= grip), 0.0, until_stop), drawn <= grip
