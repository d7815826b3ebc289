"""The integrator: whole batches of arcs by Chebyshev-Picard iteration, error controlled.

Picard iteration with the acceleration interpolated at Chebyshev nodes: Clenshaw & Norton 1963, Comput. J. 6:88;
Bai & Junkins 2011, J. Astronaut. Sci. 58:583. Each sweep evaluates the acceleration of every shot at every
node at once. The residual of the equation of motion between the nodes, integrated twice, is the error
estimate; an arc that misses the tolerance is swept again, then halved.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.aerodynamics import (
    SPIN_DECAY,
    SPIN_DECAY_AIR_DENSITY,
    AeroModel,
    naruo2004,
)
from flightsim.flight.air import Air, make_air
from flightsim.flight.arcs import Flights
from flightsim.flight.ball import LEGAL_BALL, Ball

Array = NDArray[np.float64]

GRAVITY = 9.80665  # standard gravity, ISO 80000-3
DEFAULT_TOLERANCE = 1.0e-6  # m of ball position an arc: a hundredth of what a contact is asked for

FIRST_SWEEPS = 2
MORE_SWEEPS = 2
MAX_SWEEPS = 13
SHORTEST = 1.0e-9  # of the asked duration
_TINY = 1.0e-300
_CACHED = 2048  # balls evaluated at a time: their arrays stay in a core's own cache
_ROOM_AIR = make_air()
# A residual r moves the end of the arc by the integral of (1 - tau) r: 0.375 over the first half, 0.125 over the
# second, doubled here because it also leaves a wrong velocity behind.
RESIDUAL_WEIGHTS = (0.375, 0.25)


@dataclass(frozen=True)
class Physics:
    """All that a free flight depends on besides its launch.

    gravity in m/s2, wind `(3,)` in m/s (the velocity of the air), spin_decay is lambda of Smits & Smith 1994.
    """

    ball: Ball = LEGAL_BALL
    air: Air = _ROOM_AIR
    aero: AeroModel = naruo2004
    gravity: float = GRAVITY
    wind: tuple[float, float, float] = (0.0, 0.0, 0.0)
    spin_decay: float = SPIN_DECAY


class _Nodes:
    """Chebyshev-Lobatto nodes on 0..1 with the matrices that the sweeps need."""

    def __init__(self, degree: int) -> None:
        self.tau = 0.5 - 0.5 * np.cos(np.pi * np.arange(degree + 1) / degree)
        powers = np.arange(degree + 1)
        self.to_monomial = np.linalg.inv(self.tau[:, None] ** powers).astype(np.float64)
        later = self.tau[1:]  # node 0 is the start: its velocity is given, its acceleration never changes
        self.integrate = (later[:, None] ** (powers + 1) / (powers + 1)) @ self.to_monomial
        # The residual is looked at in the second gap between nodes and in the last but one, each for its half of
        # the arc: of the places tried, these two miss the fewest kinks of CD and CL.
        checks = np.array([(self.tau[k] + self.tau[k + 1]) / 2 for k in (1, degree - 2)])
        self.at_checks = (checks[:, None] ** powers) @ self.to_monomial
        self.integrate_to_checks = (checks[:, None] ** (powers + 1) / (powers + 1)) @ self.to_monomial
        self.once = 1.0 / (powers + 1.0)
        self.twice = self.once / (powers + 2.0)


DEGREE = 5
NODES = _Nodes(DEGREE)


@dataclass
class _Sweep:
    """The state of one batch while it converges: start values, duration and node accelerations."""

    velocity: Array
    spin: Array
    duration: Array
    acceleration: Array  # (3, nodes, n)
    air_speed: Array  # (nodes, n)
    error: Array

    def take(self, index: NDArray[np.intp]) -> _Sweep:
        return _Sweep(
            self.velocity.take(index, axis=1),
            self.spin.take(index, axis=1),
            self.duration[index],
            self.acceleration.take(index, axis=2),
            self.air_speed.take(index, axis=1),
            self.error[index],
        )

    def put(self, index: NDArray[np.intp], part: _Sweep) -> None:
        self.duration[index] = part.duration
        self.acceleration[:, :, index] = part.acceleration
        self.air_speed[:, index] = part.air_speed
        self.error[index] = part.error


def acceleration(physics: Physics, velocity: Array, spin: Array) -> tuple[Array, Array]:
    """Acceleration `(3, ...)`, m/s2, and air speed `(...)`, m/s, for velocities and spins `(3, ...)`.

    Drag along the air-relative velocity v, lift along w x v; S = r |w_perp|/V = r |w x v|/V^2.
    """
    ball, air = physics.ball, physics.air
    vx, vy, vz = velocity
    if any(physics.wind):
        vx, vy, vz = (v - w for v, w in zip((vx, vy, vz), physics.wind, strict=True))
    wx, wy, wz = spin
    cx, cy, cz = wy * vz - wz * vy, wz * vx - wx * vz, wx * vy - wy * vx
    square = vx * vx + vy * vy + vz * vz
    speed = np.sqrt(square)
    cross = np.sqrt(cx * cx + cy * cy + cz * cz)
    S = ball.radius * cross / np.maximum(square, _TINY)
    Re = speed * (air.density * ball.diameter / air.viscosity)
    CD, CL = physics.aero(S, Re)
    half = 0.5 * air.density * ball.area / ball.mass
    drag = CD * speed * -half
    lift = CL * square * half / np.maximum(cross, _TINY)
    out = np.empty((3, *speed.shape))
    out[0] = drag * vx + lift * cx
    out[1] = drag * vy + lift * cy
    out[2] = drag * vz + lift * cz - physics.gravity
    return out, speed


def spin_decay_rate(physics: Physics) -> float:
    """k in w = w0 exp(-k s), s the air path: lambda (rho/1.2)/r, 1/m (Smits & Smith 1994)."""
    return physics.spin_decay * physics.air.density / SPIN_DECAY_AIR_DENSITY / physics.ball.radius


def _combine(matrix: Array, values: Array) -> Array:
    """matrix `(k, nodes)` @ values `(..., nodes, n)`, each ball rounded alike however many there are.

    A single column would go to another BLAS routine, which rounds otherwise; so it is sent as two.
    """
    alone = values.shape[-1] == 1
    combined: Array = np.matmul(matrix, np.repeat(values, 2, axis=-1) if alone else values)
    return combined[..., :1] if alone else combined


def _evaluate(physics: Physics, sweep: _Sweep, matrix: Array) -> tuple[Array, Array]:
    """The equation of motion at the times that the integration matrix `(k, nodes)` leads to."""
    n, times = len(sweep.duration), len(matrix)
    found, speed = np.empty((3, times, n)), np.empty((times, n))
    decay = -spin_decay_rate(physics)
    for first in range(0, n, _CACHED):
        chunk = slice(first, first + _CACHED)
        duration = sweep.duration[chunk]
        velocity = _combine(matrix, sweep.acceleration[:, :, chunk])
        velocity *= duration
        velocity += sweep.velocity[:, None, chunk]
        air_path = _combine(matrix, sweep.air_speed[:, chunk])
        air_path *= duration
        spin = sweep.spin[:, None, chunk] * np.exp(air_path * decay)
        found[:, :, chunk], speed[:, chunk] = acceleration(physics, velocity, spin)
    return found, speed


def _converge(physics: Physics, sweep: _Sweep, sweeps: int) -> None:
    """Sweep in place, then estimate the position error from the residual between the nodes."""
    for _ in range(sweeps):
        sweep.acceleration[:, 1:], sweep.air_speed[1:] = _evaluate(physics, sweep, NODES.integrate)
    found, _ = _evaluate(physics, sweep, NODES.integrate_to_checks)
    residual = np.abs(found - _combine(NODES.at_checks, sweep.acceleration))
    early, late = RESIDUAL_WEIGHTS
    sweep.error = sweep.duration**2 * (early * residual[:, 0] + late * residual[:, 1]).max(axis=0)


def _start(physics: Physics, velocity: Array, spin: Array, duration: Array) -> _Sweep:
    """First guess: constant acceleration."""
    first, speed = acceleration(physics, velocity, spin)
    nodes = len(NODES.tau)
    return _Sweep(
        velocity,
        spin,
        duration,
        np.repeat(first[:, None, :], nodes, axis=1),
        np.repeat(speed[None, :], nodes, axis=0),
        np.full(duration.shape, np.inf),
    )


def _finish(physics: Physics, sweep: _Sweep, start: Array, start_time: Array) -> Flights:
    """Polynomials from the converged node values."""
    monomial = _combine(NODES.to_monomial, sweep.acceleration)
    path = np.empty((DEGREE + 3, 3, len(sweep.duration)))
    path[0] = start
    path[1] = sweep.velocity * sweep.duration
    gained = np.zeros_like(sweep.velocity)
    for k in range(DEGREE + 1):
        path[k + 2] = monomial[:, k] * (NODES.twice[k] * sweep.duration**2)
        gained += monomial[:, k] * NODES.once[k]
    end_velocity = sweep.velocity + gained * sweep.duration
    air = np.zeros((DEGREE + 2, len(sweep.duration)))
    air[1:] = _combine(NODES.to_monomial, sweep.air_speed) * NODES.once[:, None] * sweep.duration
    rate = spin_decay_rate(physics)
    end_spin = sweep.spin * np.exp(air.sum(axis=0) * -rate)
    known = np.isfinite(start).all(axis=0) & np.isfinite(start_time)
    error = np.where(known, sweep.error, np.nan)
    return Flights(start_time, sweep.duration, path, sweep.spin, end_velocity, end_spin, air, rate, error)


def fly_arcs(
    physics: Physics,
    start: Array,
    velocity: Array,
    spin: Array,
    start_time: Array,
    duration: Array,
    tolerance: float = DEFAULT_TOLERANCE,
) -> Flights:
    """Fly one arc a ball, each as long as asked, or shorter where the tolerance demands it.

    start `(3, n)`, m; velocity `(3, n)`, m/s; spin `(3, n)`, rad/s; start_time, duration `(n,)`, s;
    tolerance: estimated position error allowed at the end of an arc, m. A ball whose arc cannot be flown at all
    (overflow, no convergence down to a billionth of the asked duration) comes back with error NaN.
    """
    with np.errstate(all="ignore"):  # what overflows ends as error NaN, and so is told
        sweep = _to_tolerance(physics, velocity, spin, duration.astype(np.float64), tolerance)
        return _finish(physics, sweep, start, start_time)


def _to_tolerance(physics: Physics, velocity: Array, spin: Array, longest: Array, tolerance: float) -> _Sweep:
    """Sweep every arc until it meets the tolerance; halve the arcs that more sweeps do not help."""
    sweep = _start(physics, velocity, spin, longest.copy())
    _converge(physics, sweep, FIRST_SWEEPS)
    todo = np.flatnonzero(~(sweep.error <= tolerance))
    done_sweeps = np.full(len(longest), FIRST_SWEEPS)
    while todo.size:
        part = sweep.take(todo)
        before = part.error
        _converge(physics, part, MORE_SWEEPS)
        done_sweeps[todo] += MORE_SWEEPS
        stuck = ~(part.error <= tolerance) & (~(part.error < 0.5 * before) | (done_sweeps[todo] >= MAX_SWEEPS))
        sweep.put(todo, part)
        if stuck.any():
            again = todo[stuck]
            sweep.put(again, _start(physics, velocity[:, again], spin[:, again], sweep.duration[again] / 2))
            done_sweeps[again] = 0
        todo = todo[~(sweep.error[todo] <= tolerance)]
        short = ~((sweep.duration[todo] > SHORTEST * longest[todo]) & np.isfinite(longest[todo]))
        sweep.error[todo[short]] = np.nan
        todo = todo[~short]
    return sweep
