"""One ball of the swift referee from its launch to its end, compiled: docs/physics.md, written a third time."""

from __future__ import annotations

import numpy as np
from numba import njit
from swift_account import (
    BARE,
    BEHIND,
    BROKE,
    FAILED,
    GOT_OUT,
    KEPT,
    L_AFTER,
    L_FROM,
    L_FROM_TIME,
    L_NORMAL,
    L_PART,
    L_POINT,
    L_SPIN,
    L_SPIN_AFTER,
    L_TIME,
    L_V,
    LAST,
    LEFT,
    LEFT_AT,
    NORMAL,
    ON,
    PAST,
    PAST_2,
    RESTED,
    SINCE,
    SLIP,
    SLIPPED,
    SLOW_ONES,
    TOUCHES,
    UNRESOLVED,
    meet,
    note,
    slip_told,
)
from swift_faces import (
    BROKEN,
    CLOTH_AT,
    CROSSED,
    DAMAGE,
    GUARD,
    KEPT_IN,
    OPENED,
    OWN_SPOT,
    ROLE,
    SEPARATE,
    SINKING,
    SINKS,
    SOFT,
    bounce,
    off_hung_cloth,
    parted,
    restitution,
)
from swift_leg import (
    BEGINS_INSIDE,
    BEST,
    BEST_HEIGHT,
    GOES_ON,
    HIT,
    LOST,
    OUT,
    RESTS,
    WITHIN,
    _passed,
    begin_leg,
    leg,
)
from swift_motion import (
    GRAVITY,
    HARM,
    HARMLESS,
    INERTIA,
    LIFT,
    LOWER,
    MASS,
    RADIUS,
    STRIKES,
    TO_REST,
    UPPER,
    WINDY,
    T,
    V,
    W,
)
from swift_pocket import strike_behind, take_along, way_on_face
from swift_shapes import away, normal_at

UNPROTECTED, A_GUARD, FLOOR = 0, 1, 2
ROLLS, LEVEL, CLEAR = 0.35, 0.5, 1e-3
MOST_TOUCHES, WEDGED, WEDGE, SLOW, GRAZES, JAMS = 200, 40, 5e-3, 0.1, 1e-3, 1e-5


@njit(cache=True)
def energy(world, m):
    """Of flight, spin and height above the lowest floor, J/kg."""
    height = max(m[2] - world[LOWER + 2] - world[RADIUS], 0.0)
    turning = world[INERTIA] * world[RADIUS] ** 2 * np.dot(m[W : W + 3], m[W : W + 3])
    return 0.5 * (np.dot(m[V : V + 3], m[V : V + 3]) + turning) + world[GRAVITY] * height


@njit(cache=True)
def play(nums, codes, pool, world, planes, parts, people, m, own, marks, facts, worst, place, zones, zone_from, guards,
         log, work, active, room):  # fmt: skip
    """Follow one ball, m, to its end; what became of it stands in marks, facts, worst, place, zones, guards and log."""
    marks[:], facts[:], worst[:], place[:] = -1, np.nan, -1.0, -1
    for k in (SLOW_ONES, TOUCHES, KEPT, RESTED, FAILED):
        marks[k] = 0
    zones[:], zone_from[:], guards[:] = np.nan, -1, 0
    tee = m[0]
    _behind_tee(nums, world, parts + people, tee)
    for axis in range(3):
        if m[axis] < world[LOWER + axis] or m[axis] > world[UPPER + axis]:
            marks[FAILED] = 1
            note(worst, place, UNRESOLVED, np.sqrt(np.dot(m[V : V + 3], m[V : V + 3])), -1)
            return
    going = True
    while going:
        going = _one_leg(nums, codes, pool, world, planes, parts, people, m, own, marks, facts, worst, place, zones,
                         zone_from, guards, log, work, active, room, tee)  # fmt: skip
        if going:
            going = not _spent(world, m, marks, facts, worst, place)
    slip_told(marks, facts, worst, place)


@njit(cache=True)
def _behind_tee(nums, world, k, tee):
    """Shape k is the space behind where the ball started, .3 to 2 m above the lowest floor."""
    nums[k, 0:16] = 0.0
    for axis in range(3):
        low, high = world[LOWER + axis], world[UPPER + axis]
        if axis == 0:
            high = tee
        if axis == 2:
            low, high = world[LOWER + 2] + 0.3, world[LOWER + 2] + 2.0
        nums[k, axis], nums[k, 12 + axis], nums[k, 3 + 4 * axis] = 0.5 * (low + high), 0.5 * (high - low), 1.0


@njit(cache=True)
def _spent(world, m, marks, facts, worst, place):
    """Whether it can do no harm any more, lies wedged, or has touched too much."""
    now = energy(world, m)
    if now < world[HARMLESS] and world[TO_REST] == 0.0 and marks[TOUCHES] > 0:
        return True
    strayed = 0.0
    for i in range(3):
        strayed = max(strayed, abs(m[i] - facts[SINCE + i]))
    slow = np.dot(m[V : V + 3], m[V : V + 3]) < world[HARM] ** 2
    if marks[SLOW_ONES] >= WEDGED and strayed < WEDGE and slow:
        marks[RESTED] = 1
        return True
    if marks[TOUCHES] >= MOST_TOUCHES:
        if world[WINDY] > 0.0 or now >= world[HARMLESS]:
            note(worst, place, UNRESOLVED, np.sqrt(np.dot(m[V : V + 3], m[V : V + 3])), -1)
        return True
    return False


@njit(cache=True)
def _one_leg(nums, codes, pool, world, planes, parts, people, m, own, marks, facts, worst, place, zones, zone_from,
             guards, log, work, active, room, tee):  # fmt: skip
    """One flight or roll and what it does at its end; whether the ball goes on."""
    for i in (PAST, PAST_2):
        k = marks[i]
        if k >= 0 and away(nums, codes, pool, k, m[0], m[1], m[2]) - world[RADIUS] > CLEAR:
            marks[i] = -1
    for k in range(people):
        spot = codes[parts + k, OWN_SPOT] == 1
        active[parts + k] = 1 if own[k] and not (spot and marks[TOUCHES] == 0) else 0
    active[parts + people] = 1 if marks[TOUCHES] > 0 and tee > world[LOWER] else 0
    on = marks[ON]
    inside = begin_leg(nums, codes, pool, world, parts, m, on, marks[PAST : PAST_2 + 1], active, work)
    how, what = BEGINS_INSIDE, -1
    if inside < 0:
        how, what = leg(nums, codes, pool, world, planes, parts, m, on, facts[NORMAL : NORMAL + 3],
                        marks[PAST : PAST_2 + 1], work, room)  # fmt: skip
    speed = np.sqrt(np.dot(m[V : V + 3], m[V : V + 3]))
    if how == BEGINS_INSIDE:
        marks[FAILED] = 1 if marks[TOUCHES] == 0 else 0
        note(worst, place, UNRESOLVED, speed, -1)
        return False
    _people(nums, world, parts, people, marks, facts, worst, place, zones, zone_from, work)
    if how == OUT:
        falls = max(m[2] - world[LOWER + 2] - world[RADIUS], 0.0)
        lands = np.sqrt(speed * speed + 2.0 * world[GRAVITY] * falls)
        marks[LEFT] = what
        if lands >= world[HARM]:
            note(worst, place, GOT_OUT, lands, what)
        return False
    if how == HIT:
        if marks[TOUCHES] > 0 and energy(world, m) < world[HARMLESS] and world[TO_REST] == 0.0:
            return False
        return _hit(nums, codes, pool, world, planes, parts, people, m, own, marks, facts, worst, place, zones,
                    zone_from, guards, log, what)  # fmt: skip
    if how == LOST:
        marks[FAILED] = 1 if marks[TOUCHES] == 0 else 0
        note(worst, place, UNRESOLVED, speed, -1)
        return False
    marks[ON] = -1
    marks[RESTED] = 1 if how == RESTS else 0
    return how == GOES_ON


@njit(cache=True)
def _people(nums, world, parts, people, marks, facts, worst, place, zones, zone_from, work):
    """Whom the leg met, at its greatest speed with them; and how fast the ball was behind its tee."""
    for k in range(parts, parts + people + 1):
        if work[WITHIN, k] > 0.0:
            _passed(work, k)
        speed = work[BEST, k]
        if speed < world[HARM]:
            continue
        if k == parts + people:
            if not speed <= facts[BEHIND]:
                facts[BEHIND] = speed
        else:
            meet(nums, parts, marks, facts, worst, place, zones, zone_from, k, speed, work[BEST_HEIGHT, k])


@njit(cache=True)
def _still_at(facts, p):
    """Whether the ball is where its last touch left it: two things close on it, and it jams."""
    moved = 0.0
    for i in range(3):
        moved = max(moved, abs(p[i] - facts[LEFT_AT + i]))
    return moved < JAMS


@njit(cache=True)
def _hit(nums, codes, pool, world, planes, parts, people, m, own, marks, facts, worst, place, zones, zone_from, guards,
         log, k):  # fmt: skip
    """What the touch of part k does; whether the ball goes on."""
    p, v, w = m[0:3].copy(), m[V : V + 3].copy(), m[W : W + 3].copy()
    n = np.array(normal_at(nums, codes, pool, k, p[0], p[1], p[2]))
    speed, inward = np.sqrt(np.dot(v, v)), max(-np.dot(v, n), 0.0)
    stuck = speed < SLOW or (marks[LAST] >= 0 and marks[LAST] != k and _still_at(facts, p))
    if stuck:  # what rounding, or a lift off another face, put into this one comes out
        p = p - n * min(away(nums, codes, pool, k, p[0], p[1], p[2]) - world[RADIUS], 0.0)
        m[0:3] = p
    brings = 0.5 * world[MASS] * inward * inward
    if codes[k, ROLE] == UNPROTECTED and brings >= nums[k, DAMAGE]:
        note(worst, place, BARE, speed, k)
    if codes[k, ROLE] != A_GUARD:
        slip_told(marks, facts, worst, place)
    if marks[SLIPPED] != k:  # what it got past does not make up for it
        marks[SLIPPED] = -1
    through, sinks, struck, past = brings >= nums[k, BROKEN], 0.0, False, KEPT_IN
    along, stay = np.zeros(3), 0.0
    if through:
        note(worst, place, BROKE, np.sqrt(max(speed * speed - 2.0 * nums[k, BROKEN] / world[MASS], 0.0)), k)
    if codes[k, CLOTH_AT] >= 0:
        out, spin, past, beyond, spun, sinks, along, stay = off_hung_cloth(nums, codes, pool, world, k, p, v, w, n)
        past = KEPT_IN if through else past
    else:
        out, spin = bounce(nums, codes, world, k, v, w, n, restitution(nums, codes, pool, world, k, inward))
        beyond, spun = out, spin
        if codes[k, SOFT] == 1 and inward > SINKS and not through:
            along, stay = way_on_face(nums, codes, pool, world, k, p, out, n, inward)
    if sinks > 0.0 and speed >= world[HARM] and not through:
        kept = np.sqrt(np.dot(out, out)) / speed if past == SINKING else 0.0
        out, struck = strike_behind(nums, codes, pool, world, parts, people, own, marks, facts, worst, place, zones,
                              zone_from, k, p, v, n, sinks, out, kept)  # fmt: skip
        past = KEPT_IN if struck else past
    goes = 0.0
    if not (through or struck):
        fast = np.sqrt(np.dot(beyond, beyond)) if past else np.sqrt(np.dot(out, out))
        goes = take_along(nums, codes, pool, world, planes, parts, people, own, marks, facts, worst, place, zones,
                          zone_from, k, p, along, fast)  # fmt: skip
    if past >= OPENED and 0.0 <= goes < 1.0 and np.dot(along, along) > 0.0:
        past = KEPT_IN
    goes = max(goes, 0.0)
    if past >= OPENED:
        out, spin = beyond, spun
    climbs = goes * along[2]
    if climbs > 0.0:
        off = min(SEPARATE, np.dot(out, n))
        out = out * np.sqrt(max(1.0 - 2.0 * world[GRAVITY] * climbs / np.dot(out, out), 0.0))
        out = out + n * max(off - np.dot(out, n), 0.0)
    if inward < GRAZES and n[2] <= LEVEL and not past:
        out = parted(out, n)
    if past:
        marks[PAST_2] = marks[PAST] if marks[PAST] >= 0 else marks[PAST_2]
        marks[PAST], gets = k, np.sqrt(np.dot(out, out))
        if past != CROSSED or gets >= world[STRIKES]:
            marks[SLIPPED], facts[SLIP] = k, gets
    line = log[marks[TOUCHES]]
    line[L_PART], line[L_TIME] = k, m[T]
    marks[ON], marks[LAST] = -1, k
    hop = np.dot(out, n)
    m[W : W + 3] = spin
    if n[2] > LEVEL and hop < ROLLS and not past:
        out = out - hop * n
        m[0:3] = p + LIFT * n
        marks[ON], facts[NORMAL : NORMAL + 3] = k, n
    else:
        m[0:3] = p + goes * along
        m[T] += goes * stay
    m[V : V + 3] = out
    line[L_FROM : L_FROM + 3], line[L_FROM_TIME] = m[0:3], m[T]
    for i in range(3):
        line[L_POINT + i], line[L_V + i], line[L_NORMAL + i], line[L_SPIN + i] = p[i], v[i], n[i], w[i]
        line[L_AFTER + i], line[L_SPIN_AFTER + i] = np.nan if through else out[i], spin[i]
    marks[TOUCHES] += 1
    if codes[k, ROLE] == A_GUARD:
        bit = codes[k, GUARD]
        guards[bit // 64] |= np.uint64(1) << np.uint64(bit % 64)
        marks[KEPT] = 1 if np.sqrt(np.dot(out, out)) < world[HARM] else 0
    facts[LEFT_AT : LEFT_AT + 3] = m[0:3]
    if stuck:
        if marks[SLOW_ONES] == 0 or np.abs(m[0:3] - facts[SINCE : SINCE + 3]).max() > WEDGE:
            facts[SINCE : SINCE + 3], marks[SLOW_ONES] = m[0:3], 0
        marks[SLOW_ONES] += 1
    else:
        marks[SLOW_ONES] = 0
    return not through
