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
from flightsim.engine.moving import CARRIED, ONWARD, ONWARD_SPIN, STAYED, UNOPENED
from flightsim.engine.three import Vector, dot, length, minus, plus, put, three, times

FOOT = EDGES.index("foot")
DEPTH, BACK, EDGE, STAY, TURN = place(0), place(1), place(2), place(3), place(4)  # the values of a table
TINY = 1.0e-9


@compiled
def leave_cloth(
    bay: BayArrays, k: int, point: Vector, velocity: Vector, spin: Vector, normal: Vector, state: np.ndarray
) -> tuple[Vector, Vector, float, int, bool]:
    """Velocity and spin just after, how far the cloth goes with the ball, m, which edge the ball got past, NONE for
    none, and whether nobody knows: the cloth's table has no answer there.

    Into state at CARRIED and STAYED go the way along the cloth to where the ball leaves it, m, and how long that
    takes, s. One that gets past an edge that comes in while it sinks is not carried. One that is carried past an edge
    before it turns back goes on with what goes into state at ONWARD and ONWARD_SPIN, unless something holds it before;
    UNOPENED says whether that edge was where it hangs.
    """
    pool, block = bay.pool, bay.codes[k, CLOTH_AT]
    speed = max(-dot(velocity, normal), 0.0)
    local = minus(point, three(pool, block + CORNER))
    across, up = dot(local, three(pool, block + RIGHT)), dot(local, three(pool, block + UP))
    back = _returned(pool, block, max(speed, SLOW), across, up)
    unknown = np.isnan(back)
    after, turning = bounce(bay, k, velocity, spin, normal, 0.0 if unknown else back)
    if not speed > SLOW:
        return after, turning, 0.0, NONE, unknown
    sink = _reach(pool, block, speed, across, up)
    moved = _edge_moved(pool, block, speed, across, up)
    if unknown or np.isnan(moved) or np.isnan(sink):
        return after, turning, 0.0, NONE, True
    aside = _aside(velocity, normal, speed, sink)
    right, over = dot(aside, three(pool, block + RIGHT)), dot(aside, three(pool, block + UP))
    kept, edge = _kept_past(pool, block, moved, across, up, right, over)
    if kept > 0.0 and kept * length(velocity) >= pool[block + HARM_SPEED]:
        return times(velocity, kept), spin, sink * (1.0 - kept) ** (1.0 / SLOWING), edge, False
    way, stay = _carried(pool, block, after, normal, speed, across, up)
    turned = _gone_as_it_turns(pool, block, speed, across, up, stay)
    share, edge, opened = _off_an_edge(pool, block, moved, across, up, way, turned)
    put(state, CARRIED, times(way, share))
    state[STAYED] = share * stay
    if edge == NONE:
        return after, turning, sink, NONE, False
    sunk = 1.0 if opened else min(share * length(way) / max(length(aside), TINY), 1.0)
    kept = 1.0 - sunk * np.sqrt(sunk)
    along = minus(after, times(normal, dot(after, normal)))
    onward = plus(times(velocity, kept), times(along, 1.0 - kept))
    if length(onward) < pool[block + HARM_SPEED]:
        return after, turning, sink, NONE, False
    state[UNOPENED] = 0.0 if opened else 1.0
    put(state, ONWARD, onward)
    put(state, ONWARD_SPIN, plus(times(spin, kept), times(turning, 1.0 - kept)))
    return after, turning, sink, edge, False


@compiled
def _aside(velocity: Vector, normal: Vector, speed: float, sink: float) -> Vector:
    """How far along the cloth a ball goes while it sinks, m: straight on, at most 45 deg to the side."""
    sideways = times(plus(velocity, times(normal, speed)), 1.0 / speed)
    return times(sideways, sink * min(1.0, STEEPEST / max(length(sideways), TINY)))


@compiled
def _carried(
    pool: np.ndarray, block: int, after: Vector, normal: Vector, speed: float, across: float, up: float
) -> tuple[Vector, float]:
    """The way along the cloth, m, from where it is hit to where the ball leaves it, and how long that takes, s."""
    table = int(pool[block + TABLE])
    first, last = pool[table], pool[table + int(pool[block + SPEEDS]) - 1]
    stay = np.exp(_looked_up(pool, block, table, STAY, min(max(np.log(speed), first), last), across, up))
    if np.isnan(stay):
        stay = STAYS
    return way_along(after, normal, speed, stay), stay


@compiled
def way_along(after: Vector, normal: Vector, speed: float, stay: float) -> Vector:
    """How far along itself cloth carries a ball that leaves it with `after`, m/s, in the time `stay`, s.

    speed: how fast it went in, m/s.
    """
    along = minus(after, times(normal, dot(after, normal)))
    flat = min(1.0, FLATTEST * speed / max(length(along), TINY))
    return times(along, CARRIES * stay * flat)


@compiled
def _gone_as_it_turns(pool: np.ndarray, block: int, speed: float, across: float, up: float, stay: float) -> float:
    """The share of its way along the cloth that a ball has gone, at most, when it is deepest and turns back.

    On the rest of its way it is no slower along the cloth than as it leaves, and its way is CARRIES times what it would
    go at that speed in all its time. Where nobody knows when it turns, all of it.
    """
    table = int(pool[block + TABLE])
    first, last = pool[table], pool[table + int(pool[block + SPEEDS]) - 1]
    turn = np.exp(_looked_up(pool, block, table, TURN, min(max(np.log(speed), first), last), across, up))
    return 1.0 if np.isnan(turn) else 1.0 - (1.0 - min(turn / stay, 1.0)) / CARRIES


@compiled
def _off_an_edge(
    pool: np.ndarray, block: int, moved: float, across: float, up: float, way: Vector, turned: float
) -> tuple[float, int, bool]:
    """The share of its way that a ball is carried, less than all where it leaves the cloth at a side; the edge that it
    gets past there, NONE where it gets past none; and whether that edge came in to it.

    It gets past an edge only before it has turned, at the share `turned` of its way: after that it moves back toward
    where it came from, and leaves in front of the cloth. So it does where another part continues the side.
    """
    right, over = dot(way, three(pool, block + RIGHT)), dot(way, three(pool, block + UP))
    share, edge, opened, reach = 1.0, NONE, False, moved - pool[block + BALL_RADIUS]
    for side in range(4):
        before = max(_from_side(pool, block, side, across, up), 0.0)
        later = _from_side(pool, block, side, across + right, up + over)
        if not later < before:
            continue
        if pool[block + SIDES + side] > 0.0 and later < reach:
            reached = max(before - reach, 0.0) / (before - later)
            if reached <= turned and reached < share:
                share, edge, opened = reached, side, True
        if later < 0.0 and before / (before - later) < share:
            share, opened = before / (before - later), False
            edge = NONE if pool[block + SEAMS + side] > 0.0 or share > turned else side
    return share, edge, opened


@compiled
def _returned(pool: np.ndarray, block: int, speed: float, across: float, up: float) -> float:
    """Speed back over speed in, with the cloth's own damping."""
    if pool[block + NET] > 0.0:
        beside = min(across, pool[block + WIDTH] - across)
        above = min(up, pool[block + HEIGHT] - up)
        near, other = min(beside, above), max(beside, above)
        return pool[block + DAMPING] * max(_of_three(RETURN_SIDE, near), _of_three(RETURN_CORNER, other))
    table = int(pool[block + TABLE])
    first, last = pool[table], pool[table + int(pool[block + SPEEDS]) - 1]
    log_speed = min(max(np.log(speed), first), last)
    back = _looked_up(pool, block, table, BACK, log_speed, across, up)
    return back if np.isnan(back) else pool[block + DAMPING] * min(max(back, 0.0), 1.0)


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
def _reach(pool: np.ndarray, block: int, speed: float, across: float, up: float) -> float:
    """Depth, m: of deep cloth also that of a cloth without shear stiffness, if that is not known."""
    log_speed = np.log(speed)
    deep = pool[block + REACH] * np.exp(_looked_up(pool, block, int(pool[block + TABLE]), DEPTH, log_speed, across, up))
    if pool[block + SLACK] >= 0.0:
        slack = np.exp(_looked_up(pool, block, int(pool[block + SLACK]), DEPTH, log_speed, across, up))
        deep = slack if np.isnan(slack) or slack > deep else deep
    return deep


@compiled
def _edge_moved(pool: np.ndarray, block: int, speed: float, across: float, up: float) -> float:
    """How far the edge nearest to a hit comes in, m; 0 where no side opens."""
    opens = False
    for side in range(4):
        opens |= pool[block + SIDES + side] > 0.0
    if not opens:
        return 0.0
    return pool[block + EDGE_REACH] * np.exp(
        _looked_up(pool, block, int(pool[block + TABLE]), EDGE, np.log(speed), across, up)
    )


@compiled
def _kept_past(
    pool: np.ndarray, block: int, moved: float, across: float, up: float, right: float, over: float
) -> tuple[float, int]:
    """Share of its speed that a ball keeps as it gets past an edge that it opens while it sinks, 0: it does not; and
    which. right, over: how far along the cloth it goes meanwhile, m.

    The edge has to come as far as the ball's far side: by the least distance on the ball's way, and a radius. Then
    the cloth has sunk by that share of its depth [cloth-edge].
    """
    share, edge = 0.0, NONE
    if pool[block + LOOSE_FOOT] > 0.0 and min(up, up + over) <= HEM_BAND:
        share, edge = HEM_KEEPS, FOOT
    for side in range(4):
        from_edge = min(
            _from_side(pool, block, side, across, up), _from_side(pool, block, side, across + right, up + over)
        )
        needed = max(from_edge, 0.0) + pool[block + BALL_RADIUS]
        if pool[block + SIDES + side] > 0.0 and needed <= moved:
            sunk = min(needed / max(moved, TINY), 1.0)
            kept = 1.0 - sunk * np.sqrt(sunk)
            if kept > share:
                share, edge = kept, side
    return share, edge


@compiled
def _from_side(pool: np.ndarray, block: int, side: int, across: float, up: float) -> float:
    """Distance of a place from a side, m; below nought beyond it."""
    if side == 0:
        return across
    if side == 1:
        return pool[block + WIDTH] - across
    return up if side == 2 else pool[block + HEIGHT] - up


@compiled
def _looked_up(
    pool: np.ndarray, block: int, table: int, value: int, log_speed: float, across: float, up: float
) -> float:
    """A value of a table at a speed and place: linear in the logarithm of the speed, beyond its ends too, and in place.

    Places nearer to a rim than the table goes are taken at its end.
    """
    speeds, columns, rows = int(pool[block + SPEEDS]), int(pool[block + COLUMNS]), int(pool[block + ROWS])
    xs, ys = table + speeds, table + speeds + columns
    x = min(max(across * pool[block + SCALE_ACROSS], pool[xs]), pool[xs + columns - 1])
    y = min(max(up * pool[block + SCALE_UP], pool[ys]), pool[ys + rows - 1])
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
