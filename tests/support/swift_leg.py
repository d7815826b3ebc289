"""One flight or roll of the swift referee's ball, compiled: what it first touches, where it leaves, whom it crosses.

Steps are as long as the nearest thing is far, and no shorter than a quarter of the ball's radius. Where something is
within a step, the ends are looked at, and whether the gap falls at both: then its floor is sought. A gap has one valley
along so short a way, since all shapes here are convex.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from swift_faces import FRICTION, RANK, ROLLING
from swift_motion import (
    LIFT,
    LOWER,
    OFF,
    POINT,
    RADIUS,
    SIZE,
    UPPER,
    T,
    V,
    W,
    between,
    fly_step,
    roll_piece,
    roll_step,
)
from swift_shapes import away, normal_at

TOUCHING, ONE_TOUCH, INSIDE, CLEAR = 1e-7, 1e-6, 1e-6, 1e-3  # m
HIT, OUT, BEGINS_INSIDE, RESTS, GOES_ON, LOST = range(6)
LONGEST, FARTHEST, SLOWEST = 30.0, 0.05, 8e-3  # s, m, s
MOST_PIECES = 120
SKIP, FREE, ON_IT, NOW = 0, 1, 2, 3
# Of work: rows of one value a shape.
GAP, MODE, EXACT, FIRST_GAP, FALLS, WHEN, WITHIN, FASTEST, HEIGHT, BEST, BEST_HEIGHT = range(11)
ROWS = 11


@njit(cache=True)
def gap_at(nums, codes, pool, world, k, m, new, share, probe):
    """Between the ball and shape k at a share of a step, m."""
    between(m, new, share, probe)
    return away(nums, codes, pool, k, probe[0], probe[1], probe[2]) - world[RADIUS]


@njit(cache=True)
def _root(nums, codes, pool, world, k, m, new, low, high, probe, lift):
    """Where in low..high the gap, less lift, changes its sign."""
    below = gap_at(nums, codes, pool, world, k, m, new, low, probe) - lift <= 0.0
    for _ in range(70):
        middle = 0.5 * (low + high)
        if (gap_at(nums, codes, pool, world, k, m, new, middle, probe) - lift <= 0.0) == below:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@njit(cache=True)
def _floor(nums, codes, pool, world, k, m, new, end, probe):
    """Where in 0..end the gap is least, if it falls at both ends; else -1."""
    first = gap_at(nums, codes, pool, world, k, m, new, 0.0, probe)
    last = gap_at(nums, codes, pool, world, k, m, new, end, probe)
    if gap_at(nums, codes, pool, world, k, m, new, 1e-3 * end, probe) >= first:
        return -1.0
    if gap_at(nums, codes, pool, world, k, m, new, 0.999 * end, probe) >= last:
        return -1.0
    low, high = 0.0, end
    for _ in range(90):
        a, b = low + 0.382 * (high - low), low + 0.618 * (high - low)
        if gap_at(nums, codes, pool, world, k, m, new, a, probe) < gap_at(
            nums, codes, pool, world, k, m, new, b, probe
        ):
            high = b
        else:
            low = a
    return 0.5 * (low + high)


@njit(cache=True)
def _enters(nums, codes, pool, world, k, m, new, end, first, probe):
    """At which share up to `end` the ball comes to shape k, its gap being `first` at the start; inf for never."""
    if first <= 0.0:
        return np.inf
    if gap_at(nums, codes, pool, world, k, m, new, end, probe) <= 0.0:
        return _root(nums, codes, pool, world, k, m, new, 0.0, end, probe, 0.0)
    low = _floor(nums, codes, pool, world, k, m, new, end, probe)
    if low >= 0.0 and gap_at(nums, codes, pool, world, k, m, new, low, probe) < 0.0:
        return _root(nums, codes, pool, world, k, m, new, 0.0, low, probe, 0.0)
    return np.inf


@njit(cache=True)
def begin_leg(nums, codes, pool, world, parts, m, on, past, active, work):
    """What the ball touches, is near, and is in as its leg begins; returns the first part that it is inside, or -1."""
    v = m[V : V + 3]
    for k in range(work.shape[1]):
        work[:, k] = 0.0
        work[BEST, k], work[BEST_HEIGHT, k] = -1.0, 0.0
        if active[k] == 0 or k == on or k == past[0] or k == past[1]:
            work[GAP, k] = np.inf
            continue
        gap = away(nums, codes, pool, k, m[0], m[1], m[2]) - world[RADIUS]
        work[GAP, k], work[FIRST_GAP, k], work[EXACT, k], work[MODE, k] = gap, gap, 1.0, FREE
        if k >= parts:
            if gap <= 0.0:
                work[WITHIN, k], work[FASTEST, k], work[HEIGHT, k] = 1.0, np.sqrt(np.dot(v, v)), m[2]
        elif gap < -INSIDE:
            return k
        elif gap <= TOUCHING:
            nx, ny, nz = normal_at(nums, codes, pool, k, m[0], m[1], m[2])
            work[MODE, k] = NOW if v[0] * nx + v[1] * ny + v[2] * nz < 0.0 else ON_IT
            work[FALLS, k] = 1.0
    return -1


@njit(cache=True)
def _nearest(nums, codes, pool, world, m, work):
    """The least gap of anything, m; gaps that may be small are measured anew."""
    least = np.inf
    for k in range(work.shape[1]):
        if work[MODE, k] == SKIP:
            continue
        if work[EXACT, k] == 0.0 and work[GAP, k] < 1.5 * FARTHEST:
            work[GAP, k] = away(nums, codes, pool, k, m[0], m[1], m[2]) - world[RADIUS]
            work[EXACT, k] = 1.0
        least = min(least, abs(work[GAP, k]))
    return least


@njit(cache=True)
def _touches(nums, codes, pool, world, parts, m, new, reach, number, work, probe):
    """At which share of a step each part is touched, into work[WHEN]; the least of them."""
    soonest = np.inf
    for k in range(parts):
        work[WHEN, k] = np.inf
        mode = work[MODE, k]
        if mode == SKIP:
            continue
        if mode == NOW:
            work[WHEN, k] = 0.0
        elif mode == FREE and work[GAP, k] > reach:
            continue
        elif mode == ON_IT:
            gap = gap_at(nums, codes, pool, world, k, m, new, 1.0, probe)
            if gap >= work[FIRST_GAP, k]:
                work[FALLS, k] = 0.0
            if number == 2 and work[FALLS, k] == 1.0:
                work[WHEN, k] = 0.0
            if gap > max(work[FIRST_GAP, k], 0.0) + 1e-10:
                work[MODE, k] = FREE
        else:
            work[WHEN, k] = _enters(nums, codes, pool, world, k, m, new, 1.0, work[GAP, k], probe)
        soonest = min(soonest, work[WHEN, k])
    return soonest


@njit(cache=True)
def _of_those(codes, parts, soonest, tie, work):
    """Of parts touched at once the one that counts: what is no guard, then by name."""
    best, rank = -1, 1 << 30
    for k in range(parts):
        if work[WHEN, k] <= soonest + tie and codes[k, RANK] < rank:
            best, rank = k, codes[k, RANK]
    return best


@njit(cache=True)
def _leaves(nums, codes, pool, planes, m, new, probe):
    """At which share of a step the ball's centre leaves the room, and by which plane."""
    soonest, which = np.inf, -1
    for j in range(planes.shape[0]):
        n, offset = planes[j, 0:3], planes[j, 3]
        first = offset - np.dot(n, m[POINT : POINT + 3])
        if first <= 0.0:
            continue
        low, high, there = 0.0, 1.0, offset - np.dot(n, new[POINT : POINT + 3])
        if there > 0.0:
            rising = np.dot(n, m[V : V + 3]), np.dot(n, new[V : V + 3])
            if not (rising[0] > 0.0 > rising[1]):
                continue
            high = rising[0] / (rising[0] - rising[1])
            between(m, new, high, probe)
            if offset - np.dot(n, probe[POINT : POINT + 3]) > 0.0:
                continue
        for _ in range(70):
            middle = 0.5 * (low + high)
            between(m, new, middle, probe)
            if offset - np.dot(n, probe[POINT : POINT + 3]) > 0.0:
                low = middle
            else:
                high = middle
        between(m, new, high, probe)
        shape = int(planes[j, 4])
        if high < soonest and (shape < 0 or away(nums, codes, pool, shape, probe[0], probe[1], probe[2]) <= 1e-6):
            soonest, which = high, int(planes[j, 5])
    return soonest, which


@njit(cache=True)
def _faster(m, new, begin, end, fastest, probe):
    for i in range(7):
        between(m, new, begin + (end - begin) * i / 6.0, probe)
        fastest = max(fastest, np.sqrt(probe[V] * probe[V] + probe[V + 1] * probe[V + 1] + probe[V + 2] * probe[V + 2]))
    return fastest


@njit(cache=True)
def _passed(work, k):
    """A passage through a zone is over: its greatest speed counts if it is the zone's greatest on this leg."""
    work[WITHIN, k] = 0.0
    if work[FASTEST, k] > work[BEST, k]:
        work[BEST, k], work[BEST_HEIGHT, k] = work[FASTEST, k], work[HEIGHT, k]


@njit(cache=True)
def _cross(nums, codes, pool, world, parts, m, new, end, reach, work, probe):
    """Whom the ball is with on a step, up to its share `end`."""
    for k in range(parts, work.shape[1]):
        if work[MODE, k] == SKIP or end <= 0.0 or (work[WITHIN, k] == 0.0 and work[GAP, k] > reach):
            continue
        begin = 0.0
        if work[WITHIN, k] == 0.0:
            begin = _enters(nums, codes, pool, world, k, m, new, end, work[GAP, k], probe)
            if begin == np.inf:
                continue
            between(m, new, begin, probe)
            work[WITHIN, k], work[HEIGHT, k], work[FASTEST, k] = 1.0, probe[2], 0.0
        until, gone = end, gap_at(nums, codes, pool, world, k, m, new, end, probe) > 0.0
        if gone:
            low = begin + 1e-6 * (end - begin)
            if begin > 0.0:  # in and out on one step: out after its floor
                floor = _floor(nums, codes, pool, world, k, m, new, end, probe)
                low = floor if floor > begin else low
            until = _root(nums, codes, pool, world, k, m, new, low, end, probe, 0.0)
        work[FASTEST, k] = _faster(m, new, begin, until, work[FASTEST, k], probe)
        if gone:
            _passed(work, k)


@njit(cache=True)
def _move_gaps(nums, codes, pool, world, new, reach, work):
    """Gaps after a step: those of what was near are measured, the others are at least so much."""
    for k in range(work.shape[1]):
        if work[MODE, k] == SKIP:
            continue
        if work[GAP, k] > reach:
            work[GAP, k], work[EXACT, k] = work[GAP, k] - reach, 0.0
        else:
            work[GAP, k] = away(nums, codes, pool, k, new[0], new[1], new[2]) - world[RADIUS]
            work[EXACT, k] = 1.0


@njit(cache=True)
def leg(nums, codes, pool, world, planes, parts, m, on, level, past, work, room):
    """Move the ball, m, to the end of its flight or roll; how that ended, and with which part or opening.

    past: two parts whose edge it has got past, -1 for none; each is there again once the ball is clear of it. work: as
    `begin_leg` left it; room `(8, 11)`: to work in.
    """
    new, probe, piece, spin0, k4 = room[0], room[1], room[2], m[W : W + 3].copy(), room[3:7, :4]
    m[9], begun, left, pieces, rests = 0.0, m[T], 0.0, 0, False
    longest = max(LONGEST - begun, 1e-3)
    for number in range(1_000_000):
        v = m[V : V + 3]
        speed = np.sqrt(np.dot(v, v))
        way = min(max(0.9 * _nearest(nums, codes, pool, world, m, work), 0.25 * world[RADIUS]), FARTHEST)
        dt = min(way / max(speed, 1e-9), SLOWEST)
        if number < 24:
            dt = min(dt, 1e-7 * 2.0**number)
        if on >= 0:
            if left <= 0.0:
                if rests:
                    return RESTS, -1
                if pieces == MOST_PIECES:
                    return GOES_ON, -1
                rests = roll_piece(world, level, nums[on, FRICTION], nums[on, ROLLING], m, piece)
                left, pieces = piece[6], pieces + 1
            dt, over = (left, True) if dt >= left else (dt, False)
            roll_step(piece, m, dt, new)
            left = 0.0 if over else left - dt
        else:
            dt = min(dt, longest - (m[T] - begun))
            if dt <= 1e-12 or _far_out(world, m):
                return LOST, -1
            fly_step(world, spin0, m, dt, new, k4)
        reach = 1.001 * dt * max(speed, np.sqrt(np.dot(new[V : V + 3], new[V : V + 3]))) + 1e-9
        when = _touches(nums, codes, pool, world, parts, m, new, reach, number, work, probe)
        out, opening = _leaves(nums, codes, pool, planes, m, new, probe)
        off = np.inf
        if on >= 0 and gap_at(nums, codes, pool, world, on, m, new, 1.0, probe) > LIFT + OFF:
            off = _root(nums, codes, pool, world, on, m, new, 0.0, 1.0, probe, LIFT + OFF)
        end = min(when, out, off, 1.0)
        _cross(nums, codes, pool, world, parts, m, new, end, reach, work, probe)
        what = -1
        if when <= 1.0 and when < out and when <= off:
            between(m, new, when, probe)
            quick = max(np.sqrt(np.dot(probe[V : V + 3], probe[V : V + 3])), 1e-9)
            what = _of_those(codes, parts, when, ONE_TOUCH / quick / max(dt, 1e-300), work)
        if end < 1.0 or what >= 0 or out <= 1.0:
            between(m, new, end, probe)
            how = HIT if what >= 0 else OUT if out <= min(when, off) else GOES_ON
            what = opening if how == OUT else what
            _arrive(world, m, new, probe, on, spin0)
            return how, what
        _move_gaps(nums, codes, pool, world, new, reach, work)
        for i in range(SIZE):
            m[i] = new[i]
        _clear_of(nums, codes, pool, world, m, past, work)
    return LOST, -1


@njit(cache=True)
def _clear_of(nums, codes, pool, world, m, past, work):
    """What the ball got past is there for it again once a ball's flight has taken it clear."""
    for i in range(2):
        k = past[i]
        if k < 0:
            continue
        gap = away(nums, codes, pool, k, m[0], m[1], m[2]) - world[RADIUS]
        if gap > CLEAR:
            work[GAP, k], work[FIRST_GAP, k], work[EXACT, k], work[MODE, k] = gap, gap, 1.0, FREE
            past[i] = -1


@njit(cache=True)
def _arrive(world, m, new, probe, on, spin0):
    """Put the ball where the probe is. A flying ball's spin goes by its way through the air, not by time."""
    for i in range(SIZE):
        m[i] = probe[i]
    if on < 0:
        fade = np.exp(-world[1] * probe[9])
        for i in range(3):
            m[W + i] = spin0[i] * fade


@njit(cache=True)
def _far_out(world, m):
    beyond = 0.0
    for axis in range(3):
        beyond = max(beyond, world[LOWER + axis] - m[axis], m[axis] - world[UPPER + axis])
    return beyond > 0.05
