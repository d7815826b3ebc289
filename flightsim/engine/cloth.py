"""How a ball leaves cloth that gives: `flightsim.contact.giving`, one ball."""

from __future__ import annotations

import numpy as np

from flightsim.cloth.closed_form import RETURN_AT, RETURN_CORNER, RETURN_SIDE
from flightsim.contact.fates import EDGES
from flightsim.contact.giving import HEM_BAND, HEM_KEEPS, SLOW
from flightsim.contact.limits import SLOWING
from flightsim.engine.cloth_block import (
    BALL_RADIUS,
    COLUMNS,
    CORNER,
    DAMPING,
    EDGE_REACH,
    HARM_SPEED,
    HEIGHT,
    LOOSE_FOOT,
    NET,
    REACH,
    RIGHT,
    ROWS,
    SCALE_ACROSS,
    SCALE_UP,
    SIDES,
    SLACK,
    SPEEDS,
    TABLE,
    UP,
    WIDTH,
)
from flightsim.engine.compiled import NONE, compiled, place
from flightsim.engine.faces import bounce
from flightsim.engine.layout import CLOTH_AT, BayArrays
from flightsim.engine.three import Vector, dot, length, minus, three, times

FOOT = EDGES.index("foot")
DEPTH, BACK, EDGE = place(0), place(1), place(2)  # the values of a table


@compiled
def leave_cloth(
    bay: BayArrays, k: int, point: Vector, velocity: Vector, spin: Vector, normal: Vector
) -> tuple[Vector, Vector, float, int, bool]:
    """Velocity and spin just after, how far the cloth goes with the ball, m, which edge the ball got past, NONE for
    none, and whether nobody knows: the cloth's table has no answer there.
    """
    pool, at = bay.pool, bay.codes[k, CLOTH_AT]
    speed = max(-dot(velocity, normal), 0.0)
    local = minus(point, three(pool, at + CORNER))
    across, up = dot(local, three(pool, at + RIGHT)), dot(local, three(pool, at + UP))
    back = _returned(pool, at, max(speed, SLOW), across, up)
    unknown = np.isnan(back)
    after, turning = bounce(bay, k, velocity, spin, normal, 0.0 if unknown else back)
    if not speed > SLOW:
        return after, turning, 0.0, NONE, unknown
    kept, edge = _kept_past(pool, at, speed, across, up)
    sink = _reach(pool, at, speed, across, up)
    if unknown or np.isnan(kept) or np.isnan(sink):
        return after, turning, 0.0, NONE, True
    if kept > 0.0 and kept * length(velocity) >= pool[at + HARM_SPEED]:
        return times(velocity, kept), spin, sink * (1.0 - kept) ** (1.0 / SLOWING), edge, False
    return after, turning, sink, NONE, False


@compiled
def _returned(pool: np.ndarray, at: int, speed: float, across: float, up: float) -> float:
    """Speed back over speed in, with the cloth's own damping."""
    if pool[at + NET] > 0.0:
        beside = min(across, pool[at + WIDTH] - across)
        above = min(up, pool[at + HEIGHT] - up)
        near, other = min(beside, above), max(beside, above)
        return pool[at + DAMPING] * max(_of_three(RETURN_SIDE, near), _of_three(RETURN_CORNER, other))
    table = int(pool[at + TABLE])
    first, last = pool[table], pool[table + int(pool[at + SPEEDS]) - 1]
    log_speed = min(max(np.log(speed), first), last)
    back = _looked_up(pool, at, table, BACK, log_speed, across, up)
    return back if np.isnan(back) else pool[at + DAMPING] * min(max(back, 0.0), 1.0)


@compiled
def _of_three(values: np.ndarray, x: float) -> float:
    """The value at x, linear between three places and held at the ends."""
    if not x > RETURN_AT[0]:
        return values[0]
    for j in range(1, 3):
        if x < RETURN_AT[j]:
            share = (x - RETURN_AT[j - 1]) / (RETURN_AT[j] - RETURN_AT[j - 1])
            return values[j - 1] + share * (values[j] - values[j - 1])
    return values[2]


@compiled
def _reach(pool: np.ndarray, at: int, speed: float, across: float, up: float) -> float:
    """Depth, m: of deep cloth also that of a cloth without shear stiffness, if that is not known."""
    log_speed = np.log(speed)
    deep = pool[at + REACH] * np.exp(_looked_up(pool, at, int(pool[at + TABLE]), DEPTH, log_speed, across, up))
    if pool[at + SLACK] >= 0.0:
        slack = np.exp(_looked_up(pool, at, int(pool[at + SLACK]), DEPTH, log_speed, across, up))
        deep = slack if np.isnan(slack) or slack > deep else deep
    return deep


@compiled
def _kept_past(pool: np.ndarray, at: int, speed: float, across: float, up: float) -> tuple[float, int]:
    """Share of its speed that a ball keeps as it gets past an edge that it has opened, 0: it does not; and which."""
    share, edge = 0.0, NONE
    if pool[at + LOOSE_FOOT] > 0.0 and up <= HEM_BAND:
        share, edge = HEM_KEEPS, FOOT
    opens = False
    for side in range(4):
        opens |= pool[at + SIDES + side] > 0.0
    if not opens:
        return share, edge
    moved = pool[at + EDGE_REACH] * np.exp(_looked_up(pool, at, int(pool[at + TABLE]), EDGE, np.log(speed), across, up))
    if np.isnan(moved):
        return moved, NONE
    for side in range(4):
        from_edge = across if side < 2 else up
        if side == 1:
            from_edge = pool[at + WIDTH] - across
        elif side == 3:
            from_edge = pool[at + HEIGHT] - up
        needed = max(from_edge, 0.0) + pool[at + BALL_RADIUS]
        if pool[at + SIDES + side] > 0.0 and needed <= moved:
            sunk = min(needed / max(moved, 1.0e-9), 1.0)
            kept = 1.0 - sunk * np.sqrt(sunk)
            if kept > share:
                share, edge = kept, side
    return share, edge


@compiled
def _looked_up(pool: np.ndarray, at: int, table: int, value: int, log_speed: float, across: float, up: float) -> float:
    """A value of a table at a speed and place: linear in the logarithm of the speed, beyond its ends too, and in place.

    Places nearer to a rim than the table goes are taken at its end.
    """
    speeds, columns, rows = int(pool[at + SPEEDS]), int(pool[at + COLUMNS]), int(pool[at + ROWS])
    xs, ys = table + speeds, table + speeds + columns
    x = min(max(across * pool[at + SCALE_ACROSS], pool[xs]), pool[xs + columns - 1])
    y = min(max(up * pool[at + SCALE_UP], pool[ys]), pool[ys + rows - 1])
    i, s = _cell(pool, table, speeds, log_speed)
    j, t = _cell(pool, xs, columns, x)
    m, u = _cell(pool, ys, rows, y)
    begins = ys + rows + value * speeds * columns * rows
    total = 0.0
    for a in range(2):
        for b in range(2):
            for c in range(2):
                weight = (s if a else 1.0 - s) * (t if b else 1.0 - t) * (u if c else 1.0 - u)
                total += weight * pool[begins + ((i + a) * columns + j + b) * rows + m + c]
    return total


@compiled
def _cell(pool: np.ndarray, begins: int, count: int, x: float) -> tuple[int, float]:
    """The cell of an axis that x lies in, the first or last beyond its ends, and the share of it before x."""
    cell = 0
    while cell < count - 2 and x >= pool[begins + cell + 1]:
        cell += 1
    low, high = pool[begins + cell], pool[begins + cell + 1]
    return cell, (x - low) / (high - low)
