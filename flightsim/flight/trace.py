"""Paths as points, for drawing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.integrator import Physics, fly_arcs
from flightsim.flight.launches import Launches

Array = NDArray[np.float64]


def trace(physics: Physics, launches: Launches, end_time: Array, points: int = 40) -> Array:
    """Ball centres `(n, points, 3)`, m, at evenly spread times from the strike to end_time `(n,)`, s."""
    n = len(launches)
    out = np.empty((n, points, 3))
    out[:, 0] = launches.start.T
    step = end_time / (points - 1)
    position, velocity, spin = launches.start, launches.velocity, launches.spin
    time = np.zeros(n)
    for k in range(1, points):
        target = step * k
        while (target - time > 1e-12 * end_time).any():
            arc = fly_arcs(physics, position, velocity, spin, time, np.maximum(target - time, 0.0), 1e-5)
            if not np.isfinite(arc.error).all():
                raise ArithmeticError("a path could not be drawn: its flight does not integrate")
            position, velocity, spin = arc.path.sum(axis=0), arc.end_velocity, arc.end_spin
            time = time + arc.duration
        out[:, k] = position.T
    return out
