"""Free flight of one ball: Chebyshev-Picard iteration, as `flightsim.flight.integrator` does it for a batch.

The acceleration stands at Chebyshev nodes; each sweep finds it again from the velocity and spin that it leads to. The
residual of the equation of motion between the nodes, integrated twice, is the error estimate; an arc that misses the
tolerance is swept again, then halved.
"""

from __future__ import annotations

import numpy as np

from flightsim.engine.aero import TABLE, coefficients, reynolds, spin_ratio
from flightsim.engine.aero_table import looked_up
from flightsim.engine.arc import (
    AIR,
    DECAY,
    DURATION,
    END_SPIN,
    END_VELOCITY,
    ERROR,
    PATH,
    ROLLS,
    SPIN,
    START,
)
from flightsim.engine.compiled import compiled, place
from flightsim.engine.three import Vector, cross, dot, length, minus, plus, put, three, times
from flightsim.engine.world import (
    AERO,
    FORCE,
    GRAVITY,
    LOWER,
    RADIUS,
    REYNOLDS,
    SPIN_DECAY,
    UPPER,
    WIND,
    WINDY,
    WORLD_SIZE,
)
from flightsim.flight.integrator import (
    DEGREE,
    FIRST_SWEEPS,
    MAX_SWEEPS,
    MORE_SWEEPS,
    NODES,
    RESIDUAL_WEIGHTS,
    SHORTEST,
)

COUNT = DEGREE + 1  # of nodes
NODE_SIZE = 2 * 4 * COUNT  # scratch: acceleration and air speed at each node, and what a sweep makes of them
INTEGRATE = np.ascontiguousarray(NODES.integrate)
TO_CHECKS = np.ascontiguousarray(NODES.integrate_to_checks)
AT_CHECKS = np.ascontiguousarray(NODES.at_checks)
TO_MONOMIAL = np.ascontiguousarray(NODES.to_monomial)
ONCE, TWICE = NODES.once, NODES.twice
FIRST, MORE = place(FIRST_SWEEPS), place(MORE_SWEEPS)
EARLY, LATE = RESIDUAL_WEIGHTS


@compiled
def acceleration(world: np.ndarray, velocity: Vector, spin: Vector) -> tuple[float, float, float, float]:
    """Acceleration, m/s2, and air speed, m/s: drag along the air-relative velocity v, lift along w x v."""
    v = minus(velocity, three(world, WIND)) if world[WINDY] > 0.0 else velocity
    c = cross(spin, v)
    square, turning = dot(v, v), length(c)
    speed = np.sqrt(square)
    S = spin_ratio(world[RADIUS], turning, square)
    Re = reynolds(speed, world[REYNOLDS])
    if world[AERO] == TABLE:
        CD, CL = looked_up(world, WORLD_SIZE, S, Re)
    else:
        CD, CL = coefficients(world[AERO], world[AERO + 1], world[AERO + 2], S, Re)
    drag = -world[FORCE] * CD * speed
    lift = CL * square * world[FORCE] / max(turning, 1.0e-300)
    return drag * v[0] + lift * c[0], drag * v[1] + lift * c[1], drag * v[2] + lift * c[2] - world[GRAVITY], speed


@compiled
def _led_to(
    world: np.ndarray, nodes: np.ndarray, weights: np.ndarray, velocity: Vector, spin: Vector, duration: float
) -> tuple[float, float, float, float]:
    """The equation of motion at the time that one row of an integration matrix leads to."""
    x, y, z, air = 0.0, 0.0, 0.0, 0.0
    for j in range(COUNT):
        weight = weights[j]
        x += weight * nodes[4 * j]
        y += weight * nodes[4 * j + 1]
        z += weight * nodes[4 * j + 2]
        air += weight * nodes[4 * j + 3]
    there = plus(times((x, y, z), duration), velocity)
    return acceleration(world, there, times(spin, np.exp(-world[SPIN_DECAY] * (air * duration))))


@compiled
def _guess(world: np.ndarray, nodes: np.ndarray, velocity: Vector, spin: Vector) -> None:
    """First guess: constant acceleration."""
    first = acceleration(world, velocity, spin)
    for j in range(COUNT):
        for i in range(4):
            nodes[4 * j + i] = first[i]


@compiled
def _sweep(world: np.ndarray, nodes: np.ndarray, velocity: Vector, spin: Vector, duration: float, times_: int) -> None:
    """Sweep the nodes in place; node 0 is the start and stays."""
    for _ in range(times_):
        for j in range(1, COUNT):
            found = _led_to(world, nodes, INTEGRATE[j - 1], velocity, spin, duration)
            for i in range(4):
                nodes[4 * (COUNT + j) + i] = found[i]
        for k in range(4, 4 * COUNT):
            nodes[k] = nodes[4 * COUNT + k]


@compiled
def _error(world: np.ndarray, nodes: np.ndarray, velocity: Vector, spin: Vector, duration: float) -> float:
    """The estimated position error, m, from the residual between the nodes; NaN where that is none."""
    first = _led_to(world, nodes, TO_CHECKS[0], velocity, spin, duration)
    second = _led_to(world, nodes, TO_CHECKS[1], velocity, spin, duration)
    worst, total = 0.0, 0.0
    for i in range(3):
        at_first, at_second = 0.0, 0.0
        for j in range(COUNT):
            at_first += AT_CHECKS[0, j] * nodes[4 * j + i]
            at_second += AT_CHECKS[1, j] * nodes[4 * j + i]
        residual = EARLY * abs(first[i] - at_first) + LATE * abs(second[i] - at_second)
        worst, total = max(worst, residual), total + residual
    return np.nan if np.isnan(total) else duration * duration * worst


@compiled
def fly_arc(
    world: np.ndarray,
    arc: np.ndarray,
    nodes: np.ndarray,
    point: Vector,
    velocity: Vector,
    spin: Vector,
    start: float,
    asked: float,
    tolerance: float,
) -> None:
    """Write an arc as long as asked, s, or shorter where the tolerance, m, demands it; its error NaN where it fails.

    nodes: scratch of NODE_SIZE numbers.
    """
    duration, error, sweeps = asked, np.inf, FIRST
    _guess(world, nodes, velocity, spin)
    _sweep(world, nodes, velocity, spin, duration, sweeps)
    error = _error(world, nodes, velocity, spin, duration)
    while not error <= tolerance:
        before = error
        _sweep(world, nodes, velocity, spin, duration, MORE)
        error = _error(world, nodes, velocity, spin, duration)
        sweeps += MORE
        if error <= tolerance:
            break
        if not error < 0.5 * before or sweeps >= MAX_SWEEPS:
            duration, error, sweeps = 0.5 * duration, np.inf, 0
            _guess(world, nodes, velocity, spin)
        if not (duration > SHORTEST * asked and np.isfinite(asked)):
            error = np.nan
            break
    known = np.isfinite(point[0] + point[1] + point[2]) and np.isfinite(start)
    arc[START], arc[DURATION] = start, duration
    arc[ERROR] = error if known else np.nan
    _write(world, arc, nodes, point, velocity, spin)


@compiled
def _write(
    world: np.ndarray, arc: np.ndarray, nodes: np.ndarray, point: Vector, velocity: Vector, spin: Vector
) -> None:
    """The polynomials from the nodes."""
    duration = arc[DURATION]
    put(arc, PATH, point)
    put(arc, PATH + 3, times(velocity, duration))
    gained, air = (0.0, 0.0, 0.0), 0.0
    arc[AIR] = 0.0
    for k in range(COUNT):
        x, y, z, flown = 0.0, 0.0, 0.0, 0.0
        for j in range(COUNT):
            weight = TO_MONOMIAL[k, j]
            x += weight * nodes[4 * j]
            y += weight * nodes[4 * j + 1]
            z += weight * nodes[4 * j + 2]
            flown += weight * nodes[4 * j + 3]
        put(arc, PATH + 3 * (k + 2), times((x, y, z), TWICE[k] * (duration * duration)))
        gained = plus(gained, times((x, y, z), ONCE[k]))
        arc[AIR + k + 1] = flown * ONCE[k] * duration
        air += arc[AIR + k + 1]
    put(arc, SPIN, spin)
    put(arc, END_VELOCITY, plus(velocity, times(gained, duration)))
    put(arc, END_SPIN, times(spin, np.exp(-world[SPIN_DECAY] * air)))
    arc[DECAY], arc[ROLLS] = world[SPIN_DECAY], 0.0


@compiled
def time_to_leave(world: np.ndarray, point: Vector, velocity: Vector) -> float:
    """Time, s, in which a ball without air would leave the room's box, and a little more."""
    margin, soonest = 2.0 * world[RADIUS], np.inf
    for axis in range(2):
        if velocity[axis] != 0.0:
            forward = world[UPPER + axis] if velocity[axis] > 0.0 else world[LOWER + axis]
            soonest = min(soonest, (abs(forward - point[axis]) + margin) / abs(velocity[axis]))
    rise, g = velocity[2], world[GRAVITY]
    drop, room = point[2] - world[LOWER + 2] + margin, world[UPPER + 2] + margin - point[2]
    if g > 0.0:
        soonest = min(soonest, (rise + np.sqrt(max(rise * rise + 2.0 * g * drop, 0.0))) / g)
    elif rise < 0.0:
        soonest = min(soonest, drop / -rise)
    under = rise * rise - 2.0 * g * room
    if rise > 0.0 and under >= 0.0:
        soonest = min(soonest, 2.0 * room / (rise + np.sqrt(under)))
    return 1.1 * max(soonest if np.isfinite(soonest) else 1.0, 1.0e-4)
