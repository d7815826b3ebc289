"""A ball that is struck down into the mat leaves it by a bounce: the oblique impact of a solid sphere."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.ball import Ball
from flightsim.flight.bounce import (
    FOAM_ON_SLAB,
    TANGENTIAL_RESTITUTION,
    TURF_FRICTION,
    oblique_bounce,
    turf_restitution,
)

__all__ = ["FOAM_ON_SLAB", "TURF_FRICTION", "bounce_off_mat", "turf_restitution"]

Array = NDArray[np.float64]


def bounce_off_mat(velocity: Array, spin: Array, ball: Ball) -> tuple[Array, Array]:
    """Velocity and spin `(3, n)` after the mat, for balls that go down; all others as they are."""
    up = np.zeros_like(velocity)
    up[2] = 1.0
    e = turf_restitution(np.maximum(-velocity[2], 0.0))
    friction, tangential = np.full_like(e, TURF_FRICTION), np.full_like(e, TANGENTIAL_RESTITUTION)
    return oblique_bounce(velocity, spin, up, e, friction, tangential, ball)
