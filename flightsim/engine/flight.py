"""Free flight of one ball: Chebyshev-Picard iteration, as `flightsim.flight.integrator` does it for a batch.

The acceleration stands at six Chebyshev nodes of time; each sweep finds it again from the velocity and spin that it
leads to, at all nodes at once, and at two times between them. What it misses there of the polynomial through the nodes,
integrated twice, and half the polynomial's highest term are the error told of what stood there before the sweep. Sweep
by sweep until that is within the tolerance; where sweeps do not help the arc is halved.
"""

from __future__ import annotations

import numpy as np

from flightsim.engine.aero import TABLE, coefficients
from flightsim.engine.aero_table import beside_lines, look_up
from flightsim.engine.arc import (
    AIR,
    BEGIN,
    DECAY,
    DURATION,
    END_SPIN,
    END_VELOCITY,
    ERROR,
    GAIN,
    PATH,
    ROLLS,
    SPIN,
    START,
    put_coefficients,
)
from flightsim.engine.compiled import compiled, place
from flightsim.engine.kinks import beside_kinks, range_of
from flightsim.engine.lanes import LANES, Lanes, eight, least, most, put_eight, root, size
from flightsim.engine.three import Vector, fill, length, plus, put, times
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
    WORLD_SIZE,
)
from flightsim.flight.integrator import DEGREE, MAX_SWEEPS, NODES, RESIDUAL_WEIGHTS, SHORTEST

COUNT = DEGREE + 1  # of nodes; then come two checks, and all eight are looked at side by side
CHECKS = place(COUNT)
# Scratch, eight numbers each: the acceleration along each axis, the air speed, and two for a table of drag and lift.
X, Y, Z, SPEED = map(place, (0, LANES, 2 * LANES, 3 * LANES))
SPINS, FLOWS = place(4 * LANES), place(5 * LANES)
RATIOS = place(6 * LANES)  # and the spin ratios
NODE_SIZE = 7 * LANES
TINY = 1.0e-300
EARLY, LATE = RESIDUAL_WEIGHTS
SLOW_START = 2  # sweeps that need not halve the error yet
# exp(-x) is the 32nd power of a polynomial of x/32: right to 5e-9 for every x, to 1e-15 for x below .1, which is 100 m.
DOUBLINGS, MOST_DECAY = 5, 40.0


def _eights(rows: np.ndarray, first: int) -> np.ndarray:
    """A matrix from nodes to places, as eight weights a node; its places begin at one of the eight."""
    table = np.zeros((COUNT, LANES))
    table[:, first : first + len(rows)] = rows.T
    return table.ravel()


# To what integrates from the start to each node (to the first: nothing) and each check; to the checks; to the path's
# coefficients, of which the first two are the start; to those of the way through the air.
INTEGRATE = _eights(np.concatenate([NODES.integrate, NODES.integrate_to_checks]), 1)
AT_CHECKS = _eights(NODES.at_checks, COUNT)
TO_PATH = _eights(NODES.twice[:, None] * NODES.to_monomial, 2)
TO_AIR = _eights(NODES.once[:, None] * NODES.to_monomial, 1)
WHOLE = np.ascontiguousarray(NODES.integrate[-1])  # the weights of the nodes over all of the arc
# Half the highest Chebyshev coefficient of the acceleration: what a kink between nodes and checks makes large.
HIGHEST = 0.5 * NODES.to_monomial[-1] / 2.0 ** (2 * DEGREE - 1)


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
    duration, error, sweeps = asked, np.inf, 0
    fill(nodes, 0.0)
    while not error <= tolerance:
        before = error
        error = _sweep(world, nodes, velocity, spin, duration)
        sweeps += 1
        slow = sweeps > SLOW_START and not error < 0.5 * before
        if error <= tolerance:
            error += duration * duration * _beside_kinks(world, nodes)
            slow = True  # no more sweeps would help
        if not error <= tolerance and (slow or sweeps >= MAX_SWEEPS):
            duration, error, sweeps = 0.5 * duration, np.inf, 0
            fill(nodes, 0.0)
            if not (duration > SHORTEST * asked and np.isfinite(asked)):
                error = np.nan
                break
    known = np.isfinite(point[0] + point[1] + point[2]) and np.isfinite(start)
    arc[START], arc[DURATION] = start, duration
    arc[ERROR] = error if known else np.nan
    _write(world, arc, nodes, point, velocity, spin)


@compiled
def _sweep(world: np.ndarray, nodes: np.ndarray, velocity: Vector, spin: Vector, duration: float) -> float:
    """Find the accelerations again; returns the error, m, of a path with those before, NaN where that is none."""
    ways = (
        _summed(INTEGRATE, nodes, X) * duration + velocity[0],
        _summed(INTEGRATE, nodes, Y) * duration + velocity[1],
        _summed(INTEGRATE, nodes, Z) * duration + velocity[2],
    )
    left = _decayed(_summed(INTEGRATE, nodes, SPEED) * (duration * world[SPIN_DECAY]))
    highest = length(_mixed(HIGHEST, nodes))
    x, y, z, speed = _accelerations(world, nodes, ways, spin, left)
    missed = (_missed(nodes, X, x), _missed(nodes, Y, y), _missed(nodes, Z, z))
    put_eight(nodes, X, x)
    put_eight(nodes, Y, y)
    put_eight(nodes, Z, z)
    put_eight(nodes, SPEED, speed)
    return duration * duration * (length(missed) + highest)


@compiled
def _beside_kinks(world: np.ndarray, nodes: np.ndarray) -> float:
    """The most that the acceleration may be off in the mean, unseen, where drag or lift has a kink, m/s2."""
    S, speed = range_of(nodes, RATIOS), range_of(nodes, SPEED)
    Re = speed[0] * world[REYNOLDS], speed[1] * world[REYNOLDS]
    if world[AERO] == TABLE:
        off = beside_lines(world, WORLD_SIZE, S, Re)
    else:
        off = beside_kinks(world[AERO], world[AERO + 1], S, Re)
    return world[FORCE] * speed[1] * speed[1] * off


@compiled
def _summed(weights: np.ndarray, nodes: np.ndarray, row: int) -> Lanes:
    """One row of the scratch by a matrix from nodes to places."""
    first = eight(weights, 0) * nodes[row] + eight(weights, 8) * nodes[row + 1]
    middle = eight(weights, 16) * nodes[row + 2] + eight(weights, 24) * nodes[row + 3]
    last = eight(weights, 32) * nodes[row + 4] + eight(weights, 40) * nodes[row + 5]
    return first + middle + last


@compiled
def _missed(nodes: np.ndarray, row: int, found: Lanes) -> float:
    """How far an acceleration that was found is off the polynomial through the nodes, m/s2: both halves of the arc."""
    put_eight(nodes, SPINS, size(found - _summed(AT_CHECKS, nodes, row)))
    return EARLY * nodes[SPINS + CHECKS] + LATE * nodes[SPINS + CHECKS + 1]


@compiled
def _decayed(x: Lanes) -> Lanes:
    """exp(-x) of what is not below nought."""
    x = least(x, MOST_DECAY) * (1.0 / (1 << DOUBLINGS))
    left = 1.0 - x * (1.0 - x * (1 / 2 - x * (1 / 6 - x * (1 / 24 - x * (1 / 120 - x * (1 / 720))))))
    for _ in range(DOUBLINGS):
        left = left * left
    return left


@compiled
def _accelerations(
    world: np.ndarray, nodes: np.ndarray, velocity: tuple[Lanes, Lanes, Lanes], spin: Vector, left: Lanes
) -> tuple[Lanes, Lanes, Lanes, Lanes]:
    """Accelerations, m/s2, and air speeds, m/s: drag along the air-relative velocity v, lift along w x v.

    left: the share of its spin that the ball still has.
    """
    vx, vy, vz = velocity[0] - world[WIND], velocity[1] - world[WIND + 1], velocity[2] - world[WIND + 2]
    cx, cy, cz = spin[1] * vz - spin[2] * vy, spin[2] * vx - spin[0] * vz, spin[0] * vy - spin[1] * vx
    square = vx * vx + vy * vy + vz * vz
    speed, turning = root(square), root(cx * cx + cy * cy + cz * cz)
    S = left * (world[RADIUS] * turning / most(square, TINY))
    put_eight(nodes, RATIOS, S)
    CD, CL = _drag_and_lift(world, nodes, S, speed * world[REYNOLDS])
    drag = -world[FORCE] * CD * speed
    lift = CL * square * world[FORCE] / most(turning, TINY)
    return drag * vx + lift * cx, drag * vy + lift * cy, drag * vz + lift * cz - world[GRAVITY], speed


@compiled
def _drag_and_lift(world: np.ndarray, nodes: np.ndarray, S: Lanes, Re: Lanes) -> tuple[Lanes, Lanes]:
    if world[AERO] != TABLE:
        return coefficients(world[AERO], world[AERO + 1], world[AERO + 2], S, Re)
    put_eight(nodes, SPINS, S)
    put_eight(nodes, FLOWS, Re)
    look_up(world, WORLD_SIZE, nodes, SPINS, FLOWS)
    return eight(nodes, SPINS), eight(nodes, FLOWS)


@compiled
def _write(
    world: np.ndarray, arc: np.ndarray, nodes: np.ndarray, point: Vector, velocity: Vector, spin: Vector
) -> None:
    """The polynomials from the nodes."""
    duration = arc[DURATION]
    put_eight(arc, PATH, _summed(TO_PATH, nodes, X) * (duration * duration))
    put_eight(arc, PATH + LANES, _summed(TO_PATH, nodes, Y) * (duration * duration))
    put_eight(arc, PATH + 2 * LANES, _summed(TO_PATH, nodes, Z) * (duration * duration))
    put_eight(arc, AIR, _summed(TO_AIR, nodes, SPEED) * duration)
    air = 0.0
    for k in range(LANES):
        air += arc[AIR + k]
    put_coefficients(arc, BEGIN, point)
    put_coefficients(arc, GAIN, times(velocity, duration))
    put(arc, SPIN, spin)
    put(arc, END_VELOCITY, plus(velocity, times(_mixed(WHOLE, nodes), duration)))
    put(arc, END_SPIN, times(spin, np.exp(-world[SPIN_DECAY] * air)))
    arc[DECAY], arc[ROLLS] = world[SPIN_DECAY], 0.0


@compiled
def _mixed(weights: np.ndarray, nodes: np.ndarray) -> Vector:
    """The accelerations at the nodes by one weight each, m/s2."""
    x, y, z = 0.0, 0.0, 0.0
    for j in range(COUNT):
        x, y, z = x + weights[j] * nodes[X + j], y + weights[j] * nodes[Y + j], z + weights[j] * nodes[Z + j]
    return x, y, z


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
