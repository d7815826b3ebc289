"""What a touch does: the bounce, what it breaks, what is behind the cloth, and whether the ball rolls from there."""

from __future__ import annotations

import numpy as np

from flightsim.contact.giving import SLOW, STAYS
from flightsim.contact.limits import GRAZES, HARDLY_MOVES, JAMS, LIFT, ROLLS_FROM, SETTLES, WEDGE
from flightsim.contact.rebound import SEPARATE
from flightsim.engine.behind import struck_behind
from flightsim.engine.carried import carried_along, climbed
from flightsim.engine.cloth import leave_cloth, way_along
from flightsim.engine.compiled import NONE, compiled, inlined
from flightsim.engine.distance import distance
from flightsim.engine.faces import bounce, restitution
from flightsim.engine.law import SOMEWHERE, leave_by_law
from flightsim.engine.layout import (
    BROKEN,
    BY_LAW,
    CLOTH_AT,
    DAMAGE,
    GIVES,
    GUARD,
    GUARD_ROLE,
    LAW,
    ROLE,
    SOFT,
    UNPROTECTED,
    BayArrays,
)
from flightsim.engine.moving import (
    CARRIED,
    EDGE,
    LAST,
    LEVEL,
    LOGGED,
    LOGS,
    ON,
    ONWARD,
    ONWARD_SPIN,
    PAST,
    PAST_BEFORE,
    POINT,
    SHOT,
    SINCE,
    SLIP,
    SLIPPED,
    SPIN,
    STAYED,
    STUCK,
    TIME,
    TOUCHED_AT,
    UNOPENED,
    VELOCITY,
    WANTS,
    Ball,
    strayed,
)
from flightsim.engine.record import (
    BROKE_THROUGH,
    CONTACTS,
    HIT_UNPROTECTED,
    LOG_ARRIVING,
    LOG_LEAVING,
    LOG_LEAVING_SPIN,
    LOG_LEFT,
    LOG_LEFT_TIME,
    LOG_NORMAL,
    LOG_NUMBER,
    LOG_PART,
    LOG_POINT,
    LOG_SHOT,
    LOG_SPIN,
    LOG_TIME,
    PAST_EDGE,
    UNRESOLVED,
    Records,
    note,
    touched_guard,
)
from flightsim.engine.record import EDGE as PAST_WHICH
from flightsim.engine.three import Vector, dot, length, minus, plus, put, three, times
from flightsim.engine.world import HARM_SPEED, LEAST_SPEED, MASS, RADIUS, STRUCK_SPEED


@compiled
def after_hit(bay: BayArrays, ball: Ball, k: int, normal: Vector, records: Records) -> bool:
    """Let the ball leave part k that it touches, note what went wrong, and say whether it is gone: through, or unknown.

    A ball that got past a part's edge flies on; another guard that it meets next keeps it in, and what is no guard says
    that it got past the protection.
    """
    shot, state = ball.marks[SHOT], ball.state
    velocity, spin = three(state, VELOCITY), three(state, SPIN)
    inward = max(-dot(velocity, normal), 0.0)
    stuck = length(velocity) < HARDLY_MOVES or _jammed(ball, k)
    if stuck:
        _not_inside(bay, ball, k, normal)
    through = _breaks(bay, ball, k, inward, records)
    _keep_in(bay, ball, k, records)
    after, turning, sink, edge, unknown = _leave(bay, ball, k, normal, inward)
    if unknown and not through:
        note(records, shot, UNRESOLVED, length(velocity), k)
    gone = through or unknown
    past, struck = edge != NONE and not gone, gone
    onward = length(three(state, ONWARD)) > 0.0
    if sink > 0.0 and length(velocity) >= bay.world[LEAST_SPEED] and not gone:
        after, struck = struck_behind(bay, ball, k, normal, sink, past and not onward, after, records)
        past = past and not struck
    carried = 0.0 if struck else carried_along(bay, ball, k, length(after), records)
    past, carried = past and not 0.0 <= carried < 1.0, max(carried, 0.0)  # what is in its way keeps it on this side
    if past and onward:
        after, turning = three(state, ONWARD), three(state, ONWARD_SPIN)
    after = climbed(bay, ball, carried, after, normal)
    if inward < GRAZES and normal[2] <= ROLLS_FROM and not past:
        after = _parted(after, normal)
    if past:
        _slip_past(bay, ball, k, edge, length(after), onward)
    put(state, VELOCITY, after)
    put(state, SPIN, turning)
    _settle(ball, k, normal, past)
    carried = 0.0 if ball.marks[ON] >= 0 else carried
    _log(ball, k, normal, velocity, spin, gone, carried, records)
    put(state, POINT, plus(three(state, POINT), times(three(state, CARRIED), carried)))
    state[TIME] += carried * state[STAYED]
    _remember(bay, ball, k, stuck, records)
    return gone


@compiled
def _breaks(bay: BayArrays, ball: Ball, k: int, inward: float, records: Records) -> bool:
    """Note what the hit does to part k; returns whether the ball goes through it. inward: its speed into it, m/s."""
    shot, velocity = ball.marks[SHOT], three(ball.state, VELOCITY)
    energy = 0.5 * bay.world[MASS] * inward * inward
    if bay.codes[k, ROLE] == UNPROTECTED and energy >= bay.solids[k, DAMAGE]:
        note(records, shot, HIT_UNPROTECTED, length(velocity), k)
    through = energy >= bay.solids[k, BROKEN]
    if through:
        square = dot(velocity, velocity) - 2.0 * bay.solids[k, BROKEN] / bay.world[MASS]
        note(records, shot, BROKE_THROUGH, np.sqrt(max(square, 0.0)), k)
    return bool(through)


@compiled
def _keep_in(bay: BayArrays, ball: Ball, k: int, records: Records) -> None:
    """Let a guard keep in a ball that has got past another, and note of one that meets what is no guard that it did."""
    if bay.codes[k, ROLE] != GUARD_ROLE:
        note_past(ball, records)
    if k != ball.marks[SLIPPED]:  # the cloth that it got past keeps it in no more: its top and its back are behind it
        ball.marks[SLIPPED] = -1


@compiled
def _slip_past(bay: BayArrays, ball: Ball, k: int, edge: int, speed: float, onward: bool) -> None:
    """Remember that the ball got past this edge of part k with a speed, m/s: no obstacle to it until it is clear of it.

    onward: it was carried to that edge. An edge that the hit opened failed; one that it did not open counts from where
    what is behind it minds.
    """
    ball.marks[PAST_BEFORE] = ball.marks[PAST]
    ball.marks[PAST] = k
    if not (onward and ball.state[UNOPENED] > 0.0) or speed >= bay.world[STRUCK_SPEED]:
        ball.marks[SLIPPED], ball.marks[EDGE] = k, edge
        ball.state[SLIP] = speed


@inlined
def _jammed(ball: Ball, k: int) -> bool:
    """Whether the ball comes to part k from another part and has not moved since: the two close on it.

    There it bounces from one to the other without end, slower each time, and the way left to it shrinks with its speed.
    """
    return ball.marks[LAST] >= 0 and ball.marks[LAST] != k and strayed(ball, TOUCHED_AT) < JAMS


@compiled
def _not_inside(bay: BayArrays, ball: Ball, k: int, normal: Vector) -> None:
    """Put a ball that creeps or is jammed back to where it just touches: in a crease what lifts it off one face pushes
    it into the other, a hair at a time.
    """
    point = three(ball.state, POINT)
    gap = distance(bay, k, point)[0] - bay.world[RADIUS]
    if gap < 0.0:
        put(ball.state, POINT, minus(point, times(normal, gap)))


@compiled
def _parted(after: Vector, normal: Vector) -> Vector:
    """The velocity after a touch with no speed to speak of: away at SEPARATE, paid for by what it has along.

    A ball that another face has just stopped would touch this one on and on, as fast as it came.
    """
    back = dot(after, normal)
    along = minus(after, times(normal, back))
    flat, whole = dot(along, along), dot(after, after)
    out = min(SEPARATE, np.sqrt(whole))
    if not (flat > 0.0 and out > back):
        return after
    return plus(times(along, np.sqrt(max(whole - out * out, 0.0) / flat)), times(normal, out))


@compiled
def _leave(
    bay: BayArrays, ball: Ball, k: int, normal: Vector, inward: float
) -> tuple[Vector, Vector, float, int, bool]:
    """Velocity and spin just after, how far the face goes with the ball, m, which edge of it the ball gets past, NONE
    for none, and whether nobody knows.
    """
    velocity, spin = three(ball.state, VELOCITY), three(ball.state, SPIN)
    put(ball.state, CARRIED, (0.0, 0.0, 0.0))
    put(ball.state, ONWARD, (0.0, 0.0, 0.0))
    ball.state[STAYED] = 0.0
    if bay.codes[k, LAW] == GIVES:
        if bay.codes[k, CLOTH_AT] >= 0:
            return leave_cloth(bay, k, three(ball.state, POINT), velocity, spin, normal, ball.state)
        ball.marks[WANTS] = k
    if bay.codes[k, LAW] == BY_LAW:
        return leave_by_law(bay, k, ball.table, three(ball.state, POINT), velocity, spin, normal)
    after, turning = bounce(bay, k, velocity, spin, normal, restitution(bay, k, inward))
    if bay.codes[k, SOFT] != 0 and inward > SLOW:
        put(ball.state, CARRIED, way_along(after, normal, inward, STAYS))
        ball.state[STAYED] = STAYS
    return after, turning, 0.0, NONE, False


@compiled
def note_past(ball: Ball, records: Records) -> None:
    """Write of a ball that has got past a part's edge, and that no guard has kept in since, that it did."""
    if ball.marks[SLIPPED] >= 0:
        shot = ball.marks[SHOT]
        if note(records, shot, PAST_EDGE, ball.state[SLIP], ball.marks[SLIPPED]):
            records.whole[shot, PAST_WHICH] = ball.marks[EDGE] if ball.marks[EDGE] < SOMEWHERE else NONE


@compiled
def _settle(ball: Ball, k: int, normal: Vector, past: bool) -> None:
    """A ball that comes back and would only hop on a face that can carry it stays on it, and slides or rolls."""
    state = ball.state
    ball.marks[ON] = -1
    hop = dot(three(state, VELOCITY), normal)
    if not past and normal[2] > ROLLS_FROM and hop < SETTLES:
        put(state, VELOCITY, minus(three(state, VELOCITY), times(normal, hop)))
        put(state, POINT, plus(three(state, POINT), times(normal, LIFT)))
        put(state, LEVEL, normal)
        ball.marks[ON] = k


@compiled
def _remember(bay: BayArrays, ball: Ball, k: int, stuck: bool, records: Records) -> None:
    """Count the touch, and write what it was of. stuck: it was slow, or jams the ball."""
    shot, state, marks = ball.marks[SHOT], ball.state, ball.marks
    records.whole[shot, CONTACTS] += 1
    if bay.codes[k, GUARD] >= 0:
        touched_guard(records, shot, bay.codes[k, GUARD], length(three(state, VELOCITY)) < bay.world[HARM_SPEED])
    marks[LAST] = k
    put(state, TOUCHED_AT, three(state, POINT))
    if stuck:
        if marks[STUCK] == 0 or strayed(ball, SINCE) > WEDGE:  # one that creeps along comes to where it stays later
            put(state, SINCE, three(state, POINT))
            marks[STUCK] = 0
        marks[STUCK] += 1
    else:
        marks[STUCK] = 0


@compiled
def _log(
    ball: Ball, k: int, normal: Vector, arriving: Vector, spin: Vector, gone: bool, carried: float, records: Records
) -> None:
    """Write the touch, where touches are logged. carried: which share of its way along the part the ball goes."""
    if ball.marks[LOGS] == 0:
        return
    row, state = records.log[ball.marks[LOGGED]], ball.state
    row[LOG_SHOT], row[LOG_PART], row[LOG_TIME] = ball.marks[SHOT], k, state[TIME]
    row[LOG_NUMBER] = records.whole[ball.marks[SHOT], CONTACTS]
    put(row, LOG_POINT, three(state, POINT))
    put(row, LOG_ARRIVING, arriving)
    put(row, LOG_LEAVING, (np.nan, np.nan, np.nan) if gone else three(state, VELOCITY))
    put(row, LOG_NORMAL, normal)
    put(row, LOG_SPIN, spin)
    put(row, LOG_LEAVING_SPIN, three(state, SPIN))
    put(row, LOG_LEFT, plus(three(state, POINT), times(three(state, CARRIED), carried)))
    row[LOG_LEFT_TIME] = state[TIME] + carried * state[STAYED]
    ball.marks[LOGGED] += 1
