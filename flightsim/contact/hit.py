"""What a touch does: the bounce, what it breaks, what is behind the cloth, and whether the ball rolls from there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Role
from flightsim.contact.crossings import crossings, note_person
from flightsim.contact.ends import arc_ends
from flightsim.contact.fates import Fates, Flag
from flightsim.contact.log import ContactLog
from flightsim.contact.moving import Moving
from flightsim.contact.rebound import Hits
from flightsim.contact.rolling import LIFT, NEARLY_LEVEL, SETTLES
from flightsim.contact.sinking import STEEPEST, sinking_arcs, speed_left
from flightsim.contact.surroundings import Surroundings
from flightsim.flight.ball import Ball

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]
_TINY = 1.0e-9
SLOW = 0.1  # m/s: a ball that touches slower hardly moves


def after_hits(
    balls: Moving,
    part: Index,
    normal: Array,
    ball: Ball,
    around: Surroundings,
    own: Mask,
    fates: Fates,
    log: ContactLog | None = None,
) -> Moving:
    """Balls as they leave the parts `(n,)` that they touch with this normal `(3, n)`, without those that went through.

    What went wrong is written to fates. A ball that got past a part's edge flies on; a guard that it meets next keeps
    it in, and all else that it meets says that it got past the protection.
    """
    order = np.argsort(part, kind="stable")
    balls, part, normal = balls.take(order), part[order], normal[:, order]
    bits = around.guard_bits
    guard = np.array([each.role is Role.GUARD for each in around.bay.parts])[part]
    note_past(balls.take(~guard), fates)
    balls.slipped[:] = -1
    gone = np.zeros(len(balls), dtype=bool)
    arriving, spin = balls.velocity.copy(), balls.spin.copy()
    edges = np.flatnonzero(np.diff(part, prepend=-1))
    for first, end in zip(edges, [*edges[1:], len(balls)], strict=True):
        some = slice(int(first), int(end))
        k = int(part[first])
        gone[some] = _on_one_part(balls, some, k, normal[:, some], ball, around, own, fates)
    shot = balls.shot
    if log is not None:
        leaving = np.where(gone, np.nan, balls.velocity)
        number = fates.contacts[shot]
        log.write(shot, number, part, balls.time, balls.point, arriving, leaving, normal, spin, balls.spin.copy())
    fates.contacts[shot] += 1
    fates.touched[:, shot] |= bits[:, part]
    on_guard = bits[:, part].any(axis=0)
    fates.kept[shot[on_guard]] = (balls.speed < around.harm_speed)[on_guard]
    balls.last[:] = part
    calm = np.sqrt((arriving * arriving).sum(axis=0)) < SLOW
    starts = calm & (balls.slow == 0)
    balls.since[:, starts] = balls.point[:, starts]
    balls.slow[:] = np.where(calm, balls.slow + 1, 0)
    fates.point[:, shot[gone]], fates.time[shot[gone]] = balls.point[:, gone], balls.time[gone]
    return balls.take(~gone) if gone.any() else balls


def _on_one_part(
    balls: Moving, some: slice, k: int, normal: Array, ball: Ball, around: Surroundings, own: Mask, fates: Fates
) -> Mask:
    """The balls of this slice hit part k: their state is set to what it is afterwards; returns which are gone."""
    part, facing = around.bay.parts[k], around.facings[k]
    shot = balls.shot[some]
    frozen = [_frozen(a) for a in (balls.point[:, some], balls.velocity[:, some], normal, balls.spin[:, some])]
    hits = Hits(part, facing, ball, *frozen)
    speed = balls.speed[some]
    square = hits.normal_speed
    energy = 0.5 * ball.mass * square * square
    here = np.full(shot.size, k)
    if part.role is Role.UNPROTECTED:
        marked = energy >= around.damage[k]
        fates.note(Flag.HIT_UNPROTECTED, shot[marked], speed[marked], here[marked])
    through = energy >= facing.broken
    if through.any():
        left = np.sqrt(np.maximum(speed * speed - 2.0 * facing.broken / ball.mass, 0.0))
        fates.note(Flag.BROKE_THROUGH, shot[through], left[through], here[through])
    after = around.laws[k](hits)
    unknown = np.zeros(shot.size, dtype=bool) if after.unresolved is None else after.unresolved & ~through
    if unknown.any():
        fates.note(Flag.UNRESOLVED, shot[unknown], speed[unknown], here[unknown])
    gone = through | unknown
    past = after.past & ~gone
    velocity = after.velocity.copy()
    deep = np.flatnonzero((after.sink > 0.0) & (speed >= around.harm_speed) & ~gone)
    if deep.size:
        velocity[:, deep], struck = _behind(
            _pick(hits, deep), after.sink[deep], past[deep], velocity[:, deep], shot[deep], balls.last[some][deep],
            around, own, fates,
        )  # fmt: skip
        past[deep] &= ~struck
    balls.velocity[:, some], balls.spin[:, some] = velocity, after.spin
    balls.on[some] = -1
    balls.past[:, some] = np.where(past, [np.full(shot.size, k), balls.past[0, some]], balls.past[:, some])
    balls.slipped[some] = np.where(past, k, -1)
    balls.edge[some] = -1 if after.edge is None else after.edge
    balls.slip[some] = np.sqrt((velocity * velocity).sum(axis=0))
    _roll(balls, some, k, hits, ~past)
    return gone


def note_past(balls: Moving, fates: Fates) -> None:
    """Write of those that have got past a part's edge, and that no guard has kept in since, that they did."""
    some = balls.take(balls.slipped >= 0)
    worst = fates.note(Flag.PAST_EDGE, some.shot, some.slip, some.slipped)
    fates.edge[some.shot[worst]] = some.edge[worst]


def _behind(
    hits: Hits, sink: Array, past: Mask, velocity: Array, shot: Index, last: Index, around: Surroundings, own: Mask,
    fates: Fates,
) -> tuple[Array, Mask]:  # fmt: skip
    """What the balls strike through the cloth while it gives `(k,)`, m.

    A wall, pipe or lamp within its reach is struck with what speed is left. People within its
    reach are hit. past: the cloth gives only so far, and the ball goes on with the velocity that it has. Returns the
    velocities as the balls leave, and which of them struck something: those come back.
    """
    bay, radius = around.bay, hits.ball.radius
    if not _anything_near(hits, sink, around):
        return velocity, np.zeros(sink.size, dtype=bool)
    own_things = [part for part in bay.parts if part.label == hits.part.label or part.role is not Role.UNPROTECTED]
    everybody = np.ones(sink.size, dtype=bool)
    arcs = sinking_arcs(hits, sink, {part.name: everybody for part in own_things}, radius)
    ends = arc_ends(bay, arcs, around.tests)
    speed = np.sqrt((hits.velocity**2).sum(axis=0))
    struck = ends.part >= 0
    kept = np.where(past, np.sqrt((velocity**2).sum(axis=0)) / np.maximum(speed, _TINY), 0.0)
    left = speed_left(speed, np.where(struck, ends.tau, 1.0), kept)
    unsure = ends.failed
    fates.note(Flag.UNRESOLVED, shot[unsure], speed[unsure], np.full(int(unsure.sum()), -1))
    hard = struck & (left >= around.harm_speed)
    fates.note(Flag.STRUCK_THROUGH, shot[hard], left[hard], ends.part[hard])
    arcs.until = np.where(struck, ends.tau, 1.0)
    for k, found in crossings(bay.zones, arcs, own[:, shot]):
        there = speed_left(speed[found.balls], found.tau, kept[found.balls])
        hit = there >= around.harm_speed
        who = found.balls[hit]
        note_person(fates, k, shot[who], there[hit], found.height[hit], last[who], around.zone_harm[k])
    if not struck.any():
        return velocity, struck
    # What it struck sends it back harder than the cloth alone, at most as the wall itself would.
    back = (velocity * hits.normal).sum(axis=0)
    wall = np.zeros(sink.size)
    for k in np.unique(ends.part[struck]):
        who = ends.part == k
        inward = speed_left(hits.normal_speed[who], ends.tau[who], kept[who])
        wall[who] = inward * around.facings[k].restitution(inward, hits.ball)
    return np.asarray(velocity + hits.normal * np.where(struck, np.maximum(wall - back, 0.0), 0.0)), struck


def _anything_near(hits: Hits, sink: Array, around: Surroundings) -> bool:
    """Whether anything that may not be struck, or anybody, lies near where these balls sink."""
    reach = (1.0 + STEEPEST) * float(sink.max()) + hits.ball.radius
    low, high = hits.point.min(axis=1) - reach, hits.point.max(axis=1) + reach
    shapes = [part.shape for part in around.bay.parts if part.role is Role.UNPROTECTED]
    for shape in (*shapes, *(zone.shape for zone in around.bay.zones)):
        lower, upper = shape.bounds()
        if (lower <= high).all() and (upper >= low).all():
            return True
    return False


def _roll(balls: Moving, some: slice, k: int, hits: Hits, back: Mask) -> None:
    """Balls that come back `(k,)` and would only hop on a face that is nearly level stay on it, and slide or roll."""
    up = hits.normal[2]
    hop = (balls.velocity[:, some] * hits.normal).sum(axis=0)
    rolls = back & (up > NEARLY_LEVEL) & (hop < SETTLES)
    if not rolls.any():
        return
    at = np.arange(some.start, some.stop)[rolls]
    normal = hits.normal[:, rolls]
    balls.velocity[:, at] -= normal * hop[rolls]
    balls.point[:, at] += normal * LIFT
    balls.on[at], balls.level[:, at] = k, normal


def _pick(hits: Hits, some: Index) -> Hits:
    return Hits(
        hits.part, hits.facing, hits.ball,
        hits.point[:, some], hits.velocity[:, some], hits.normal[:, some], hits.spin[:, some],
    )  # fmt: skip


def _frozen(a: Array) -> Array:
    view = a.copy()
    view.flags.writeable = False
    return view
