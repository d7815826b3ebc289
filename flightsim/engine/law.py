"""How a ball leaves a part with a law of its own: `flightsim.contact.law_table`, one ball."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import EDGES
from flightsim.contact.law_table import HELD, PAST, SHARE, SINK, UNKNOWN, VALUES, LawTable
from flightsim.contact.rebound import SEPARATE
from flightsim.engine.compiled import NONE, compiled, place
from flightsim.engine.faces import bounce, restitution
from flightsim.engine.layout import LAW_AT, BayArrays
from flightsim.engine.three import Vector, cross, dot, length, minus, plus, times
from flightsim.engine.world import INERTIA, RADIUS

Array = NDArray[np.float64]
AXES = 6
ROOM_AXES = AXES  # after the sizes of the axes: which of the room's axes the places are along
HEAD = AXES + 2
CORNERS = 1 << AXES
MORE, TURNS = place(1), place(4)  # in a table's values: what velocity and spin are more
SOMEWHERE = place(len(EDGES))  # past an edge that the law does not name


def law_numbers(table: LawTable) -> Array:
    """The table as it stands in the pool: sizes, the room's axes, the places along each axis, values."""
    return np.concatenate([[len(axis) for axis in table.grid], table.axes, *table.grid, table.values.ravel()])


@compiled
def leave_by_law(
    bay: BayArrays, k: int, values: np.ndarray, point: Vector, velocity: Vector, spin: Vector, normal: Vector
) -> tuple[Vector, Vector, float, int, bool]:
    """Velocity and spin just after, how far the face goes with the ball, m, SOMEWHERE where the ball gets past it, else
    NONE, and whether nobody knows. found: scratch for VALUES numbers.
    """
    inward, speed = max(-dot(velocity, normal), 0.0), length(velocity)
    table = bay.codes[k, LAW_AT]
    if speed < bay.pool[table + HEAD]:
        after, turning = bounce(bay, k, velocity, spin, normal, restitution(bay, k, inward))
        return after, turning, 0.0, NONE, False
    on, side = _ways(velocity, normal, speed)
    _look_up(bay, table, values, _where(bay, table, point, velocity, spin, on, side, inward, speed))
    if values[UNKNOWN] > 0.0:
        return velocity, spin, 0.0, NONE, True
    if values[HELD] > 0.0:
        return times(normal, SEPARATE), (0.0, 0.0, 0.0), values[SINK], NONE, False
    more = _turned(values, MORE, normal, on, side, speed)
    turned = _turned(values, TURNS, normal, on, side, speed / bay.world[RADIUS])
    if values[PAST] > 0.0:
        return _no_faster(bay, more, turned, velocity, spin, values[SINK], SOMEWHERE)
    after, turning = bounce(bay, k, velocity, spin, normal, values[SHARE])
    after, turning = plus(after, more), plus(turning, turned)
    short = min(SEPARATE, inward) - dot(after, normal)
    if short > 0.0:
        after = plus(after, times(normal, short))
    return _no_faster(bay, after, turning, velocity, spin, values[SINK], NONE)


@compiled
def _ways(velocity: Vector, normal: Vector, speed: float) -> tuple[Vector, Vector]:
    """Unit vectors on along the face, and square to that."""
    flat = minus(velocity, times(normal, dot(velocity, normal)))
    if not length(flat) > 1.0e-9 * speed:
        away = (0.0, 0.0, 1.0) if abs(normal[2]) < 0.9 else (1.0, 0.0, 0.0)
        flat = minus(away, times(normal, dot(away, normal)))
    on = times(flat, 1.0 / length(flat))
    return on, cross(normal, on)


@compiled
def _where(
    bay: BayArrays, table: int, point: Vector, velocity: Vector, spin: Vector, on: Vector, side: Vector, inward: float,
    speed: float,
) -> tuple[float, float, float, float, float, float]:  # fmt: skip
    """Speed, slant, the two spins and the two places of a hit."""
    slant = np.arccos(min(inward / speed, 1.0))
    scale = bay.world[RADIUS] / speed
    first, second = bay.pool[table + ROOM_AXES], bay.pool[table + ROOM_AXES + 1]
    across = point[0] if first == 0.0 else point[1]
    up = point[1] if second == 1.0 else point[2]
    return speed, slant, scale * dot(spin, side), scale * dot(spin, on), across, up


@compiled
def _turned(values: np.ndarray, first: int, normal: Vector, on: Vector, side: Vector, scale: float) -> Vector:
    out = plus(times(normal, values[first]), plus(times(on, values[first + 1]), times(side, values[first + 2])))
    return times(out, scale)


@compiled
def _no_faster(
    bay: BayArrays, after: Vector, turning: Vector, velocity: Vector, spin: Vector, sink: float, edge: int
) -> tuple[Vector, Vector, float, int, bool]:
    """The same, slowed where the table would give more energy than there was."""
    share = bay.world[INERTIA] * bay.world[RADIUS] * bay.world[RADIUS]
    before = dot(velocity, velocity) + share * dot(spin, spin)
    later = dot(after, after) + share * dot(turning, turning)
    scale = 1.0 if later <= before else np.sqrt(before / later)
    return times(after, scale), times(turning, scale), max(sink, 0.0), edge, False


@compiled
def _look_up(
    bay: BayArrays, table: int, values: np.ndarray, where: tuple[float, float, float, float, float, float]
) -> None:
    """Write the values at a place: linear between those of one kind, whichever is the worse kind.

    Kinds, worst first: nobody knows, gets past, leaves, is held.
    """
    for value in range(VALUES):
        values[value] = 0.0
    worst = 0
    for corner in range(CORNERS):
        weight, begins = _corner(bay, table, where, corner)
        if weight > 0.0:
            worst = max(worst, _kind(bay, begins))
    total = 0.0
    for corner in range(CORNERS):
        weight, begins = _corner(bay, table, where, corner)
        if weight > 0.0 and _kind(bay, begins) == worst:
            total += weight
            for value in range(VALUES):
                values[value] += weight * bay.pool[begins + value]
    for value in range(VALUES):
        values[value] /= total


@compiled
def _kind(bay: BayArrays, begins: int) -> int:
    if bay.pool[begins + UNKNOWN] > 0.0:
        return 3
    if bay.pool[begins + PAST] > 0.0:
        return 2
    return 0 if bay.pool[begins + HELD] > 0.0 else 1


@compiled
def _corner(
    bay: BayArrays, table: int, where: tuple[float, float, float, float, float, float], corner: int
) -> tuple[float, int]:
    """The weight of a corner of the cell that a place lies in, and where its values stand."""
    weight, index, begins = 1.0, 0, table + HEAD
    for axis in range(AXES):
        count = int(bay.pool[table + axis])
        x, cell = where[axis], 0
        while cell < count - 2 and x >= bay.pool[begins + cell + 1]:
            cell += 1
        share = 0.0
        if count > 1:
            low, high = bay.pool[begins + cell], bay.pool[begins + cell + 1]
            share = (np.log(x / low) / np.log(high / low)) if axis == 0 else (x - low) / (high - low)
            share = min(max(share, 0.0), 1.0)
        far = (corner >> axis) & 1
        weight *= share if far == 1 else 1.0 - share
        index = index * count + min(cell + far, count - 1)
        begins += count
    return weight, begins + VALUES * index
