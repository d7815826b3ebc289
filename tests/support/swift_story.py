"""One ball of the swift referee from its launch to its end, compiled: docs/physics.md, written a third time."""

from __future__ import annotations

import numpy as np
from numba import njit
from swift_faces import (
    BROKEN,
    CLOTH_AT,
    DAMAGE,
    GROUP,
    GUARD,
    NAME_RANK,
    OWN_SPOT,
    ROLE,
    SEPARATE,
    ZONE_HARM,
    bounce,
    off_hung_cloth,
    restitution,
)
from swift_leg import (
    BEGINS_INSIDE,
    BEST,
    BEST_HEIGHT,
    GOES_ON,
    HIT,
    INSIDE,
    LOST,
    ONE_TOUCH,
    OUT,
    RESTS,
    TOUCHING,
    WITHIN,
    _passed,
    begin_leg,
    leg,
)
from swift_motion import GRAVITY, HARM, HARMLESS, INERTIA, LIFT, LOWER, MASS, RADIUS, TO_REST, UPPER, WINDY, T, V, W
from swift_shapes import along_line, away, normal_at

UNRESOLVED, PERSON, GOT_OUT, BROKE, EDGE, STRUCK, BARE = range(7)
UNPROTECTED, A_GUARD, FLOOR = 0, 1, 2
ROLLS, LEVEL, CLEAR, STEEP = 0.35, 0.94, 1e-3, 1.0
MOST_TOUCHES, WEDGED, WEDGE, SLOW = 200, 40, 5e-3, 0.1
# Of marks, whole numbers of the ball.
LAST, ON, PAST, PAST_2, SLOW_ONES, TOUCHES, KEPT, RESTED, SLIPPED, FAILED, LEFT, CAME_FROM = range(12)
MARKS = 12
# Of facts, other numbers of it.
SINCE, NORMAL, SLIP, BEHIND, AT_HEIGHT = 0, 3, 6, 7, 8
FACTS = 9
# Of a line of the log.
L_PART, L_TIME, L_POINT, L_V, L_AFTER, L_NORMAL, L_SPIN, L_SPIN_AFTER = 0, 1, 2, 5, 8, 11, 14, 17
L_FROM, L_FROM_TIME = 20, 23
LOG = 24


@njit(cache=True)
def note(worst, place, flag, speed, where):
    """That this happened; whether it is the worst so far."""
    if speed <= worst[flag]:
        return False
    worst[flag], place[flag] = speed, where
    return True


@njit(cache=True)
def energy(world, m):
    """Of flight, spin and height above the lowest floor, J/kg."""
    height = max(m[2] - world[LOWER + 2] - world[RADIUS], 0.0)
    turning = world[INERTIA] * world[RADIUS] ** 2 * np.dot(m[W : W + 3], m[W : W + 3])
    return 0.5 * (np.dot(m[V : V + 3], m[V : V + 3]) + turning) + world[GRAVITY] * height


@njit(cache=True)
def slip_told(marks, facts, worst, place):
    """It got past the protection."""
    if marks[SLIPPED] >= 0:
        note(worst, place, EDGE, facts[SLIP], marks[SLIPPED])
        marks[SLIPPED] = -1


@njit(cache=True)
def meet(nums, parts, marks, facts, worst, place, zones, zone_from, k, speed, height):
    """A person in zone k: it keeps its own worst, and from the harm speed there on it is a hit."""
    zone = k - parts
    if not speed <= zones[zone]:
        zones[zone], zone_from[zone] = speed, marks[LAST]
    if speed >= nums[k, ZONE_HARM] and note(worst, place, PERSON, speed, zone):
        marks[CAME_FROM], facts[AT_HEIGHT] = marks[LAST], height


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
    if marks[SLOW_ONES] >= WEDGED and strayed < WEDGE:
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
        how, what = leg(nums, codes, pool, world, planes, parts, m, on, facts[NORMAL : NORMAL + 3], work, room)
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
        return _hit(nums, codes, pool, world, parts, people, m, own, marks, facts, worst, place, zones, zone_from,
                    guards, log, what)  # fmt: skip
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
def _hit(nums, codes, pool, world, parts, people, m, own, marks, facts, worst, place, zones, zone_from, guards, log, k):
    """What the touch of part k does; whether the ball goes on."""
    p, v, w = m[0:3].copy(), m[V : V + 3].copy(), m[W : W + 3].copy()
    n = np.array(normal_at(nums, codes, pool, k, p[0], p[1], p[2]))
    speed, inward = np.sqrt(np.dot(v, v)), max(-np.dot(v, n), 0.0)
    brings = 0.5 * world[MASS] * inward * inward
    if codes[k, ROLE] == UNPROTECTED and brings >= nums[k, DAMAGE]:
        note(worst, place, BARE, speed, k)
    if codes[k, ROLE] != A_GUARD:
        slip_told(marks, facts, worst, place)
    marks[SLIPPED] = -1
    through, past, sinks, struck = brings >= nums[k, BROKEN], False, 0.0, False
    along, stay = np.zeros(3), 0.0
    if through:
        note(worst, place, BROKE, np.sqrt(max(speed * speed - 2.0 * nums[k, BROKEN] / world[MASS], 0.0)), k)
    if codes[k, CLOTH_AT] >= 0:
        out, spin, past, sinks, along, stay = off_hung_cloth(nums, codes, pool, world, k, p, v, w, n)
        past = past and not through
    else:
        out, spin = bounce(nums, codes, world, k, v, w, n, restitution(nums, codes, pool, world, k, inward))
    if sinks > 0.0 and speed >= world[HARM] and not through:
        kept = np.sqrt(np.dot(out, out)) / speed if past and stay == 0.0 else 0.0
        out, struck = _behind(nums, codes, pool, world, parts, people, own, marks, facts, worst, place, zones,
                              zone_from, k, p, v, n, sinks, out, kept)  # fmt: skip
        past = past and not struck
    goes = 0.0
    if not (through or struck):
        goes = _taken_along(nums, codes, pool, world, parts, people, own, marks, facts, worst, place, zones, zone_from,
                            k, p, along, np.sqrt(np.dot(out, out)))  # fmt: skip
    past = past and not 0.0 < goes < 1.0
    climbs = goes * along[2]
    if climbs > 0.0:
        off = min(SEPARATE, np.dot(out, n))
        out = out * np.sqrt(max(1.0 - 2.0 * world[GRAVITY] * climbs / np.dot(out, out), 0.0))
        out = out + n * max(off - np.dot(out, n), 0.0)
    if past:
        marks[PAST_2] = marks[PAST] if marks[PAST] >= 0 else marks[PAST_2]
        marks[PAST] = marks[SLIPPED] = k
        facts[SLIP] = np.sqrt(np.dot(out, out))
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
    if speed < SLOW:
        if marks[SLOW_ONES] == 0:
            facts[SINCE : SINCE + 3] = m[0:3]
        marks[SLOW_ONES] += 1
    else:
        marks[SLOW_ONES] = 0
    return not through


@njit(cache=True)
def _left(speed, share, kept):
    share = min(max(share, 0.0), 1.0)
    return speed * (1.0 - (1.0 - kept) * share * np.sqrt(share))


@njit(cache=True)
def _behind(nums, codes, pool, world, parts, people, own, marks, facts, worst, place, zones, zone_from, k, p, v, n,
            sinks, out, kept):  # fmt: skip
    """What the ball strikes through the cloth: how it leaves, and whether anything was struck."""
    inward = -np.dot(v, n)
    sideways = (v + inward * n) / inward
    steep = np.sqrt(np.dot(sideways, sideways))
    way = (sideways * min(1.0, STEEP / max(steep, 1e-9)) - n) * sinks
    speed, looks = np.sqrt(np.dot(v, v)), max(int(sinks / 0.004), 20)
    tie = ONE_TOUCH / np.sqrt(np.dot(way, way))
    shares, soonest = np.full(parts, np.inf), np.inf
    for j in range(parts):
        if codes[j, ROLE] != UNPROTECTED or codes[j, GROUP] == codes[k, GROUP]:
            continue
        gap = away(nums, codes, pool, j, p[0], p[1], p[2]) - world[RADIUS]
        if gap < -INSIDE:
            note(worst, place, UNRESOLVED, speed, -1)
            return out, False
        if gap > 1.001 * np.sqrt(np.dot(way, way)):
            continue
        shares[j] = _first_behind(nums, codes, pool, world, j, p, way, looks, gap)
        soonest = min(soonest, shares[j])
    best, struck = 1.0, -1
    for j in range(parts):
        at_once = shares[j] <= soonest + tie and shares[j] < np.inf
        if at_once and (struck < 0 or codes[j, NAME_RANK] < codes[struck, NAME_RANK]):
            struck, best = j, shares[j]
    if struck >= 0:
        left = _left(speed, best, kept)
        if left >= world[HARM]:
            note(worst, place, STRUCK, left, struck)
    for zone in range(parts, parts + people):
        if not own[zone - parts]:
            continue
        begin = 0.0
        if away(nums, codes, pool, zone, p[0], p[1], p[2]) > world[RADIUS]:
            begin = along_line(nums, codes, pool, zone, p, way, world[RADIUS], best, 60, 0)
        there = _left(speed, begin, kept) if begin < np.inf else 0.0
        if there >= world[HARM]:
            meet(nums, parts, marks, facts, worst, place, zones, zone_from, zone, there, p[2] + way[2] * begin)
    if struck >= 0:
        hits = _left(inward, best, kept)
        wall = hits * restitution(nums, codes, pool, world, struck, hits)
        out = out + n * max(wall - np.dot(out, n), 0.0)
    return out, struck >= 0


@njit(cache=True)
def _taken_along(nums, codes, pool, world, parts, people, own, marks, facts, worst, place, zones, zone_from, k, p, way,
                 speed):  # fmt: skip
    """The share of its way along cloth k that a ball goes, up to what it meets first; people there are hit."""
    length = np.sqrt(np.dot(way, way))
    if length == 0.0:
        return 0.0
    goes, looks = 1.0, max(int(length / 0.004), 20)
    for j in range(parts):
        if j == k or j == marks[PAST] or j == marks[PAST_2]:
            continue
        gap = away(nums, codes, pool, j, p[0], p[1], p[2]) - world[RADIUS]
        if gap < -INSIDE:
            return 0.0
        if gap <= 1.001 * length:
            goes = min(goes, _first_behind(nums, codes, pool, world, j, p, way, looks, gap))
    for zone in range(parts, parts + people):
        if not own[zone - parts] or speed < world[HARM]:
            continue
        begin = 0.0
        if away(nums, codes, pool, zone, p[0], p[1], p[2]) > world[RADIUS]:
            begin = along_line(nums, codes, pool, zone, p, way, world[RADIUS], goes, 60, 0)
        if begin < np.inf:
            meet(nums, parts, marks, facts, worst, place, zones, zone_from, zone, speed, p[2] + way[2] * begin)
    return goes


@njit(cache=True)
def _first_behind(nums, codes, pool, world, j, p, way, looks, gap):
    """At which share of its way into the cloth the ball strikes part j; inf for never."""
    first = 0
    if gap <= TOUCHING:
        step = 1.0 / (looks - 1)
        there = away(nums, codes, pool, j, p[0] + step * way[0], p[1] + step * way[1], p[2] + step * way[2])
        if there - world[RADIUS] < gap:
            return 0.0
        first = 1
    return along_line(nums, codes, pool, j, p, way, world[RADIUS], 1.0, looks, first)
