"""A ball that cloth carries along: to where it leaves the cloth, or to what it meets before that."""

from __future__ import annotations

import numpy as np

from flightsim.contact.rebound import SEPARATE
from flightsim.engine.arc import bound, position, straight_arc
from flightsim.engine.compiled import compiled
from flightsim.engine.crossed import crossing, note_person
from flightsim.engine.layout import BEHIND, GIVES, HARM, LAW, BayArrays, parts_of, zones_of
from flightsim.engine.moving import CARRIED, LAST, PAST, PAST_BEFORE, POINT, SHOT, SPIN, Ball
from flightsim.engine.nearest import FAILED, GOES_ON, arc_end
from flightsim.engine.record import Records
from flightsim.engine.rolling import over_the_edge
from flightsim.engine.three import Vector, dot, length, plus, three, times
from flightsim.engine.world import GRAVITY, HARM_SPEED, RADIUS


@compiled
def carried_along(bay: BayArrays, ball: Ball, k: int, speed: float, records: Records) -> float:
    """The share of its way along part k that the ball is carried: all of it, or up to the first thing in its way; below
    nought where nobody knows.

    People there are hit with the speed, m/s, that it leaves with.
    """
    way = three(ball.state, CARRIED)
    if not length(way) > 0.0:
        return 1.0
    straight_arc(ball.way, three(ball.state, POINT), way, three(ball.state, SPIN))
    bound(ball.way, bay.world[RADIUS])
    ignored = (k, ball.marks[PAST], ball.marks[PAST_BEFORE])
    how, _, tau, _ = arc_end(bay, ball.way, ball.touches, ball.seen, BEHIND + parts_of(bay), ignored)
    if how == FAILED:
        return -1.0
    share = 1.0 if how == GOES_ON else tau
    if bay.codes[k, LAW] != GIVES:  # cloth without a lattice carries it as far as it goes
        share = min(share, over_the_edge(bay, k, ball.way))
    for zone in range(zones_of(bay)):
        if ball.own[ball.marks[SHOT], zone] == 1 and speed >= bay.world[HARM_SPEED]:
            met = crossing(bay, parts_of(bay) + zone, ball.way, share)
            if np.isfinite(met):
                height = position(ball.way, met)[2]
                harm = bay.solids[parts_of(bay) + zone, HARM]
                note_person(records, ball.marks[SHOT], zone, speed, height, ball.marks[LAST], harm)
    return share


@compiled
def climbed(bay: BayArrays, ball: Ball, share: float, after: Vector, normal: Vector) -> Vector:
    """The velocity of a ball after what cloth has carried it upward: what it climbed it pays for, but for what parts it
    from the cloth (see SEPARATE). The cloth gives nothing for what it fell.
    """
    climbs = max(share * ball.state[CARRIED + 2], 0.0)
    if not climbs > 0.0:
        return after
    square = dot(after, after)
    kept = np.sqrt(max(1.0 - 2.0 * bay.world[GRAVITY] * climbs / max(square, 1.0e-12), 0.0))
    parts = min(SEPARATE, dot(after, normal)) - kept * dot(after, normal)
    return plus(times(after, kept), times(normal, max(parts, 0.0)))
