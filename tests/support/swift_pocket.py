"""What hung cloth lets the swift referee's ball reach, compiled: what is behind it, and what is along it."""

from __future__ import annotations

import numpy as np
from numba import njit
from swift_account import PAST, PAST_2, STRUCK, UNRESOLVED, meet, note
from swift_faces import AS_FAR, DAMAGE, FLATTEST, GROUP, NAME_RANK, NO_LATTICE, ROLE, restitution
from swift_leg import INSIDE, ONE_TOUCH, TOUCHING
from swift_motion import HARM, MASS, RADIUS, STRIKES
from swift_shapes import along_line, away

HAIR = 1e-9  # m before it leaves the room, carried by cloth
CLOSE = 1e-5  # m: into what touches it already, a ball goes at once, past a corner not for long

UNPROTECTED = 0
STEEP = 1.0


@njit(cache=True)
def speed_left(speed, share, kept):
    share = min(max(share, 0.0), 1.0)
    return speed * (1.0 - (1.0 - kept) * share * np.sqrt(share))


@njit(cache=True)
def strike_behind(nums, codes, pool, world, parts, people, own, marks, facts, worst, place, zones, zone_from, k, p, v,
                  n, sinks, out, kept):  # fmt: skip
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
        left = speed_left(speed, best, kept)
        if left >= min(world[STRIKES], np.sqrt(2.0 * nums[struck, DAMAGE] / world[MASS])):
            note(worst, place, STRUCK, left, struck)
    for zone in range(parts, parts + people):
        if not own[zone - parts]:
            continue
        begin = 0.0
        if away(nums, codes, pool, zone, p[0], p[1], p[2]) > world[RADIUS]:
            begin = along_line(nums, codes, pool, zone, p, way, world[RADIUS], best, 60, 0)
        there = speed_left(speed, begin, kept) if begin < np.inf else 0.0
        if there >= world[HARM]:
            meet(nums, parts, marks, facts, worst, place, zones, zone_from, zone, there, p[2] + way[2] * begin)
    if struck >= 0:
        hits = speed_left(inward, best, kept)
        wall = hits * restitution(nums, codes, pool, world, struck, hits)
        out = out + n * max(wall - np.dot(out, n), 0.0)
    return out, struck >= 0


@njit(cache=True)
def way_on_face(nums, codes, pool, world, k, p, out, n, inward):
    """The way `(3,)`, m, that cloth k without a lattice takes a ball along, up to where its face ends, 1 mm off it, and
    for how long, s.
    """
    flat = out - np.dot(out, n) * n
    way = flat * (AS_FAR * NO_LATTICE * min(1.0, FLATTEST * inward / max(np.sqrt(np.dot(flat, flat)), 1e-9)))
    most, looks = world[RADIUS] + 1e-3 + 5e-7, 16
    for j in range(1, looks + 1):
        high = j / looks
        if away(nums, codes, pool, k, p[0] + high * way[0], p[1] + high * way[1], p[2] + high * way[2]) > most:
            low = high - 1.0 / looks
            for _ in range(40):
                middle = 0.5 * (low + high)
                off = away(nums, codes, pool, k, p[0] + middle * way[0], p[1] + middle * way[1], p[2] + middle * way[2])
                low, high = (low, middle) if off > most else (middle, high)
            return way * high, NO_LATTICE * high
    return way, NO_LATTICE


@njit(cache=True)
def take_along(nums, codes, pool, world, planes, parts, people, own, marks, facts, worst, place, zones, zone_from, k, p,
               way, speed):  # fmt: skip
    """The share of its way along cloth k that a ball goes, up to what it meets first, or to where it leaves the room;
    below nought where it is inside something; people there are hit.
    """
    length = np.sqrt(np.dot(way, way))
    if length == 0.0:
        return 0.0
    goes, looks = 1.0, max(int(length / 0.004), 20)
    for j in range(parts):
        if j == k or j == marks[PAST] or j == marks[PAST_2]:
            continue
        gap = away(nums, codes, pool, j, p[0], p[1], p[2]) - world[RADIUS]
        if gap < -INSIDE:
            return -1.0
        if gap <= 1.001 * length:
            goes = min(goes, _first_behind(nums, codes, pool, world, j, p, way, looks, gap))
    goes = min(goes, _way_out(nums, codes, pool, planes, p, way))
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
def _way_out(nums, codes, pool, planes, p, way):
    """At which share of its way, a hair less, the ball's centre leaves the room; inf for never."""
    soonest = np.inf
    for j in range(planes.shape[0]):
        n = planes[j, 0:3]
        room, rate, shape = planes[j, 3] - np.dot(n, p), np.dot(n, way), int(planes[j, 4])
        if not (room > 0.0 and rate > room):
            continue
        leaves_at = p + way * (room / rate)
        if shape < 0 or away(nums, codes, pool, shape, leaves_at[0], leaves_at[1], leaves_at[2]) <= 1e-6:
            soonest = min(soonest, max(room - HAIR, 0.0) / rate)
    return soonest


@njit(cache=True)
def _first_behind(nums, codes, pool, world, j, p, way, looks, gap):
    """At which share of its way into the cloth the ball strikes part j; inf for never."""
    first = 0
    if gap <= TOUCHING:
        step = min(1.0 / (looks - 1), CLOSE / np.sqrt(np.dot(way, way)))
        there = away(nums, codes, pool, j, p[0] + step * way[0], p[1] + step * way[1], p[2] + step * way[2])
        if there - world[RADIUS] < gap:
            return 0.0
        first = 1
    return along_line(nums, codes, pool, j, p, way, world[RADIUS], 1.0, looks, first)
