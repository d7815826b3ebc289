"""One ball from its launch until it is held, dead, out, or a limit is met: flight, touch, rebound, and again."""

from __future__ import annotations

import numpy as np

from flightsim.contact.limits import (
    MAX_ARCS,
    MAX_CONTACTS,
    MAX_FLIGHT_TIME,
    MAX_STEPS,
    OFF_FACE,
    WEDGE,
    WEDGED,
)
from flightsim.engine.arc import DURATION, SPEED, START, bound, position, spin_at, time_at, velocity_at
from flightsim.engine.compiled import compiled, inlined
from flightsim.engine.crossed import crossing, fastest_inside, note_person
from flightsim.engine.distance import distance
from flightsim.engine.flight import fly_arc, time_to_leave
from flightsim.engine.hit import after_hit, note_past
from flightsim.engine.layout import BEHIND, HARM, OWN, BayArrays, parts_of, zones_of
from flightsim.engine.moving import (
    ALONE,
    LAST,
    LEVEL,
    LONGEST,
    ON,
    PAST,
    PAST_BEFORE,
    POINT,
    SHOT,
    SINCE,
    SLIPPED,
    SPIN,
    STUCK,
    TIME,
    VELOCITY,
    WANTS,
    Ball,
    behind_the_tee,
    strayed,
)
from flightsim.engine.nearest import FAILED, GOES_ON, LEAVES, TOUCHED, arc_end
from flightsim.engine.record import (
    BEHIND_TEE,
    CONTACTS,
    FIRST_FAILED,
    FIRST_NORMAL,
    FIRST_OPENING,
    FIRST_PART,
    FIRST_POINT,
    FIRST_SPIN,
    FIRST_TIME,
    FIRST_VELOCITY,
    GOT_OUT,
    LEFT,
    RESTS,
    Records,
    begin,
    ended,
    note,
    note_unresolved,
)
from flightsim.engine.rolling import over_the_edge, roll_arc
from flightsim.engine.three import Vector, dot, fill, length, put, three
from flightsim.engine.world import (
    CALM,
    GRAVITY,
    HARM_SPEED,
    HARMLESS,
    INERTIA,
    LONGEST_ARC,
    LOWER,
    RADIUS,
    TO_END,
    TOLERANCE,
    UPPER,
)


@compiled
def play(bay: BayArrays, ball: Ball, launch: np.ndarray, shot: int, records: Records) -> None:
    """Follow one ball from its launch, nine numbers: start, m, velocity, m/s, and spin, rad/s. shot: its row in a call.

    With ball.marks[WANTS] set afterwards it has to be played again, once that cloth has been worked out.
    """
    on_the_tee(bay, ball, launch, shot)
    begin(records, shot)
    to_end = bay.world[TO_END] > 0.0
    if outside(bay, three(launch, POINT)):
        records.whole[shot, FIRST_FAILED] = 1
        note_unresolved(records, shot, length(three(launch, VELOCITY)))
        return
    for _ in range(MAX_STEPS if to_end else MAX_ARCS):
        if _step(bay, ball, records) or ball.marks[WANTS] >= 0:
            return
        if to_end and _spent(bay, ball, records):
            return
    records.whole[shot, FIRST_FAILED] |= 0 if to_end else 1
    note_unresolved(records, shot, length(three(ball.state, VELOCITY)))
    _stop(ball, records)


@inlined
def on_the_tee(bay: BayArrays, ball: Ball, launch: np.ndarray, shot: int) -> None:
    """Put the ball on the tee: nothing has happened to it."""
    fill(ball.state, 0.0)
    for k in range(9):
        ball.state[POINT + k] = launch[k]
    ball.state[LONGEST] = bay.world[LONGEST_ARC]
    ball.marks[SHOT], ball.marks[STUCK] = shot, 0
    ball.marks[LAST] = ball.marks[ON] = ball.marks[WANTS] = -1
    behind_the_tee(ball, launch[POINT])
    ball.marks[PAST] = ball.marks[PAST_BEFORE] = ball.marks[SLIPPED] = -1


@compiled
def outside(bay: BayArrays, start: Vector) -> bool:
    """Whether a ball starts outside the room: no ball can lie there."""
    for axis in range(3):
        if start[axis] < bay.world[LOWER + axis] or start[axis] > bay.world[UPPER + axis]:
            return True
    return False


@compiled
def _step(bay: BayArrays, ball: Ball, records: Records) -> bool:
    """Fly or roll one arc, find the nearest touch, and bounce there; returns whether the ball's story ends with it."""
    lies_still = next_arc(bay, ball)
    how, thing, tau, normal = _nearest_end(bay, ball)
    if bay.world[TO_END] > 0.0:
        _cross_people(bay, ball, 0.0 if how == FAILED else tau, records)
    move_on(bay, ball, tau)
    if how != GOES_ON and records.whole[ball.marks[SHOT], CONTACTS] == 0:
        _first_contact(ball, how, thing, normal, records)
    if how == TOUCHED:
        ends = _bounce(bay, ball, thing, normal, records)
    elif how == GOES_ON:
        ends = _late_or_at_rest(bay, ball, lies_still and ball.marks[ON] >= 0, records)
    else:
        ends = True
        if how == LEAVES:
            _leave(bay, ball, thing, records)
        else:
            note_unresolved(records, ball.marks[SHOT], length(three(ball.state, VELOCITY)))
    if ends:
        _stop(ball, records)
    return ends


@compiled
def _nearest_end(bay: BayArrays, ball: Ball) -> tuple[int, int, float, Vector]:
    """How the ball's arc ends, as `nearest.arc_end` says it; one that rolls also goes over the edge of what carries it,
    and flies on from there.
    """
    arc, on = ball.arc, ball.marks[ON]
    _meet_again(bay, ball)
    ignored = (on, ball.marks[PAST], ball.marks[PAST_BEFORE])
    how, thing, tau, normal = arc_end(bay, arc, ball.touches, ball.seen, BEHIND + parts_of(bay), ignored)
    if on >= 0 and how != FAILED:
        edge = over_the_edge(bay, on, arc)
        if edge < tau:
            ball.marks[ON] = -1
            how, tau = GOES_ON, edge
    return how, thing, tau, normal


@compiled
def _bounce(bay: BayArrays, ball: Ball, k: int, normal: Vector, records: Records) -> bool:
    """Let the ball leave part k; returns whether its story ends there: it is gone, or followed no further."""
    ball.state[LONGEST] = bay.world[LONGEST_ARC]
    return bay.world[TO_END] == 0.0 or after_hit(bay, ball, k, normal, records)


@compiled
def _late_or_at_rest(bay: BayArrays, ball: Ball, lies_still: bool, records: Records) -> bool:
    """Note of a ball that its arc leads nowhere that it lies still, or is under way for too long; whether it is so."""
    shot, to_end = ball.marks[SHOT], bay.world[TO_END] > 0.0
    if (ball.state[TIME] if to_end else ball.arc[START]) >= MAX_FLIGHT_TIME:
        records.whole[shot, FIRST_FAILED] |= 0 if to_end else 1
        note_unresolved(records, shot, length(three(ball.state, VELOCITY)))
        return True
    if lies_still:
        records.whole[shot, RESTS] = 1
    return lies_still


@compiled
def _leave(bay: BayArrays, ball: Ball, opening: int, records: Records) -> None:
    """The ball leaves the room: it got out if it lands hard on the level of the room's floor."""
    world, shot, speed = bay.world, ball.marks[SHOT], length(three(ball.state, VELOCITY))
    height = max(ball.state[POINT + 2] - world[LOWER + 2] - world[RADIUS], 0.0)
    landing = np.sqrt(speed * speed + 2.0 * world[GRAVITY] * height)
    records.whole[shot, LEFT] = opening
    if landing >= world[HARM_SPEED]:
        note(records, shot, GOT_OUT, landing, opening)


@inlined
def _meet_again(bay: BayArrays, ball: Ball) -> None:
    """A part that the ball has got past is there for it again, once the ball touches it no longer."""
    for mark in (PAST, PAST_BEFORE):
        k = ball.marks[mark]
        if k >= 0 and distance(bay, k, three(ball.state, POINT))[0] > bay.world[RADIUS] + OFF_FACE:
            ball.marks[mark] = -1


@inlined
def next_arc(bay: BayArrays, ball: Ball) -> bool:
    """Write the arc that the ball flies or rolls next; returns whether it lies still at the end of that."""
    state, on = ball.state, ball.marks[ON]
    point, velocity, spin = three(state, POINT), three(state, VELOCITY), three(state, SPIN)
    lies_still = False
    if on >= 0:
        lies_still = roll_arc(bay, on, ball.arc, point, velocity, spin, three(state, LEVEL), state[TIME])
    else:
        asked = min(time_to_leave(bay.world, point, velocity), state[LONGEST])
        fly_arc(bay.world, ball.arc, ball.nodes, point, velocity, spin, state[TIME], asked, bay.world[TOLERANCE])
    bound(ball.arc, bay.world[RADIUS])
    return lies_still


@inlined
def move_on(bay: BayArrays, ball: Ball, tau: float) -> None:
    """Put the ball where its arc ends, at tau."""
    state, arc = ball.state, ball.arc
    put(state, POINT, position(arc, tau))
    put(state, VELOCITY, velocity_at(arc, tau))
    put(state, SPIN, spin_at(arc, tau))
    state[TIME] = time_at(arc, tau)
    state[LONGEST] = min(2.0 * arc[DURATION], bay.world[LONGEST_ARC])


@compiled
def _cross_people(bay: BayArrays, ball: Ball, until: float, records: Records) -> None:
    """Note whom the ball crosses before its arc ends; a hitter's own zone counts only after a contact."""
    arc, shot, harm = ball.arc, ball.marks[SHOT], bay.world[HARM_SPEED]
    if not arc[SPEED] >= harm * arc[DURATION]:  # a bound over the whole arc
        return
    if records.whole[shot, CONTACTS] > 0:
        _cross_behind_tee(ball, until, harm, records)
    for zone in range(zones_of(bay)):
        row = parts_of(bay) + zone
        if ball.own[shot, zone] == 0 or (bay.codes[row, OWN] == 1 and records.whole[shot, CONTACTS] == 0):
            continue
        tau = crossing(bay, row, arc, until)
        if np.isfinite(tau):
            speed = fastest_inside(bay, row, arc, tau, until)
            if speed >= harm:
                note_person(records, shot, zone, speed, position(arc, tau)[2], ball.marks[LAST], bay.solids[row, HARM])


@compiled
def _cross_behind_tee(ball: Ball, until: float, harm: float, records: Records) -> None:
    """Note how fast the ball is behind its tee, whoever is there."""
    tau = crossing(ball.space, ALONE, ball.arc, until)
    if np.isfinite(tau):
        speed = fastest_inside(ball.space, ALONE, ball.arc, tau, until)
        if speed >= harm and not speed <= records.floats[ball.marks[SHOT], BEHIND_TEE]:
            records.floats[ball.marks[SHOT], BEHIND_TEE] = speed


@compiled
def _first_contact(ball: Ball, how: int, thing: int, normal: Vector, records: Records) -> None:
    """Write the first contact, or how the ball left, or that nobody knows."""
    shot, state = ball.marks[SHOT], ball.state
    row = records.floats[shot]
    if how == FAILED:
        records.whole[shot, FIRST_FAILED] = 1
        return
    records.whole[shot, FIRST_PART if how == TOUCHED else FIRST_OPENING] = thing
    row[FIRST_TIME] = state[TIME]
    put(row, FIRST_POINT, three(state, POINT))
    put(row, FIRST_VELOCITY, three(state, VELOCITY))
    put(row, FIRST_SPIN, three(state, SPIN))
    put(row, FIRST_NORMAL, normal)


@inlined
def _spent(bay: BayArrays, ball: Ball, records: Records) -> bool:
    """Whether the ball can do no harm any more, lies wedged, or has touched too much; then its story ends."""
    state, shot, world = ball.state, ball.marks[SHOT], bay.world
    contacts = records.whole[shot, CONTACTS]
    velocity, spin = three(state, VELOCITY), three(state, SPIN)
    height = max(state[POINT + 2] - world[LOWER + 2] - world[RADIUS], 0.0)
    turning = 0.5 * world[INERTIA] * world[RADIUS] * world[RADIUS] * dot(spin, spin)
    energy = 0.5 * dot(velocity, velocity) + turning + world[GRAVITY] * height
    # One that is jammed may be fast: it lies there once it would do no harm if it did come out.
    wedged = ball.marks[STUCK] >= WEDGED and strayed(ball, SINCE) < WEDGE and length(velocity) < world[HARM_SPEED]
    if wedged:
        records.whole[shot, RESTS] = 1
    many = contacts >= MAX_CONTACTS
    if many and energy >= world[CALM] and not wedged:
        note_unresolved(records, shot, length(velocity))
    if not (many or wedged or (energy < world[HARMLESS] and contacts > 0)):  # where each is met first is told of all
        return False
    _stop(ball, records)
    return True


@compiled
def _stop(ball: Ball, records: Records) -> None:
    """Write where the ball's story ends, and of one that was past an edge then that it was."""
    note_past(ball, records)
    ended(records, ball.marks[SHOT], three(ball.state, POINT), ball.state[TIME])
