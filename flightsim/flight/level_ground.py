"""Flights over level ground: from ball centre z = 0 to z = 0, as arcs joined."""

from __future__ import annotations

from dataclasses import dataclass
from math import comb

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.arcs import Flights, horner
from flightsim.flight.integrator import Physics, fly_arcs
from flightsim.flight.launches import Launches

Array = NDArray[np.float64]

TOLERANCE = 1.0e-11  # m an arc: the landing of a 250 m drive is then good to 3e-8 m
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
        lost, up = ~np.isfinite(arcs.error), time > LONGEST_FLIGHT
        if lost.any():
            raise NoLandingError(f"{_which(alive[lost], n)} cannot be flown: speed, spin or air are beyond reason")
        if up.any():
            raise NoLandingError(f"{_which(alive[up], n)} is still in the air after {LONGEST_FLIGHT:g} s")
        landed = _end_of_arcs(out, arcs, alive, launches)
        go = np.flatnonzero(~landed)
        alive, arcs = alive[go], arcs.take(go)
        start, velocity, spin = arcs.path.sum(axis=0), arcs.end_velocity, arcs.end_spin
        time, duration = arcs.start_time + arcs.duration, arcs.duration * 1.5
    return out


def _which(shots: NDArray[np.intp], of: int) -> str:
    return "the ball" if of == 1 else f"ball {shots[0]} of {of} (counted from 0)"


def _end_of_arcs(out: Landings, arcs: Flights, alive: NDArray[np.intp], launches: Launches) -> NDArray[np.bool_]:
    """Write the apex so far, and the landing of what lands in these arcs; which landed `(n,)`."""
    tau = _landings(arcs)
    until = np.minimum(tau, 1.0)
    out.apex[alive] = np.maximum(out.apex[alive], _peaks(arcs, until))
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
        ("angle", np.arctan2(-velocity[2], level) + 0.0),  # + 0.0: a ball at rest lands at 0, not at -0
        ("speed", np.sqrt((velocity**2).sum(axis=0))),
        ("spin", np.sqrt((spin**2).sum(axis=0))),
    ):
        getattr(out, name)[shots] = value
    return landed


def _landings(arcs: Flights) -> Array:
    """First tau `(n,)` at which the height falls through nought, inf where it does not. The launch is no landing."""
    height = arcs.path[:, 2]
    tau = np.full(len(arcs), np.inf)
    leaving = arcs.start_time == 0.0
    rises = (height[1] > 0.0) | ((height[1] == 0.0) & (height[2] > 0.0))
    tau[leaving & ~rises] = 0.0
    # At the launch the root at tau 0 is divided out: height/tau has the same other roots.
    sought = np.where(leaving, np.concatenate([height[1:], np.zeros((1, len(arcs)))]), height)
    for k in np.flatnonzero(~_one_sign(sought) & ~(leaving & ~rises)):
        tau[k] = min(_roots(sought[:, k]), default=np.inf)
    return tau


def _peaks(arcs: Flights, until: Array) -> Array:
    """Greatest height `(n,)`, m, from the start of each arc to tau `until`."""
    height = arcs.path[:, 2]
    slope = height[1:] * np.arange(1.0, len(height))[:, None]
    best: Array = np.maximum(height[0], horner(height, until))
    for k in np.flatnonzero(~_one_sign(slope)):
        stops = [tau for tau in _roots(slope[:, k]) if tau <= until[k]]
        best[k] = max([best[k], *np.polynomial.polynomial.polyval(stops, height[:, k])])
    return best


def _one_sign(coefficients: Array) -> NDArray[np.bool_]:
    """Whether monomials `(degree + 1, n)` surely keep one sign on 0..1: their Bernstein coefficients do."""
    degree = len(coefficients) - 1
    bernstein = [[comb(i, j) / comb(degree, j) for j in range(degree + 1)] for i in range(degree + 1)]
    values = np.array(bernstein) @ coefficients
    sure: NDArray[np.bool_] = (values.min(axis=0) > 0.0) | (values.max(axis=0) < 0.0)
    return sure


def _roots(polynomial: Array) -> list[float]:
    """Real roots in 0..1 of monomial coefficients, polished by Newton's method; a change of sign is never missed."""
    poly = np.polynomial.Polynomial(np.trim_zeros(polynomial, "b"))
    if poly.degree() < 1:
        return []
    slope = poly.deriv()
    real: list[float] = []
    for root in np.asarray(poly.roots(), dtype=np.complex128):
        if abs(root.imag) < 1e-9 and -1e-12 <= root.real <= 1.0 + 1e-12:
            x = float(root.real)
            for _ in range(3):
                if slope(x) != 0.0:
                    x -= float(poly(x) / slope(x))
            real.append(min(max(x, 0.0), 1.0))
    if not real and poly(0.0) * poly(1.0) <= 0.0:
        real.append(_bisected(poly))
    return real


def _bisected(poly: np.polynomial.Polynomial) -> float:
    low, high = 0.0, 1.0
    while low < (middle := 0.5 * (low + high)) < high:
        low, high = (middle, high) if poly(low) * poly(middle) > 0.0 else (low, middle)
    return high
