"""What a ball strikes through cloth: a wall, pipe, lamp or person within the reach of what gives."""

from __future__ import annotations

import numpy as np

from flightsim.contact.limits import STEEPEST
from flightsim.engine.arc import bound, position, straight_arc
from flightsim.engine.compiled import NONE, compiled
from flightsim.engine.crossed import crossing, note_person
from flightsim.engine.faces import restitution
from flightsim.engine.layout import BEHIND, DAMAGE, HARM, BayArrays, parts_of, zones_of
from flightsim.engine.moving import LAST, POINT, SHOT, SPIN, VELOCITY, Ball
from flightsim.engine.nearest import FAILED, TOUCHED, first_touch
from flightsim.engine.record import STRUCK_THROUGH, Records, note, note_unresolved
from flightsim.engine.three import Vector, dot, length, minus, plus, three, times
from flightsim.engine.world import HARM_SPEED, MASS, RADIUS, STRUCK_SPEED


@compiled
def struck_behind(
    bay: BayArrays, ball: Ball, k: int, normal: Vector, sink: float, past: bool, after: Vector, records: Records
) -> tuple[Vector, bool]:
    """The velocity that the ball leaves part k with, and whether it struck anything: then it comes back.

    The part's cloth gives `sink`, m, and would let it go with `after`, back or past its edge. A thing within reach is
    struck with what speed is left. People within reach are hit.
    """
    velocity, shot = three(ball.state, VELOCITY), ball.marks[SHOT]
    inward, speed = max(-dot(velocity, normal), 0.0), length(velocity)
    _sinking_arc(ball, velocity, normal, inward, sink, bay.world[RADIUS])
    how, thing, tau, _ = first_touch(bay, ball.way, ball.touches, ball.seen, BEHIND + k, (NONE, NONE, NONE))
    if how == FAILED:
        note_unresolved(records, shot, speed)
    until = tau if how == TOUCHED else 1.0
    kept = length(after) / max(speed, 1.0e-9) if past else 0.0
    left = speed_left(speed, until, kept)
    if how == TOUCHED and left >= _strikes_from(bay, thing):
        note(records, shot, STRUCK_THROUGH, left, thing)
    _people_behind(bay, ball, speed, until, kept, records)
    if how != TOUCHED:
        return after, False
    # What it struck sends it back harder than the cloth alone, at most as the wall itself would.
    there = speed_left(inward, tau, kept)
    harder = there * restitution(bay, thing, there) - dot(after, normal)
    return plus(after, times(normal, max(harder, 0.0))), True


@compiled
def _strikes_from(bay: BayArrays, thing: int) -> float:
    """The speed, m/s, from which on a thing behind cloth counts as struck: lower where less damages it."""
    return min(bay.world[STRUCK_SPEED], np.sqrt(2.0 * bay.solids[thing, DAMAGE] / bay.world[MASS]))


@compiled
def _sinking_arc(ball: Ball, velocity: Vector, normal: Vector, inward: float, sink: float, radius: float) -> None:
    """The straight way of a ball into the face that gives."""
    inward = max(inward, 1.0e-9)
    sideways = times(plus(velocity, times(normal, inward)), 1.0 / inward)
    steep = length(sideways)
    # Beyond 45 deg the ball slides along the cloth.
    way = minus(times(sideways, min(1.0, STEEPEST / max(steep, 1.0e-9))), normal)
    straight_arc(ball.way, three(ball.state, POINT), times(way, sink), three(ball.state, SPIN))
    bound(ball.way, radius)


@compiled
def _people_behind(bay: BayArrays, ball: Ball, speed: float, until: float, kept: float, records: Records) -> None:
    shot = ball.marks[SHOT]
    for zone in range(zones_of(bay)):
        if ball.own[shot, zone] == 0:
            continue
        tau = crossing(bay, parts_of(bay) + zone, ball.way, until)
        if np.isfinite(tau):
            there = speed_left(speed, tau, kept)
            if there >= bay.world[HARM_SPEED]:
                harm = bay.solids[parts_of(bay) + zone, HARM]
                note_person(records, shot, zone, there, position(ball.way, tau)[2], ball.marks[LAST], harm)


@compiled
def speed_left(speed: float, depth: float, kept: float) -> float:
    """Speed left at a share `depth` of the way that the cloth goes, with a share kept at its end.

    V (1 - (1 - kept) depth^1.5) [cloth-form], computed by a lattice.
    """
    depth = min(max(depth, 0.0), 1.0)
    return speed * (1.0 - (1.0 - kept) * depth * np.sqrt(depth))
