"""What faces and hung cloth do to one ball of the swift referee, compiled, from docs/facings.md and docs/cloth.md."""

from __future__ import annotations

import numpy as np
from numba import njit
from swift_motion import HARM, INERTIA, MASS, RADIUS

SEPARATE, ROLLS = 0.02, 0.35  # m/s
# Of nums: one restitution, or a share of the ball's own; what foam takes, J; and so on.
VALUE, FOAM, FRICTION, TANGENTIAL, HOLD, ROLLING, BROKEN, DAMAGE, ZONE_HARM = range(20, 29)
NUMS = 29
# Of codes, after the shape's three.
ROLE, MODE, TABLE_AT, TABLE_COUNT, SOFT, LIVELY, GROUP, CLOTH_AT, RANK, NAME_RANK, OWN_SPOT, GUARD = range(3, 15)
CODES = 15
TURF, FIXED, TABLE, OWN = 0, 1, 2, 3
# Of a cloth in the pool.
CORNER, RIGHT, UP, WIDTH, HEIGHT, SMALL_WIDTH, SMALL_HEIGHT = 0, 3, 6, 9, 10, 11, 12
NET, LOOSE, DEEP, FAR, DAMPING, OPEN, SEAM, MAIN, SLACK = 13, 14, 15, 16, 17, 18, 22, 26, 27
CLOTH = 28
WIDER, SINKS, HEM, UNDER = 1.6, 1.0, 0.30, 0.5
DEPTH, RETURNS, EDGE, STAYS, TURNS = 0, 1, 2, 3, 4
KEPT_IN, SINKING, OPENED, CROSSED = 0, 1, 2, 3  # how a ball gets past an edge of cloth, or not
AS_FAR, FLATTEST, NO_LATTICE, SLANT = 1.2, 1.2, 0.037, 1.0  # of the way along cloth; s; of the way into it


@njit(cache=True)
def restitution(nums, codes, pool, world, k, v):
    """Of this face at this normal speed, m/s."""
    own = min(max(0.88 - 0.0023 * v, 0.60), 0.90)
    mode = codes[k, MODE]
    if mode == TURF:
        board = 0.25 if v > 15.0 else 0.510 - 0.0375 * v + 0.000903 * v * v
    elif mode == FIXED:
        board = nums[k, VALUE]
    elif mode == TABLE:
        first, n = codes[k, TABLE_AT], codes[k, TABLE_COUNT]
        board = np.interp(v, pool[first : first + n], pool[first + n : first + 2 * n])
    else:
        board = own * nums[k, VALUE]
    takes = nums[k, FOAM]
    if takes <= 0.0:
        return board
    brings = 0.5 * world[MASS] * v * v
    if brings <= takes:
        return 0.35
    return np.sqrt((0.35**2 * takes + board * board * (brings - takes)) / brings)


@njit(cache=True)
def bounce(nums, codes, world, k, v, w, n, e):
    """Velocity and spin `(3,)` after a face returns a ball with restitution e."""
    radius, inertia, inward = world[RADIUS], world[INERTIA], -np.dot(v, n)
    if inward <= 0.0:
        return v, w
    out = e * inward
    if out < SEPARATE:
        out = min(SEPARATE, inward)
        e = out / inward
    speed = np.sqrt(np.dot(v, v))
    lively = codes[k, LIVELY] == 1
    plain = lively and (speed < 20.0 or speed > np.sqrt(2.0) * inward)
    if codes[k, SOFT] == 1 and inward >= ROLLS and not plain:
        after, turned = _off_cloth(v, w, n, e, radius, inertia, 1.25 if lively else 1.0)
        return _held(nums, k, after, turned, n, inward)
    slip = v - radius * np.cross(w, n)
    slip = slip - n * np.dot(slip, n)
    size = np.sqrt(np.dot(slip, slip))
    if size == 0.0:
        return _held(nums, k, v + n * (inward + out), w, n, inward)
    push = min((1.0 + nums[k, TANGENTIAL]) * size / (1.0 + 1.0 / inertia), nums[k, FRICTION] * (1.0 + e) * inward)
    t = slip / size
    after = v - push * t + n * (inward + out)
    return _held(nums, k, after, w + np.cross(n, t) * (push / (inertia * radius)), n, inward)


@njit(cache=True)
def parted(v, n):
    """A ball that came with no speed to speak of leaves with what parts it from a face, of its speed along it."""
    square, off = np.dot(v, v), np.dot(v, n)
    out = min(SEPARATE, np.sqrt(square))
    if off >= out or off * off >= square:
        return v
    return (v - off * n) * np.sqrt(max(square - out * out, 0.0) / (square - off * off)) + out * n


@njit(cache=True)
def _off_cloth(v, w, n, e, radius, inertia, more):
    inward = -np.dot(v, n)
    across, surface = v + inward * n, radius * np.cross(w, n)
    wanted = more * (0.46 * across + 0.2 * surface)
    pulls = wanted - across
    change, limit = np.sqrt(np.dot(pulls, pulls)), 0.5 * (1.0 + e) * inward
    cut = limit / change if change > limit else 1.0
    left = across + cut * pulls
    missing = left - surface
    size = np.sqrt(np.dot(missing, missing))
    turns = 1.0
    if cut < 1.0 and size > 0.0:
        turns = min(max(cut, cut * change / (inertia * size)), 1.0)
    return left + e * inward * n, w + np.cross(n, missing) * (turns / radius)


@njit(cache=True)
def _held(nums, k, v, w, n, inward):
    if (
        np.dot(v, v) < nums[k, HOLD] ** 2 and inward > 2.0 * SEPARATE
    ):  # what parted from a slope falls back at SEPARATE: it slides
        return n * SEPARATE, np.zeros(3)
    return v, w


@njit(cache=True)
def _step_of(pool, first, count, x):
    """Which step of a rising axis, and how far along it; beyond its ends the outermost step goes on."""
    i = 0
    while i < count - 2 and x >= pool[first + i + 1]:
        i += 1
    return i, (x - pool[first + i]) / (pool[first + i + 1] - pool[first + i])


@njit(cache=True)
def read(pool, cloth, table, which, speed, across, up):
    """One of the lattice's five values between its hits: linear in the speed's logarithm and in place."""
    speeds, columns, rows = int(pool[table]), int(pool[table + 1]), int(pool[table + 2])
    first = table + 3
    log_speed = np.log(speed)
    if which in (RETURNS, STAYS, TURNS):
        log_speed = min(max(log_speed, pool[first]), pool[first + speeds - 1])
    i, s = _step_of(pool, first, speeds, log_speed)
    first += speeds
    x = across * pool[cloth + SMALL_WIDTH] / pool[cloth + WIDTH]
    j, a = _step_of(pool, first, columns, min(max(x, pool[first]), pool[first + columns - 1]))
    first += columns
    x = up * pool[cloth + SMALL_HEIGHT] / pool[cloth + HEIGHT]
    k, b = _step_of(pool, first, rows, min(max(x, pool[first]), pool[first + rows - 1]))
    first += rows + which * speeds * columns * rows
    found = 0.0
    for di in range(2):
        for dj in range(2):
            for dk in range(2):
                weight = (s if di else 1.0 - s) * (a if dj else 1.0 - a) * (b if dk else 1.0 - b)
                found += weight * pool[first + ((i + di) * columns + j + dj) * rows + k + dk]
    return found


@njit(cache=True)
def _returned(pool, cloth, speed, across, up):
    speed = max(speed, SINKS)
    if pool[cloth + NET] > 0.0:
        side = min(across, pool[cloth + WIDTH] - across)
        end = min(up, pool[cloth + HEIGHT] - up)
        near, other = min(side, end), max(side, end)
        places = np.array([0.15, 0.45, 1.3])
        back = max(np.interp(near, places, np.array([0.30, 0.16, 0.10])),
                   np.interp(other, places, np.array([0.37, 0.16, 0.10])))  # fmt: skip
        return pool[cloth + DAMPING] * back
    table = int(pool[cloth + MAIN])
    return pool[cloth + DAMPING] * min(max(read(pool, cloth, table, RETURNS, speed, across, up), 0.0), 1.0)


@njit(cache=True)
def _sinks(pool, cloth, speed, across, up):
    middle = np.exp(read(pool, cloth, int(pool[cloth + MAIN]), DEPTH, speed, across, up))
    if pool[cloth + DEEP] == 0.0:
        return middle
    deep, slack = pool[cloth + FAR] * middle, int(pool[cloth + SLACK])
    return deep if slack < 0 else max(deep, np.exp(read(pool, cloth, slack, DEPTH, speed, across, up)))


@njit(cache=True)
def _comes_in(pool, cloth, speed, across, up):
    """How far the edge nearest to a hit is pulled in, m; nought where none opens."""
    if pool[cloth + OPEN : cloth + OPEN + 4].max() == 0.0:
        return 0.0
    moved = np.exp(read(pool, cloth, int(pool[cloth + MAIN]), EDGE, speed, across, up))
    return moved * (WIDER if pool[cloth + DEEP] > 0.0 else 1.0)


@njit(cache=True)
def _to_sides(pool, cloth, across, up):
    """Distances `(4,)` from the left, the right, the foot and the top, m; below nought beyond them."""
    return np.array([across, pool[cloth + WIDTH] - across, up, pool[cloth + HEIGHT] - up])


@njit(cache=True)
def _gets_past(pool, cloth, radius, moved, here, sunk):
    """Share of its speed that a ball keeps past an edge that it opens while it sinks, 0 where it opens none.

    here, sunk: its distances from the sides as it hits, and where it has sunk.
    """
    nearest = np.minimum(here, sunk)
    share = UNDER if pool[cloth + LOOSE] > 0.0 and nearest[2] <= HEM else 0.0
    for side in range(4):
        needed = max(nearest[side], 0.0) + radius
        if pool[cloth + OPEN + side] > 0.0 and needed <= moved:
            share = max(share, 1.0 - min(needed / max(moved, 1e-9), 1.0) ** 1.5)
    return share


@njit(cache=True)
def _in_time(pool, cloth, which, inward, across, up, unknown):
    """How long the ball is in the cloth, or until it turns, s."""
    found = read(pool, cloth, int(pool[cloth + MAIN]), which, inward, across, up)
    return unknown if np.isnan(found) else np.exp(found)


@njit(cache=True)
def _leaves_at(pool, cloth, radius, moved, here, there, turned):
    """The share of its way along the cloth at which a ball leaves it, whether it gets past an edge there, and whether
    that edge had come in to it. turned: the share at which it moves back toward the tee; what comes later keeps it in.
    """
    leaves, past, came_in, ahead = 1.0, False, False, moved - radius
    for side in range(4):
        begun, ends = max(here[side], 0.0), there[side]
        if pool[cloth + OPEN + side] > 0.0 and ahead > 0.0 and ends < min(ahead, here[side]):
            share = max(begun - ahead, 0.0) / (begun - ends)
            if share <= turned and share < leaves:
                leaves, past, came_in = share, True, True
        if ends < 0.0 and begun / (begun - ends) < leaves:
            leaves, came_in = begun / (begun - ends), False
            past = pool[cloth + SEAM + side] == 0.0 and leaves <= turned
    return leaves, past, came_in


@njit(cache=True)
def _along(pool, cloth, vector):
    """How far a vector goes across and up a cloth."""
    right, over = 0.0, 0.0
    for i in range(3):
        right += vector[i] * pool[cloth + RIGHT + i]
        over += vector[i] * pool[cloth + UP + i]
    return right, over


@njit(cache=True)
def off_hung_cloth(nums, codes, pool, world, k, p, v, w, n):
    """What hung cloth does: velocity and spin as it gives the ball back; whether and how that gets past its edge, and
    with what velocity and spin then; how far it sinks, m; and the way `(3,)`, m, and time, s, that it takes the ball
    along.
    """
    cloth, inward, nowhere = codes[k, CLOTH_AT], max(-np.dot(v, n), 0.0), np.zeros(3)
    across, up = _along(pool, cloth, p - pool[cloth + CORNER : cloth + CORNER + 3])
    after, turning = bounce(nums, codes, world, k, v, w, n, _returned(pool, cloth, inward, across, up))
    if inward <= SINKS:
        return after, turning, KEPT_IN, after, turning, 0.0, nowhere, 0.0
    depth, moved = _sinks(pool, cloth, inward, across, up), _comes_in(pool, cloth, inward, across, up)
    slant = (v + inward * n) / inward
    slant = slant * min(1.0, SLANT / max(np.sqrt(np.dot(slant, slant)), 1e-9)) * depth
    right, over = _along(pool, cloth, slant)
    here, sunk = _to_sides(pool, cloth, across, up), _to_sides(pool, cloth, across + right, up + over)
    share = _gets_past(pool, cloth, world[RADIUS], moved, here, sunk)
    if share * np.sqrt(np.dot(v, v)) >= world[HARM]:
        depth *= (1.0 - share) ** (2.0 / 3.0)
        return v * share, w.copy(), SINKING, v * share, w.copy(), depth, nowhere, 0.0
    stay = _in_time(pool, cloth, STAYS, inward, across, up, NO_LATTICE)
    turned = min(_in_time(pool, cloth, TURNS, inward, across, up, np.inf) / stay, 1.0)
    flat = after - np.dot(after, n) * n
    way = flat * (AS_FAR * stay * min(1.0, FLATTEST * inward / max(np.sqrt(np.dot(flat, flat)), 1e-9)))
    right, over = _along(pool, cloth, way)
    there = _to_sides(pool, cloth, across + right, up + over)
    turned = 1.0 - (1.0 - turned) / AS_FAR
    leaves, past, came_in = _leaves_at(pool, cloth, world[RADIUS], moved, here, there, turned)
    way = way * leaves
    kept = 0.0
    if past and not came_in:
        went, aside = np.sqrt(np.dot(way, way)), np.sqrt(np.dot(slant, slant))
        kept = 1.0 - min(went / max(aside, 1e-12), 1.0) ** 1.5
    beyond, spin = kept * v + (1.0 - kept) * flat, kept * w + (1.0 - kept) * turning
    past = past and np.sqrt(np.dot(beyond, beyond)) >= world[HARM]
    how = KEPT_IN if not past else OPENED if came_in else CROSSED
    return after, turning, how, beyond, spin, depth, way, stay * leaves
