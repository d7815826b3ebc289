"""A ball that slides and rolls along a face that carries it: sliding, then rolling, in arcs of even forces."""

from __future__ import annotations

import numpy as np

from flightsim.contact.limits import EDGE_HALVINGS, EDGE_LOOKS, LIFT, LONGEST_ROLL, OFF_FACE, SLIPS, STILL
from flightsim.engine.arc import (
    DURATION,
    END_SPIN,
    END_VELOCITY,
    ROLLS,
    START,
    TURN,
    position,
    put_coefficients,
    straight_arc,
)
from flightsim.engine.compiled import compiled
from flightsim.engine.distance import distance
from flightsim.engine.layout import FRICTION, ROLLING, BayArrays
from flightsim.engine.three import Vector, cross, dot, length, minus, plus, put, times
from flightsim.engine.world import GRAVITY, INERTIA, RADIUS

TINY = 1.0e-300


@compiled
def roll_arc(
    bay: BayArrays, k: int, arc: np.ndarray, point: Vector, velocity: Vector, spin: Vector, normal: Vector, start: float
) -> bool:
    """Write the arc of a ball on part k, and say whether it comes to rest at its end.

    One that slips, u = v - R w at the contact, is slowed by mu g cos against u and turned by it until u is nought; then
    it rolls. A rolling ball gathers g sin/(1 + k) on a slope; rolling friction takes mu_r g cos along its way. On one
    steeper than tan = (1 + 1/k) mu no friction makes it roll: it slips down (any textbook's ball on an incline).
    """
    world = bay.world
    radius, inertia, gravity = world[RADIUS], world[INERTIA], world[GRAVITY]
    down = (0.0, 0.0, -gravity)
    along, press = minus(down, times(normal, dot(down, normal))), gravity * abs(normal[2])
    slip = minus(velocity, times(cross(spin, normal), radius))
    slip = minus(slip, times(normal, dot(slip, normal)))
    slide, drag = length(slip), bay.solids[k, FRICTION] * press
    grips, pull = (1.0 + 1.0 / inertia) * drag, length(along)  # what ends slipping, and what begins it, m/s2
    slips = drag > 0.0 and (slide > SLIPS or pull > grips)
    against = times(slip, 1.0 / slide) if slide > SLIPS else times(along, 1.0 / max(pull, TINY))
    gains, until, stays = _rolling(times(along, 1.0 / (1.0 + inertia)), velocity, bay.solids[k, ROLLING] * press)
    rests = not slips and until <= LONGEST_ROLL and stays
    if slips:
        ends = grips - max(dot(along, against), 0.0) if pull > grips else grips
        gains, until = minus(along, times(against, drag)), slide / ends if ends > 0.0 else LONGEST_ROLL
    duration = max(min(until, LONGEST_ROLL), 1.0e-6)
    end = plus(velocity, times(gains, duration))
    turned = plus(spin, times(cross(normal, against), drag * duration / (inertia * radius)))
    if not slips:
        spin, turned = times(cross(normal, velocity), 1.0 / radius), times(cross(normal, end), 1.0 / radius)
    straight_arc(arc, point, times(velocity, duration), spin)
    put_coefficients(arc, TURN, times(gains, 0.5 * duration * duration))
    put(arc, END_VELOCITY, end)
    put(arc, END_SPIN, turned)
    arc[START], arc[DURATION], arc[ROLLS] = start, duration, 1.0
    return rests


@compiled
def _rolling(pull: Vector, velocity: Vector, grip: float) -> tuple[Vector, float, bool]:
    """Acceleration of a rolling ball, when it stops, and whether it stays: what pulls it, and what friction holds."""
    speed, drawn = length(velocity), length(pull)
    if speed < STILL:  # a ball that lies still goes where the slope draws it, if that is more than friction holds
        if drawn <= grip:
            return (0.0, 0.0, 0.0), 0.0, True
        way = times(pull, 1.0 / max(drawn, TINY))
    else:
        way = times(velocity, 1.0 / max(speed, TINY))
    gains = minus(pull, times(way, grip))
    slowing = -dot(gains, way)
    return gains, speed / max(slowing, TINY) if slowing > 0.0 else np.inf, drawn <= grip


@compiled
def over_the_edge(bay: BayArrays, k: int, arc: np.ndarray) -> float:
    """The tau at which a rolling ball leaves the face of part k that carries it; inf where it does not."""
    for look in range(EDGE_LOOKS):
        by = (look + 1.0) / EDGE_LOOKS
        if _off(bay, k, arc, by):
            low, high = by - 1.0 / EDGE_LOOKS, by
            for _ in range(EDGE_HALVINGS):
                middle = (low + high) / 2.0
                if _off(bay, k, arc, middle):
                    high = middle
                else:
                    low = middle
            return high
    return np.inf


@compiled
def _off(bay: BayArrays, k: int, arc: np.ndarray, tau: float) -> bool:
    """Whether the face carries the ball no longer."""
    return distance(bay, k, position(arc, tau))[0] > bay.world[RADIUS] + LIFT + OFF_FACE
