"""How far the paths of a small cell of launch directions can stray from the path of its middle: a bound.

The launch of another direction of the cell is the middle's, turned: by dE about the level axis across the launch, then
by dA about the vertical. Free flight without gravity turns with its launch, so the middle's path c(t), turned, differs
from the true path by gravity alone, which was turned with it: by at most g dE. The difference y of the velocities then
grows as y' <= L y + g dE, with L the steepest that the drag and lift per mass change with the velocity; so y <= g dE t
exp(L t) (Gronwall 1919, Ann. Math. 20:292), and the positions differ by at most g dE t^2/2 exp(L t). With D the
distance of c from the start and H the level part of it, all paths of the cell stay within

    eps(t) = dE D + dA (H + dE D) + g dE t^2/2 exp(L t)

of c(t). Both paths lie in one upright plane, since the spin axis is level and across the launch, so L is that of plane
motion. docs/map.md says it in full.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.limits import LONGEST_ARC
from flightsim.flight.arcs import horner
from flightsim.flight.integrator import Physics, fly_arcs, spin_decay_rate
from flightsim.flight.launches import Launches

Array = NDArray[np.float64]

CAREFUL = 2.0  # the slopes are looked up at many speeds and spins, and the steepest found is doubled: judgement
_SPEEDS, _SPINS = 400, 9
_MOST_ARCS = 200


@dataclass(frozen=True)
class Steepness:
    """Bounds on the air's pull: growth, 1/s, is L above with the spin's slower decay in it; bend, m/s2, the most that
    the air and gravity together accelerate a ball.
    """

    growth: float
    bend: float


def steepness(physics: Physics, slowest: float, fastest: float, spin: float, time: float) -> Steepness:
    """Of balls from slowest to fastest, m/s, with up to this spin, rad/s, over this time, s.

    In plane motion the force per mass turns with the velocity, so its matrix of slopes is, along and across the
    velocity, (-D', L') and (-L, -D)/V: D = k CD V^2, L = k CL V^2, k = rho A/2m. Its length is at most the root of the
    squares of the four.
    """
    ball, air = physics.ball, physics.air
    k = 0.5 * air.density * ball.area / ball.mass
    V = np.geomspace(max(slowest, 0.05), max(fastest, 0.1) * 1.02, _SPEEDS)[:, None]
    w = abs(spin) * np.linspace(0.5, 1.0, _SPINS)
    pulls = []
    for speed, turning in ((V * (1 - 1e-4), w), (V * (1 + 1e-4), w), (V, w * (1 - 1e-4)), (V, w * (1 + 1e-4))):
        CD, CL = physics.aero(ball.radius * turning / speed, speed * (air.density * ball.diameter / air.viscosity))
        pulls.append(k * np.stack([CD, CL]) * speed**2)
    slower, faster, less, more = pulls
    middle = (slower + faster) / 2.0
    by_speed = (faster - slower) / (2e-4 * V)
    slope = np.sqrt((by_speed**2 + (middle / V) ** 2).sum(axis=0)).max()
    by_spin = np.sqrt((((more - less) / np.maximum(2e-4 * w, 1e-9)) ** 2).sum(axis=0)).max() if spin else 0.0
    # The spin falls with the way flown: two paths whose speeds differ by y have spins that differ by w k_s t y at most.
    growth = slope + by_spin * abs(spin) * spin_decay_rate(physics) * time
    pull = np.sqrt((middle**2).sum(axis=0)).max()
    return Steepness(float(CAREFUL * growth), float(physics.gravity + CAREFUL * pull))


def spread(
    points: Array, times: Array, up: Array | float, side: Array | float, gravity: float, growth: float
) -> tuple[Array, Array]:
    """The bound eps `(k, n)`, m, at times `(k, n)`, s, of middle paths `(k, 3, n)`, m; and its part in heights alone.

    up and side `(n,)`: half the cell in elevation and azimuth, rad. It never falls with time.
    """
    away = points - points[0]
    level = np.sqrt(away[:, 0] ** 2 + away[:, 1] ** 2)
    far = np.sqrt(level**2 + away[:, 2] ** 2)
    falls = 0.5 * gravity * up * times**2 * np.exp(growth * times)
    height = np.maximum.accumulate(up * far + falls, axis=0)
    return np.maximum.accumulate(up * far + side * (level + up * far) + falls, axis=0), height


def free_paths(physics: Physics, launches: Launches, end: Array, pieces: int) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Ball centres `(pieces + 1, 3, n)`, m, at even times up to end `(n,)`, s, as if nothing were there; the times
    `(pieces + 1, n)`; and which could be flown `(n,)`.
    """
    times = np.linspace(0.0, 1.0, pieces + 1)[:, None] * end
    points, flown = free_points(physics, launches, times)
    return points, times, flown


def free_points(physics: Physics, launches: Launches, times: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Ball centres `(k, 3, n)`, m, at rising times `(k, n)`, s, as if nothing were there; which could be flown."""
    n, end = len(launches), times[-1]
    points = np.full((len(times), 3, n), np.nan)
    flown = np.ones(n, dtype=bool)
    flying = np.arange(n)
    position, velocity, spin, now = launches.start, launches.velocity, launches.spin, np.zeros(n)
    for _ in range(_MOST_ARCS):
        arcs = fly_arcs(physics, position, velocity, spin, now, np.minimum(end[flying] - now, LONGEST_ARC) + 1e-9)
        bad = ~np.isfinite(arcs.error)
        flown[flying[bad]] = False
        for k in range(len(times)):
            tau = (times[k, flying] - now) / arcs.duration
            here = (tau >= 0.0) & (tau <= 1.0)
            points[k][:, flying[here]] = horner(arcs.path[:, :, here], tau[here])
        on = np.flatnonzero(~bad & (now + arcs.duration < end[flying]))
        if on.size == 0:
            break
        arcs = arcs.take(on)
        position, velocity, spin = arcs.path.sum(axis=0), arcs.end_velocity, arcs.end_spin
        now, flying = arcs.start_time + arcs.duration, flying[on]
    return points, np.asarray(flown & np.isfinite(points).all(axis=(0, 1)))
