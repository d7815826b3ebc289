"""Flights over level ground: from ball centre z = 0 to z = 0, as arcs joined."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.arcs import Flights
from flightsim.flight.integrator import Physics, fly_arcs
from flightsim.flight.launches import Launches

Array = NDArray[np.float64]

TOLERANCE = 1.0e-11  # m an arc: the whole flight is then good to about 1e-9 m
LONGEST_FLIGHT = 600.0  # s
_FIRST_ARC = 0.25  # s


class NoLandingError(ArithmeticError):
    """A ball that does not come down, or whose flight cannot be integrated."""


@dataclass(frozen=True)
class Landings:
    """Where n balls landed, each `(n,)`.

    carry: level distance from start to landing, m; x (ahead) and y (left) of the landing, m; apex: greatest height,
    m; time, s; angle: below the horizontal, rad; speed, m/s; spin: length of the spin vector, rad/s.
    """

    carry: Array
    x: Array
    y: Array
    apex: Array
    time: Array
    angle: Array
    speed: Array
    spin: Array


def fly_over_level_ground(physics: Physics, launches: Launches, tolerance: float = TOLERANCE) -> Landings:
    """Fly each launch from z = 0 until its centre is back at z = 0; a start height is left out of account.

    A launch that does not rise lands where it starts. Raises NoLandingError for a flight that cannot be followed, or
    that has not landed after LONGEST_FLIGHT seconds.
    """
    n = len(launches)
    out = Landings(*(np.zeros(n) for _ in range(8)))
    alive = np.arange(n)
    start = np.zeros((3, n))
    start[:2] = launches.start[:2]
    velocity, spin, time = launches.velocity, launches.spin, np.zeros(n)
    duration = np.full(n, _FIRST_ARC)
    while alive.size:
        arcs = fly_arcs(physics, start, velocity, spin, time, duration, tolerance)
        if not np.isfinite(arcs.error).all() or (time > LONGEST_FLIGHT).any():
            raise NoLandingError("the flight cannot be followed to a landing: speed, spin or air are beyond reason")
        landed = _end_of_arcs(out, arcs, alive, launches)
        go = np.flatnonzero(~landed)
        alive, arcs = alive[go], arcs.take(go)
        start, velocity, spin = arcs.path.sum(axis=0), arcs.end_velocity, arcs.end_spin
        time, duration = arcs.start_time + arcs.duration, arcs.duration * 1.5
    return out


def _end_of_arcs(out: Landings, arcs: Flights, alive: NDArray[np.intp], launches: Launches) -> NDArray[np.bool_]:
    """Write the apex so far, and the landing of what lands in these arcs; which landed `(n,)`."""
    tau = np.ones(len(arcs))
    for k in range(len(arcs)):
        height = arcs.path[:, 2, k]
        stops = _roots(height[1:] * np.arange(1, len(height)))
        peaks = np.polynomial.polynomial.polyval(np.array([*stops, 0.0, 1.0]), height)
        out.apex[alive[k]] = max(out.apex[alive[k]], float(peaks.max()))
        tau[k] = _landing(height, first=arcs.start_time[k] == 0.0)
    landed = np.isfinite(tau)
    done, when = np.flatnonzero(landed), tau[landed]
    last = arcs.take(done)
    point, velocity, spin = last.position(when), last.velocity(when), last.spin_at(when)
    shots = alive[done]
    flown = point - launches.start[:, shots]
    level = np.hypot(velocity[0], velocity[1])
    for name, value in (
        ("x", flown[0]),
        ("y", flown[1]),
        ("carry", np.hypot(flown[0], flown[1])),
        ("time", last.time(when)),
        ("angle", np.arctan2(-velocity[2], level)),
        ("speed", np.sqrt((velocity**2).sum(axis=0))),
        ("spin", np.sqrt((spin**2).sum(axis=0))),
    ):
        getattr(out, name)[shots] = value
    return landed


def _landing(height: Array, first: bool) -> float:
    """First tau at which the height falls through nought, or inf. The launch itself is no landing."""
    if first:
        if not (height[1] > 0.0 or (height[1] == 0.0 and height[2] > 0.0)):
            return 0.0
        roots = _roots(height[1:])  # height/tau: the launch at tau 0 divided out
    else:
        roots = _roots(height)
    return min(roots, default=np.inf)


def _roots(polynomial: Array) -> list[float]:
    """Real roots in 0..1 of monomial coefficients, polished by Newton's method."""
    poly = np.polynomial.Polynomial(np.trim_zeros(polynomial, "b"))
    if poly.degree() < 1:
        return []
    slope = poly.deriv()
    real = []
    for root in poly.roots():
        if abs(root.imag) < 1e-9 and -1e-12 <= root.real <= 1.0:
            x = float(root.real)
            for _ in range(3):
                if slope(x) != 0.0:
                    x -= float(poly(x) / slope(x))
            real.append(min(max(x, 0.0), 1.0))
    return real
