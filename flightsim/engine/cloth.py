"""How a ball leaves cloth that gives: with what speed, how deep it sank, and how far along the cloth carried it."""

from __future__ import annotations

import numpy as np

from flightsim.cloth.closed_form import RETURN_AT, RETURN_CORNER, RETURN_SIDE
from flightsim.contact.fates import EDGES
from flightsim.contact.giving import CARRIES, FLATTEST, HEM_BAND, HEM_KEEPS, SLOW, STAYS
from flightsim.contact.limits import SLOWING, STEEPEST
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
    SEAMS,
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
from flightsim.engine.moving import CARRIED, STAYED
from flightsim.engine.three import Vector, dot, length, minus, plus, put, three, times

FOOT = EDGES.index("foot")
DEPTH, BACK, EDGE, STAY = place(0), place(1), place(2), place(3)  # the values of a table
TINY = 1.0e-9


@compiled
def leave_cloth(
    bay: BayArrays, k: int, point: Vector, velocity: Vector, spin: Vector, normal: Vector, state: np.ndarray
) -> tuple[Vector, Vector, float, int, bool]:
    """Velocity and spin just after, how far the cloth goes with the ball, m, which edge the ball got past, NONE for
    none, and whether nobody knows: the cloth's table has no answer there.

    Into state at CARRIED and STAYED go the way along the cloth to where the ball leaves it, m, and how long that
    takes, s. One that gets past an edge while it sinks is not carried.
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
    sink = _reach(pool, at, speed, across, up)
    moved = _edge_moved(pool, at, speed, across, up)
    if unknown or np.isnan(moved) or np.isnan(sink):
        return after, turning, 0.0, NONE, True
    aside = _aside(velocity, normal, speed, sink)
    right, over = dot(aside, three(pool, at + RIGHT)), dot(aside, three(pool, at + UP))
    kept, edge = _kept_past(pool, at, moved, across, up, right, over)
    if kept > 0.0 and kept * length(velocity) >= pool[at + HARM_SPEED]:
        return times(velocity, kept), spin, sink * (1.0 - kept) ** (1.0 / SLOWING), edge, False
    way, stay = _carried(pool, at, after, normal, speed, across, up)
    share, edge = _off_an_edge(pool, at, moved, across, up, way)
    put(state, CARRIED, times(way, share))
    state[STAYED] = share * stay
    return after, turning, sink, edge if length(after) >= pool[at + HARM_SPEED] else NONE, False


@compiled
def _aside(velocity: Vector, normal: Vector, speed: float, sink: float) -> Vector:
    """How far along the cloth a ball goes while it sinks, m: straight on, at most 45 deg to the side."""
    sideways = times(plus(velocity, times(normal, speed)), 1.0 / speed)
    return times(sideways, sink * min(1.0, STEEPEST / max(length(sideways), TINY)))


@compiled
def _carried(
    pool: np.ndarray, at: int, after: Vector, normal: Vector, speed: float, across: float, up: float
) -> tuple[Vector, float]:
    """The way along the cloth, m, from where it is hit to where the ball leaves it, and how long that takes, s."""
    table = int(pool[at + TABLE])
    first, last = pool[table], pool[table + int(pool[at + SPEEDS]) - 1]
    stay = np.exp(_looked_up(pool, at, table, STAY, min(max(np.log(speed), first), last), across, up))
    if np.isnan(stay):
        stay = STAYS
    along = minus(after, times(normal, dot(after, normal)))
    flat = min(1.0, FLATTEST * speed / max(length(along), TINY))
    return times(along, CARRIES * stay * flat), stay


@compiled
def _off_an_edge(pool: np.ndarray, at: int, moved: float, across: float, up: float, way: Vector) -> tuple[float, int]:
    """The share of its way that a ball is carried, less than all where that crosses a side, and the edge that it gets
    past so, or because that comes in to where the ball is at the end; NONE where it gets past none.

    Where another part continues the side, the ball leaves at the seam, and gets past nothing.
    """
    right, over = dot(way, three(pool, at + RIGHT)), dot(way, three(pool, at + UP))
    share, edge, nearest = 1.0, NONE, moved - pool[at + BALL_RADIUS]
    for side in range(4):
        before = max(_from_side(pool, at, side, across, up), 0.0)
        later = _from_side(pool, at, side, across + right, up + over)
        if later < 0.0 and before / (before - later) < share:
            share = before / (before - later)
            edge = NONE if pool[at + SEAMS + side] > 0.0 else side
    if share < 1.0:
        return share, edge
    for side in range(4):
        later = _from_side(pool, at, side, across + right, up + over)
        if pool[at + SIDES + side] > 0.0 and later <= nearest and later < _from_side(pool, at, side, across, up):
            nearest, edge = later, side
    return share, edge


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
def _edge_moved(pool: np.ndarray, at: int, speed: float, across: float, up: float) -> float:
    """How far the edge nearest to a hit comes in, m; 0 where no side opens."""
    opens = False
    for side in range(4):
        opens |= pool[at + SIDES + side] > 0.0
    if not opens:
        return 0.0
    return pool[at + EDGE_REACH] * np.exp(_looked_up(pool, at, int(pool[at + TABLE]), EDGE, np.log(speed), across, up))


@compiled
def _kept_past(
    pool: np.ndarray, at: int, moved: float, across: float, up: float, right: float, over: float
) -> tuple[float, int]:
    """Share of its speed that a ball keeps as it gets past an edge that it opens while it sinks, 0: it does not; and
    which. right, over: how far along the cloth it goes meanwhile, m.

    The edge has to come as far as the ball's far side: by the least distance on the ball's way, and a radius. Then
    the cloth has sunk by that share of its depth [cloth-edge].
    """
    share, edge = 0.0, NONE
    if pool[at + LOOSE_FOOT] > 0.0 and min(up, up + over) <= HEM_BAND:
        share, edge = HEM_KEEPS, FOOT
    for side in range(4):
        from_edge = min(_from_side(pool, at, side, across, up), _from_side(pool, at, side, across + right, up + over))
        needed = max(from_edge, 0.0) + pool[at + BALL_RADIUS]
        if pool[at + SIDES + side] > 0.0 and needed <= moved:
            sunk = min(needed / max(moved, TINY), 1.0)
            kept = 1.0 - sunk * np.sqrt(sunk)
            if kept > share:
                share, edge = kept, side
    return share, edge


@compiled
def _from_side(pool: np.ndarray, at: int, side: int, across: float, up: float) -> float:
    """Distance of a place from a side, m; below nought beyond it."""
    if side == 0:
        return across
    if side == 1:
        return pool[at + WIDTH] - across
    return up if side == 2 else pool[at + HEIGHT] - up


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
