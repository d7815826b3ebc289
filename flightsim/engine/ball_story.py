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
from flightsim.engine.account import (
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
    Told,
    begin,
    ended,
    note,
    note_unresolved,
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
def play(bay: BayArrays, ball: Ball, launch: np.ndarray, shot: int, told: Told) -> None:
    """Follow one ball from its launch, nine numbers: start, m, velocity, m/s, and spin, rad/s.

    With ball.marks[WANTS] set afterwards it has to be played again, once that cloth has been worked out.
    """
    _on_the_tee(bay, ball, launch, shot)
    begin(told, shot)
    to_end = bay.world[TO_END] > 0.0
    if _outside(bay, three(launch, POINT)):
        told.whole[shot, FIRST_FAILED] = 1
        note_unresolved(told, shot, length(three(launch, VELOCITY)))
        return
    for _ in range(MAX_STEPS if to_end else MAX_ARCS):
        if _step(bay, ball, told) or ball.marks[WANTS] >= 0:
            return
        if to_end and _spent(bay, ball, told):
            return
    told.whole[shot, FIRST_FAILED] |= 0 if to_end else 1
    note_unresolved(told, shot, length(three(ball.state, VELOCITY)))
    _stop(ball, told)


@inlined
def _on_the_tee(bay: BayArrays, ball: Ball, launch: np.ndarray, shot: int) -> None:
    """The ball before anything has happened."""
    fill(ball.state, 0.0)
    for k in range(9):
        ball.state[POINT + k] = launch[k]
    ball.state[LONGEST] = bay.world[LONGEST_ARC]
    ball.marks[SHOT], ball.marks[STUCK] = shot, 0
    ball.marks[LAST] = ball.marks[ON] = ball.marks[WANTS] = -1
    behind_the_tee(ball, launch[POINT])
    ball.marks[PAST] = ball.marks[PAST_BEFORE] = ball.marks[SLIPPED] = -1


@compiled
def _outside(bay: BayArrays, start: Vector) -> bool:
    """Whether a ball starts outside the room: no ball can lie there."""
    for axis in range(3):
        if start[axis] < bay.world[LOWER + axis] or start[axis] > bay.world[UPPER + axis]:
            return True
    return False


@compiled
def _step(bay: BayArrays, ball: Ball, told: Told) -> bool:
    """One arc of the ball, and what it does at its end; returns whether its story ends there."""
    arc, shot, on = ball.arc, ball.marks[SHOT], ball.marks[ON]
    _clear(bay, ball)
    stops = _next_arc(bay, ball)
    but = (on, ball.marks[PAST], ball.marks[PAST_BEFORE])
    how, what, tau, normal = arc_end(bay, arc, ball.found, ball.seen, BEHIND + parts_of(bay), but)
    if on >= 0 and how != FAILED:
        edge = over_the_edge(bay, on, arc)
        if edge < tau:
            how, tau, stops, ball.marks[ON] = GOES_ON, edge, False, -1
    to_end = bay.world[TO_END] > 0.0
    if to_end:
        _cross_people(bay, ball, 0.0 if how == FAILED else tau, told)
    _move_on(bay, ball, tau)
    if how != GOES_ON and told.whole[shot, CONTACTS] == 0:
        _first_contact(ball, how, what, normal, told)
    if how == TOUCHED:
        ball.state[LONGEST] = bay.world[LONGEST_ARC]
        if to_end and not after_hit(bay, ball, what, normal, told):
            return False
    elif how == GOES_ON:
        late = (ball.state[TIME] if to_end else arc[START]) >= MAX_FLIGHT_TIME
        if not late and not stops:
            return False
        if late:
            told.whole[shot, FIRST_FAILED] |= 0 if to_end else 1
            note_unresolved(told, shot, length(three(ball.state, VELOCITY)))
        else:
            told.whole[shot, RESTS] = 1
    elif how == LEAVES:
        _leave(bay, ball, what, told)
    else:
        note_unresolved(told, shot, length(three(ball.state, VELOCITY)))
    _stop(ball, told)
    return True


@compiled
def _leave(bay: BayArrays, ball: Ball, opening: int, told: Told) -> None:
    """The ball leaves the room: it got out if it lands hard on the level of the room's floor."""
    world, shot, speed = bay.world, ball.marks[SHOT], length(three(ball.state, VELOCITY))
    height = max(ball.state[POINT + 2] - world[LOWER + 2] - world[RADIUS], 0.0)
    landing = np.sqrt(speed * speed + 2.0 * world[GRAVITY] * height)
    told.whole[shot, LEFT] = opening
    if landing >= world[HARM_SPEED]:
        note(told, shot, GOT_OUT, landing, opening)


@inlined
def _clear(bay: BayArrays, ball: Ball) -> None:
    """What the ball has got past is there for it again once it touches it no longer."""
    for mark in (PAST, PAST_BEFORE):
        k = ball.marks[mark]
        if k >= 0 and distance(bay, k, three(ball.state, POINT))[0] > bay.world[RADIUS] + OFF_FACE:
            ball.marks[mark] = -1


@inlined
def _next_arc(bay: BayArrays, ball: Ball) -> bool:
    """Fly or roll on; returns whether the ball lies still at the end of that."""
    state, on = ball.state, ball.marks[ON]
    point, velocity, spin = three(state, POINT), three(state, VELOCITY), three(state, SPIN)
    stops = False
    if on >= 0:
        stops = roll_arc(bay, on, ball.arc, point, velocity, spin, three(state, LEVEL), state[TIME])
    else:
        asked = min(time_to_leave(bay.world, point, velocity), state[LONGEST])
        fly_arc(bay.world, ball.arc, ball.nodes, point, velocity, spin, state[TIME], asked, bay.world[TOLERANCE])
    bound(ball.arc, bay.world[RADIUS])
    return stops


@inlined
def _move_on(bay: BayArrays, ball: Ball, tau: float) -> None:
    """The ball at the end of its arc."""
    state, arc = ball.state, ball.arc
    put(state, POINT, position(arc, tau))
    put(state, VELOCITY, velocity_at(arc, tau))
    put(state, SPIN, spin_at(arc, tau))
    state[TIME] = time_at(arc, tau)
    state[LONGEST] = min(2.0 * arc[DURATION], bay.world[LONGEST_ARC])


@compiled
def _cross_people(bay: BayArrays, ball: Ball, until: float, told: Told) -> None:
    """Note whom the ball crosses before its arc ends; a hitter's own zone counts only after a contact."""
    arc, shot, harm = ball.arc, ball.marks[SHOT], bay.world[HARM_SPEED]
    if not arc[SPEED] >= harm * arc[DURATION]:  # a bound over the whole arc
        return
    if told.whole[shot, CONTACTS] > 0:
        _cross_behind_tee(ball, until, harm, told)
    for zone in range(zones_of(bay)):
        row = parts_of(bay) + zone
        if ball.own[shot, zone] == 0 or (bay.codes[row, OWN] == 1 and told.whole[shot, CONTACTS] == 0):
            continue
        tau = crossing(bay, row, arc, until)
        if np.isfinite(tau):
            speed = fastest_inside(bay, row, arc, tau, until)
            if speed >= harm:
                note_person(told, shot, zone, speed, position(arc, tau)[2], ball.marks[LAST], bay.solids[row, HARM])


@compiled
def _cross_behind_tee(ball: Ball, until: float, harm: float, told: Told) -> None:
    """Note how fast the ball is behind its tee, whoever is there."""
    tau = crossing(ball.space, ALONE, ball.arc, until)
    if np.isfinite(tau):
        speed = fastest_inside(ball.space, ALONE, ball.arc, tau, until)
        if speed >= harm and not speed <= told.floats[ball.marks[SHOT], BEHIND_TEE]:
            told.floats[ball.marks[SHOT], BEHIND_TEE] = speed


@compiled
def _first_contact(ball: Ball, how: int, what: int, normal: Vector, told: Told) -> None:
    """Write the first contact, or how the ball left, or that nobody knows."""
    shot, state = ball.marks[SHOT], ball.state
    row = told.floats[shot]
    if how == FAILED:
        told.whole[shot, FIRST_FAILED] = 1
        return
    told.whole[shot, FIRST_PART if how == TOUCHED else FIRST_OPENING] = what
    row[FIRST_TIME] = state[TIME]
    put(row, FIRST_POINT, three(state, POINT))
    put(row, FIRST_VELOCITY, three(state, VELOCITY))
    put(row, FIRST_SPIN, three(state, SPIN))
    put(row, FIRST_NORMAL, normal)


@inlined
def _spent(bay: BayArrays, ball: Ball, told: Told) -> bool:
    """Whether the ball can do no harm any more, lies wedged, or has touched too much; then its story ends."""
    state, shot, world = ball.state, ball.marks[SHOT], bay.world
    contacts = told.whole[shot, CONTACTS]
    velocity, spin = three(state, VELOCITY), three(state, SPIN)
    height = max(state[POINT + 2] - world[LOWER + 2] - world[RADIUS], 0.0)
    turning = 0.5 * world[INERTIA] * world[RADIUS] * world[RADIUS] * dot(spin, spin)
    energy = 0.5 * dot(velocity, velocity) + turning + world[GRAVITY] * height
    # One that is jammed may be fast: it lies there once it would do no harm if it did come out.
    wedged = ball.marks[STUCK] >= WEDGED and strayed(ball, SINCE) < WEDGE and length(velocity) < world[HARM_SPEED]
    if wedged:
        told.whole[shot, RESTS] = 1
    many = contacts >= MAX_CONTACTS
    if many and energy >= world[CALM] and not wedged:
        note_unresolved(told, shot, length(velocity))
    if not (many or wedged or (energy < world[HARMLESS] and contacts > 0)):  # where each is met first is told of all
        return False
    _stop(ball, told)
    return True


@compiled
def _stop(ball: Ball, told: Told) -> None:
    """Write where the ball's story ends, and of one that was past an edge then that it was."""
    note_past(ball, told)
    ended(told, ball.marks[SHOT], three(ball.state, POINT), ball.state[TIME])
