"""Closed form for the sink of a cloth, fitted to a lattice [cloth-form]; nothing published was found."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from flightsim.cloth.fabric import Cloth

Array = NDArray[np.float64]

BALL_MASS = 0.04593  # kg, Rules of golf
NEAR_FACTOR, FAR_FACTOR = 0.6, 1.6  # band of the depth at a known G/E [cloth-band]

# Factor S of the depth by G/E [cloth-form]. It is linear between them in log(G/E + _SHEAR_FLOOR):
# the floor keeps 0 on the scale, and is the first listed step's half (judgement).
_SHEAR_RATIOS = np.array([0.0, 0.006, 0.03, 0.09])
_SHEAR_FACTORS = np.array([2.3, 1.0, 0.63, 0.55])
_SHEAR_FLOOR = 0.003


def shear_factor(shear_ratio: ArrayLike) -> Array:
    """Factor S of the depth by G/E `(n,)`: 2.3, 1.0, .63, .55 at 0, .006, .03, .09; .55 beyond [cloth-form]."""
    scale = np.log(np.asarray(shear_ratio, dtype=np.float64) + _SHEAR_FLOOR)
    return np.asarray(np.interp(scale, np.log(_SHEAR_RATIOS + _SHEAR_FLOOR), _SHEAR_FACTORS))


def wave_depth(cloth: Cloth, speed: ArrayLike, ball_mass: float = BALL_MASS) -> Array:
    """Depth while only waves slow the ball, m, by speed `(n,)`, m/s: d_w = sqrt(M/sigma) (V/c)^(1/3) [cloth-form]."""
    return cloth.ball_length(ball_mass) * np.cbrt(np.asarray(speed, dtype=np.float64) / cloth.wave_speed)


def remaining_energy(cloth: Cloth, speed: ArrayLike, ball_mass: float = BALL_MASS) -> Array:
    """Energy left once ball and a sixth of the cloth move as one, J: E_r = M V^2/2 M/(M + sigma W H/6) [cloth-form]."""
    speed = np.asarray(speed, dtype=np.float64)
    shared = cloth.moving_mass * cloth.width * cloth.height / 6.0
    return 0.5 * ball_mass * speed**2 * ball_mass / (ball_mass + shared)


def tension_depth(cloth: Cloth, speed: ArrayLike, ball_mass: float = BALL_MASS) -> Array:
    """Depth at which tension takes the remaining energy, m, by speed `(n,)`, m/s [cloth-form].

    E_r = 2 pi a (T0 x + k_s x^2/2) has one root x >= 0; then d_t = sqrt(2 a x + x^2). Half the shorter side is a;
    cloth and cords in series are k_s = 1/(a/Et + 1/k_e).
    """
    a = 0.5 * min(cloth.width, cloth.height)
    series = 1.0 / (a / cloth.stiffness + 1.0 / cloth.edge_stiffness)
    share = remaining_energy(cloth, speed, ball_mass) / (2.0 * np.pi * a)
    # The root, written so that nothing cancels when the pretension takes nearly all.
    x = 2.0 * share / (cloth.pretension + np.sqrt(cloth.pretension**2 + 2.0 * series * share) + np.finfo(float).tiny)
    return np.sqrt(2.0 * a * x + x**2)


def centre_depth(cloth: Cloth, speed: ArrayLike, ball_mass: float = BALL_MASS) -> Array:
    """Depth at the middle of the cloth, m, by speed `(n,)`, m/s: d = S max(d_w, d_t) [cloth-form]."""
    deeper = np.maximum(wave_depth(cloth, speed, ball_mass), tension_depth(cloth, speed, ball_mass))
    return shear_factor(cloth.shear_ratio) * deeper


# Factors of the depth by distance from the nearest side and the next one, m: the far end of each range ([cloth-form]:
# 1.2 at .45 m; 1.3-1.55 at .15 m; 1.4-1.9 near a corner).
_SIDE_AT = np.array([0.15, 0.45, 0.9])
_SIDE_FACTORS = np.array([1.55, 1.2, 1.0])
_CORNER_FACTORS = np.array([1.9, 1.4, 1.0])


def place_factor(from_side: ArrayLike, from_next_side: ArrayLike) -> Array:
    """Factor of the depth by place `(n,)`, from the distances to the nearest side and to the nearest across it, m.

    Linear between the places of [cloth-form], 1 from .9 m on (judgement). A corner is near as far as both sides are.
    """
    near, other = np.broadcast_arrays(
        np.asarray(from_side, dtype=np.float64), np.asarray(from_next_side, dtype=np.float64)
    )
    near, other = np.minimum(near, other), np.maximum(near, other)
    by_side, by_corner = np.interp(near, _SIDE_AT, _SIDE_FACTORS), np.interp(other, _SIDE_AT, _CORNER_FACTORS)
    return np.asarray(np.maximum(by_side, by_corner))


# Return restitution before damping, by distance from the nearest side, m: the far end of each range ([cloth-form]:
# centre .05-.10, .45 m .13-.16, .15 m .16-.30, corner .33-.37, held edge .30 at the centre).
RETURN_AT = np.array([0.15, 0.45, 1.3])
RETURN_SIDE = np.array([0.30, 0.16, 0.10])
RETURN_CORNER = np.array([0.37, 0.16, 0.10])
_RETURN_HELD = 0.30
# What a cloth likely leaves of it: the liveliest with which balls of every club first land, in the median, .5 to 3 m
# from a common screen, as the trade has it (common practice, no source; docs/cloth.md). A real cloth's own damping is a
# guess of .6 to .9 [cloth-band]. And the lively end: no loss at all.
LIKELY_RETURN, LIVELY_RETURN = 0.58, 1.0


def return_restitution(from_side: ArrayLike, from_next_side: ArrayLike, held_fast: bool = False) -> Array:
    """Speed back over speed in, without the cloth's damping, by place `(n,)` as in `place_factor` [cloth-form]."""
    near, other = np.broadcast_arrays(
        np.asarray(from_side, dtype=np.float64), np.asarray(from_next_side, dtype=np.float64)
    )
    near, other = np.minimum(near, other), np.maximum(near, other)
    by_side, by_corner = np.interp(near, RETURN_AT, RETURN_SIDE), np.interp(other, RETURN_AT, RETURN_CORNER)
    return np.asarray(np.maximum(np.maximum(by_side, by_corner), _RETURN_HELD if held_fast else 0.0))


def speed_left(speed: ArrayLike, depth: ArrayLike, full_depth: ArrayLike) -> Array:
    """Speed of a ball that has sunk `depth` of the `full_depth` it would reach, m/s `(n,)`: V (1 - (z/d)^1.5).

    0 from the full depth on [cloth-form].
    """
    sunk = np.clip(np.asarray(depth, dtype=np.float64) / np.asarray(full_depth, dtype=np.float64), 0.0, 1.0)
    return np.asarray(speed, dtype=np.float64) * (1.0 - sunk**1.5)
