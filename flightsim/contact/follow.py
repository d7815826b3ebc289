"""Each ball from its launch until it is held, dead, out, or a limit is met: flight, touch, rebound, and again."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.shapes import Shape
from flightsim.contact.arcs import ArcBatch
from flightsim.contact.behind_tee import note_behind_tee
from flightsim.contact.crossings import crossings, note_person
from flightsim.contact.ends import Ends, arc_ends
from flightsim.contact.fates import Fates, Flag
from flightsim.contact.first import LONGEST_ARC, MAX_FLIGHT_TIME, Contacts, time_to_leave
from flightsim.contact.hit import after_hits, note_past
from flightsim.contact.leaving import landing_speed
from flightsim.contact.log import ContactLog
from flightsim.contact.moving import Moving
from flightsim.contact.rolling import LIFT, OFF, OnFace, roll_arcs
from flightsim.contact.surroundings import Surroundings
from flightsim.flight.arcs import Flights
from flightsim.flight.integrator import DEFAULT_TOLERANCE, Physics, fly_arcs
from flightsim.flight.launches import Launches

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

MAX_CONTACTS = 200  # a ball that still bounces then is unresolved
MAX_STEPS = 2000
WEDGED = 40  # slow touches in a row, within a few millimetres: the ball lies between two things (judgement)
WEDGE = 5.0e-3  # m
EDGE_LOOKS = 16  # at a rolling ball's arc: does the face still carry it?
EDGE_HALVINGS = 12  # of the time between two looks
_ROLL_LOOKS = np.linspace(0.0, 1.0, EDGE_LOOKS + 1)[1:]


def follow(
    physics: Physics,
    launches: Launches,
    around: Surroundings,
    own: Mask,
    to_rest: bool = False,
    log: ContactLog | None = None,
    tolerance: float = DEFAULT_TOLERANCE,
) -> tuple[Contacts, Fates]:
    """Fly every launch to its first contact and on to its end.

    own `(zones, n)`: which zones count for a shot at any time, and which only once it has touched something; see
    Zone. A ball is followed until it can do no more harm (see Surroundings.harmless_energy), or to_rest until it lies
    still; log: where every contact is written. Bounded: a ball that does not end is unresolved.
    """
    n = len(launches)
    bay = around.bay
    first, fates = Contacts.empty(n), Fates.empty(n, len(bay.zones), len(bay.guard_labels()))
    outside = ((launches.start < bay.lower[:, None]) | (launches.start > bay.upper[:, None])).any(axis=0)
    first.failed[:] = outside
    _unresolved(fates, np.flatnonzero(outside), launches.velocity[:, outside])
    balls = _on_the_tee(launches, np.flatnonzero(~outside))
    harmless = 0.0 if to_rest or any(physics.wind) else around.harmless_energy(physics.ball)
    for _ in range(MAX_STEPS):
        if len(balls) == 0:
            break
        balls = _step(physics, balls, around, own, launches.start[0], first, fates, log, tolerance)
        balls = _without_the_dead(physics, balls, around, fates, harmless)
    _unresolved(fates, balls.shot, balls.velocity)
    _ended(fates, balls)
    return first, fates


def _on_the_tee(launches: Launches, shot: Index) -> Moving:
    """These shots, before anything has happened."""
    n, some = shot.size, launches.take(shot)
    nothing, blank = np.full(n, -1, dtype=np.intp), np.zeros((3, n))
    return Moving(
        shot, some.start, some.velocity, some.spin, np.zeros(n), np.full(n, LONGEST_ARC), nothing, nothing.copy(),
        blank, np.zeros(n, dtype=np.intp), blank.copy(), np.full((2, n), -1, dtype=np.intp),
        nothing.copy(), np.zeros(n), nothing.copy(),
    )  # fmt: skip


def _step(
    physics: Physics,
    balls: Moving,
    around: Surroundings,
    own: Mask,
    tee: Array,
    first: Contacts,
    fates: Fates,
    log: ContactLog | None,
    tolerance: float,
) -> Moving:
    """One arc of every ball, and what it does at its end. tee `(shots,)`: x of where each shot starts, m."""
    bay, radius = around.bay, physics.ball.radius
    _clear(balls, around, radius)
    balls, flights, stops = _arcs(physics, balls, around, tolerance)
    arcs = ArcBatch(flights, radius, _carried(balls, around))
    ends = arc_ends(bay, arcs, around.tests)
    off = _over_the_edge(balls, around, flights, ends, radius)
    arcs.until = np.where(ends.failed, 0.0, ends.tau)
    _cross(balls, around, own, arcs, fates)
    fast = arcs.speed >= around.harm_speed * flights.duration  # a bound over the whole arc
    bounced = fates.contacts[balls.shot] > 0
    note_behind_tee(fates, balls.shot, tee[balls.shot], fast & bounced, arcs, around)
    new = fates.contacts[balls.shot] == 0
    ended = ~ends.goes_on
    first.put(balls.shot[new & ended], flights.take(np.flatnonzero(new & ended)), _take(ends, new & ended))
    tau = ends.tau
    at = Moving(
        balls.shot, flights.position(tau), flights.velocity(tau), flights.spin_at(tau), flights.time(tau),
        np.minimum(2.0 * flights.duration, LONGEST_ARC), balls.last, balls.on, balls.level,
        balls.slow, balls.since, balls.past, balls.slipped, balls.slip, balls.edge,
    )  # fmt: skip
    on = np.flatnonzero(ends.goes_on & (tau == 1.0))
    at.velocity[:, on], at.spin[:, on] = flights.end_velocity[:, on], flights.end_spin[:, on]
    ground = np.flatnonzero(balls.on >= 0)  # friction turns a ball evenly in time
    turned = flights.end_spin[:, ground] - flights.spin[:, ground]
    at.spin[:, ground] = flights.spin[:, ground] + turned * tau[ground]
    at.on[off] = -1
    _unresolved(fates, at.shot[ends.failed], at.velocity[:, ends.failed])
    _leave(at.take(ends.opening >= 0), ends.opening[ends.opening >= 0], physics, around, fates)
    late = ends.goes_on & (at.time >= MAX_FLIGHT_TIME)
    _unresolved(fates, at.shot[late], at.velocity[:, late])
    rests = ends.goes_on & stops & ~off
    fates.rests[at.shot[rests]] = True
    _ended(fates, at.take(ends.failed | (ends.opening >= 0) | late | rests))
    touched = ends.part >= 0
    goes_on = at.take(ends.goes_on & ~late & ~rests)
    if not touched.any():
        return goes_on
    hit = after_hits(
        at.take(touched), ends.part[touched], ends.normal[:, touched], physics.ball, around, own, fates, log
    )
    hit.longest[:] = LONGEST_ARC
    return goes_on.joined(hit)


def _arcs(physics: Physics, balls: Moving, around: Surroundings, tolerance: float) -> tuple[Moving, Flights, Mask]:
    """The next arc of each ball, those in the air first; and which rolling ones lie still at its end."""
    air, ground = np.flatnonzero(balls.on < 0), np.flatnonzero(balls.on >= 0)
    flying, rolling = (balls.take(air), balls.take(ground)) if ground.size else (balls, balls.take(ground))
    duration = np.minimum(time_to_leave(flying.point, flying.velocity, around.bay, physics), flying.longest)
    flights = fly_arcs(physics, flying.point, flying.velocity, flying.spin, flying.time, duration, tolerance)
    stops = np.zeros(len(balls), dtype=bool)
    if ground.size == 0:
        return balls, flights, stops
    mu = np.array([(facing.rolling, facing.friction) for facing in around.facings])[rolling.on].T
    on_face = OnFace(rolling.point, rolling.velocity, rolling.level, rolling.spin, mu[0], mu[1], rolling.time)
    rolls, stops[air.size :] = roll_arcs(on_face, physics.gravity, physics.ball, len(flights.path))
    return flying.joined(rolling), flights.joined(rolls), stops


def _carried(balls: Moving, around: Surroundings) -> dict[str, Mask]:
    """What is no obstacle: to rolling balls the part that they roll on, to others what they are getting past."""
    some = np.union1d(balls.on[balls.on >= 0], balls.past[balls.past >= 0])
    return {around.bay.parts[k].name: (balls.on == k) | (balls.past == k).any(axis=0) for k in some}


def _clear(balls: Moving, around: Surroundings, radius: float) -> None:
    """What balls have got past is there for them again once they touch it no longer."""
    for k in np.unique(balls.past[balls.past >= 0]):
        who = np.flatnonzero((balls.past == k).any(axis=0))
        away = around.bay.parts[k].shape.distance(balls.point[:, who])[0] > radius + OFF
        who = who[away]
        balls.past[:, who] = np.where(balls.past[:, who] == k, -1, balls.past[:, who])


def _over_the_edge(balls: Moving, around: Surroundings, flights: Flights, ends: Ends, radius: float) -> Mask:
    """Rolling balls that leave the face that carries them; their arcs are cut there."""
    off = np.zeros(len(balls), dtype=bool)
    for k in np.unique(balls.on[balls.on >= 0]):
        who = np.flatnonzero((balls.on == k) & ~ends.failed)
        some, shape = flights.take(who), around.bay.parts[k].shape
        cut = np.full(who.size, np.inf)
        for look in _ROLL_LOOKS[::-1]:
            cut = np.where(_off(shape, some, np.full(who.size, look), radius), look, cut)
        left = np.flatnonzero(np.isfinite(cut))
        cut[left] = _when_off(shape, some.take(left), cut[left], radius)
        fell = cut < ends.tau[who]
        off[who[fell]] = True
        ends.tau[who[fell]], ends.part[who[fell]], ends.opening[who[fell]] = cut[fell], -1, -1
    return off


def _when_off(shape: Shape, rolls: Flights, by: Array, radius: float) -> Array:
    """When the face carries rolling balls no longer that are off it at `by`, and were on it a look before."""
    low, high = by - _ROLL_LOOKS[0], by
    for _ in range(EDGE_HALVINGS if by.size else 0):
        middle = (low + high) / 2.0
        away = _off(shape, rolls, middle, radius)
        low, high = np.where(away, low, middle), np.where(away, middle, high)
    return high


def _off(shape: Shape, rolls: Flights, tau: Array, radius: float) -> Mask:
    """Whether the face carries the rolling balls no longer."""
    return np.asarray(shape.distance(rolls.position(tau))[0] > radius + LIFT + OFF)


def _cross(balls: Moving, around: Surroundings, own: Mask, arcs: ArcBatch, fates: Fates) -> None:
    """Note whom the balls cross before their arcs end."""
    if not around.bay.zones:
        return
    bounced = fates.contacts[balls.shot] > 0
    fast = arcs.speed >= around.harm_speed * arcs.flights.duration  # a bound over the whole arc
    after = np.array([bool(zone.own_spot) for zone in around.bay.zones])[:, None]  # a hitter's own counts then only
    counts = own[:, balls.shot] & fast & (bounced | ~after)
    harm = around.zone_harm
    for k, found in crossings(around.bay.zones, arcs, counts):
        hit = found.speed >= around.harm_speed
        who = found.balls[hit]
        note_person(fates, k, balls.shot[who], found.speed[hit], found.height[hit], balls.last[who], harm[k])


def _leave(out: Moving, opening: Index, physics: Physics, around: Surroundings, fates: Fates) -> None:
    """Balls that leave the room: got out are those that land hard on the level of its lowest floor."""
    fates.left[out.shot] = opening
    height = out.point[2] - around.bay.lower[2] - physics.ball.radius
    speed = landing_speed(out.speed, height, physics.gravity)
    fast = speed >= around.harm_speed
    fates.note(Flag.GOT_OUT, out.shot[fast], speed[fast], opening[fast])


def _without_the_dead(physics: Physics, balls: Moving, around: Surroundings, fates: Fates, harmless: float) -> Moving:
    """Without balls that can do no harm any more, and those that have touched too much."""
    ball = physics.ball
    wedged = (balls.slow >= WEDGED) & (np.abs(balls.point - balls.since).max(axis=0) < WEDGE)
    fates.rests[balls.shot[wedged]] = True
    square, turning = (balls.velocity**2).sum(axis=0), (balls.spin**2).sum(axis=0)
    height = np.maximum(balls.point[2] - around.bay.lower[2] - ball.radius, 0.0)
    energy = 0.5 * square + 0.5 * ball.inertia_factor * ball.radius**2 * turning + physics.gravity * height
    done = (energy < harmless) & (fates.contacts[balls.shot] > 0)  # where each is met first is told of all
    many = fates.contacts[balls.shot] >= MAX_CONTACTS
    calm = 0.0 if any(physics.wind) else around.harmless_energy(ball)
    stuck = many & (energy >= calm) & ~wedged
    _unresolved(fates, balls.shot[stuck], balls.velocity[:, stuck])
    over = done | many | wedged
    if not over.any():
        return balls
    _ended(fates, balls.take(over))
    return balls.take(~over)


def _unresolved(fates: Fates, shots: Index, velocity: Array) -> None:
    speed = np.nan_to_num(np.sqrt((velocity**2).sum(axis=0)))
    fates.note(Flag.UNRESOLVED, shots, speed, np.full(shots.size, -1))


def _ended(fates: Fates, balls: Moving) -> None:
    note_past(balls, fates)
    fates.point[:, balls.shot], fates.time[balls.shot] = balls.point, balls.time


def _take(ends: Ends, some: Mask) -> Ends:
    return replace(ends, **{c.name: getattr(ends, c.name)[..., some] for c in fields(ends)})
