"""What a face leaves of a ball's speed, and the oblique bounce with spin: `flightsim.flight.bounce`, one ball."""

from __future__ import annotations

import numpy as np

from flightsim.contact.rebound import HARDLY, HOLDS_FROM, KNOWN_FROM, SEPARATE
from flightsim.engine.compiled import compiled
from flightsim.engine.layout import (
    BY_SHARE,
    BY_TABLE,
    FIXED,
    FOAM,
    FRICTION,
    HOLD,
    LIVELY,
    RETURN,
    RETURNS,
    SOFT,
    TABLE_AT,
    TABLE_COUNT,
    TANGENTIAL,
    BayArrays,
)
from flightsim.engine.three import Vector, cross, dot, length, minus, plus, times
from flightsim.engine.world import INERTIA, MASS, RADIUS
from flightsim.flight.bounce import (
    ALONG_KEPT,
    FOAM_BOTTOMS,
    FOAM_ON_SLAB,
    FOAM_SHARE,
    LIVELY_ALONG,
    MOST_DRAG,
    SPIN_ADDS,
)

TINY = 1.0e-300


@compiled
def restitution(bay: BayArrays, k: int, speed: float) -> float:
    """Normal restitution of part k at a normal speed, m/s, as its facing gives it."""
    row, bare = bay.solids[k], _bare(bay, k, speed)
    if row[FOAM] < 0.0:
        return bare
    energy = 0.5 * bay.world[MASS] * speed * speed
    if not energy > 0.0:
        return FOAM_SHARE
    over = max(energy - row[FOAM], 0.0)
    out = FOAM_SHARE * FOAM_SHARE * min(energy, row[FOAM]) + bare * bare * over
    return np.sqrt(out / max(energy, TINY))


@compiled
def _bare(bay: BayArrays, k: int, speed: float) -> float:
    """Without the foam."""
    returns, value = bay.codes[k, RETURNS], bay.solids[k, RETURN]
    if returns == BY_SHARE:
        return min(max(0.88 - 0.0023 * speed, 0.60), 0.90) * value
    if returns == FIXED:
        return value
    if returns == BY_TABLE:
        count = bay.codes[k, TABLE_COUNT]
        speeds = bay.codes[k, TABLE_AT]
        return between(bay.pool, speeds, speeds + count, count, speed)
    return FOAM_ON_SLAB if speed > FOAM_BOTTOMS else 0.510 - 0.0375 * speed + 0.000903 * speed * speed


@compiled
def between(pool: np.ndarray, xs: int, ys: int, count: int, x: float) -> float:
    """The value at x of a table in the pool, linear between its places and held at its ends."""
    if not x > pool[xs]:
        return pool[ys]
    for j in range(1, count):
        if x < pool[xs + j]:
            share = (x - pool[xs + j - 1]) / (pool[xs + j] - pool[xs + j - 1])
            return pool[ys + j - 1] + share * (pool[ys + j] - pool[ys + j - 1])
    return pool[ys + count - 1]


@compiled
def bounce(bay: BayArrays, k: int, velocity: Vector, spin: Vector, normal: Vector, e: float) -> tuple[Vector, Vector]:
    """Velocity and spin after a bounce off part k with normal restitution e; what leaves slower than its hold stays.

    Below a walking pace restitution tends to what parts ball and face: see SEPARATE.
    """
    row, inward = bay.solids[k], max(-dot(velocity, normal), 0.0)
    if inward > 0.0 and e * inward < SEPARATE:
        e = min(SEPARATE / max(inward, TINY), 1.0)
    if _in_pocket(bay, k, velocity, inward):
        kept = LIVELY_ALONG if bay.codes[k, SOFT] == LIVELY else 1.0
        after, turning = _pocketed(bay.world, velocity, spin, normal, e, kept)
    else:
        after, turning = _oblique(bay.world, velocity, spin, normal, e, row[FRICTION], row[TANGENTIAL])
    # Along the face a ball may leave fast though it is sent back slow: only one that is slow altogether stays. One that
    # only falls back on the face that it parted from slides.
    if length(after) < row[HOLD] and inward > HOLDS_FROM:
        return times(normal, SEPARATE), (0.0, 0.0, 0.0)
    return after, turning


@compiled
def _in_pocket(bay: BayArrays, k: int, velocity: Vector, inward: float) -> bool:
    """Whether the law of cloth holds, as in `flightsim.contact.rebound.off_cloth`."""
    if bay.codes[k, SOFT] == 0 or inward < HARDLY:
        return False
    square = dot(velocity, velocity)
    return bay.codes[k, SOFT] != LIVELY or (square >= KNOWN_FROM * KNOWN_FROM and square <= 2.0 * inward * inward)


@compiled
def _oblique(
    world: np.ndarray, velocity: Vector, spin: Vector, normal: Vector, e: float, friction: float, tangential: float
) -> tuple[Vector, Vector]:
    """The oblique bounce of `flightsim.flight.bounce.oblique_bounce`."""
    inward = -dot(velocity, normal)
    if not inward > 0.0:
        return velocity, spin
    radius, inertia = world[RADIUS], world[INERTIA]
    slip = minus(plus(velocity, times(normal, inward)), times(cross(spin, normal), radius))
    slip = minus(slip, times(normal, dot(slip, normal)))
    slide = length(slip)
    grip = (1.0 + tangential) * slide / (1.0 + 1.0 / inertia)
    push = min(grip, friction * (1.0 + e) * inward)
    kick = times(slip, -push / max(slide, TINY))
    after = plus(plus(velocity, kick), times(normal, (1.0 + e) * inward))
    return after, plus(spin, times(cross(kick, normal), 1.0 / (inertia * radius)))


@compiled
def _pocketed(
    world: np.ndarray, velocity: Vector, spin: Vector, normal: Vector, e: float, kept: float
) -> tuple[Vector, Vector]:
    """The bounce off cloth of `flightsim.flight.bounce.cloth_bounce`."""
    inward = -dot(velocity, normal)
    if not inward > 0.0:
        return velocity, spin
    radius, inertia = world[RADIUS], world[INERTIA]
    along = plus(velocity, times(normal, inward))
    rolling = times(cross(spin, normal), radius)
    change = plus(times(along, kept * ALONG_KEPT - 1.0), times(rolling, kept * SPIN_ADDS))
    size = length(change)
    share = min(1.0, MOST_DRAG * (1.0 + e) * inward / max(size, TINY))
    after = plus(along, times(change, share))
    lag = minus(after, rolling)
    turned = min(max(size * share / (inertia * max(length(lag), TINY)), share), 1.0)
    return plus(after, times(normal, e * inward)), plus(spin, times(cross(normal, lag), turned / radius))
