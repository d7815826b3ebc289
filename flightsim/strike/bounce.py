"""A ball that is struck down into the mat leaves it by a bounce: the oblique impact of a solid sphere."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.ball import Ball

Array = NDArray[np.float64]
TURF_FRICTION = 0.40  # Penner (memory)
TANGENTIAL_RESTITUTION = 0.2  # default, range 0-0.4
FOAM_BOTTOMS = 15.0  # m/s
FOAM_ON_SLAB = 0.25


def turf_restitution(normal_speed: Array) -> Array:
    """e = 0.510 - 0.0375 v + 0.000903 v^2 (Penner, memory), and 0.25 above 15 m/s: a mat's foam bottoms on the slab.

    Penner's turf would give 0.15 there and 0.120 above 20 m/s.
    """
    v = normal_speed
    return np.where(v > FOAM_BOTTOMS, FOAM_ON_SLAB, 0.510 - 0.0375 * v + 0.000903 * v * v)


def bounce_off_mat(velocity: Array, spin: Array, ball: Ball) -> tuple[Array, Array]:
    """Velocity and spin `(3, n)` after the mat, for balls that go down; all others as they are.

    u = v_t - R w at the contact; J/m = -(1 + e_t) u/(1 + 1/k), limited by mu (1 + e) v_n, k the inertia factor.
    """
    down = velocity[2] < 0.0
    normal_speed = np.where(down, -velocity[2], 0.0)
    e = turf_restitution(normal_speed)
    # The contact point, a radius below the centre, moves with v + w x (0, 0, -R).
    ux = velocity[0] - ball.radius * spin[1]
    uy = velocity[1] + ball.radius * spin[0]
    slip = np.sqrt(ux * ux + uy * uy)
    grip = (1.0 + TANGENTIAL_RESTITUTION) * slip / (1.0 + 1.0 / ball.inertia_factor)
    push = np.minimum(grip, TURF_FRICTION * (1.0 + e) * normal_speed) / np.maximum(slip, 1.0e-300)
    push = np.where(down, push, 0.0)
    jx, jy = -push * ux, -push * uy
    turn = 1.0 / (ball.inertia_factor * ball.radius)
    after = velocity + np.stack([jx, jy, np.where(down, (1.0 + e) * normal_speed, 0.0)])
    # Torque of the friction about the centre: (0, 0, -R) x (jx, jy, 0) = (R jy, -R jx, 0).
    return after, spin + np.stack([turn * jy, -turn * jx, np.zeros_like(jx)])
