"""How a ball bounces: its own restitution, what plates, foam and turf leave of it, and the oblique impact with spin."""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.ball import Ball

Array = NDArray[np.float64]

CONTACT_TIME = 0.45e-3  # s: a ball on something hard
FOAM_SHARE = 0.35  # restitution of foam that does not bottom out; range 0.2-0.45
FOAM_STROKE = 0.7  # of its thickness: then it is solid
TURF_FRICTION = 0.40  # Penner (memory)
TANGENTIAL_RESTITUTION = 0.2  # default, range 0-0.4
FOAM_BOTTOMS = 15.0  # m/s: above, a mat's foam lies flat on its slab
FOAM_ON_SLAB = 0.25
# Cloth, after a computed one [cloth-oblique]: what a ball keeps of its speed along it, what its spin adds, and
# how large the change may be beside what it gets across.
ALONG_KEPT = 0.46
SPIN_ADDS = 0.20  # of R (w x n)
MOST_DRAG = 0.5  # of (1 + e) v_n
LIVELY_ALONG = 1.25  # times what a ball keeps along cloth, at the lively end (judgement)
_TINY = 1.0e-300


def ball_restitution(normal_speed: Array) -> Array:
    """The ball's own restitution on something rigid: e = 0.88 - 0.0023 v_n, clipped to 0.60..0.90.

    [rebound], fitted to read values: 0.86 at 4.25 m/s, 0.768 to 0.78 at 49 m/s.
    """
    return np.clip(0.88 - 0.0023 * np.asarray(normal_speed, dtype=np.float64), 0.60, 0.90)


def plate_share(stiffness: float, thickness: float, density: float, poisson: float, mass: float) -> float:
    """Share of its restitution that a ball of this mass, kg, keeps on a wide plate that carries waves away.

    Zener 1941, Phys. Rev. 59:669 (from memory): Z = 8 sqrt(D rho h), D = E h^3/(12 (1 - nu^2)),
    zeta = pi m/(2 tau Z), share = exp(-pi zeta/sqrt(1 - zeta^2)), nought from zeta 1 on. stiffness E in Pa,
    thickness in m, density in kg/m3.
    """
    bending = stiffness * thickness**3 / (12.0 * (1.0 - poisson**2))
    zeta = pi * mass / (2.0 * CONTACT_TIME * 8.0 * np.sqrt(bending * density * thickness))
    return float(np.exp(-pi * zeta / np.sqrt(1.0 - zeta**2))) if zeta < 1.0 else 0.0


def foam_capacity(crush_stress: float, thickness: float, radius: float) -> float:
    """Energy, J, that foam takes under a ball before it is solid: E_f = sigma_p A 0.7 t, A of the ball's disc.

    crush_stress in Pa: 0.05, 0.12, 0.20 MPa for soft, middle, firm (memory).
    """
    return crush_stress * pi * radius**2 * FOAM_STROKE * thickness


def foam_on_board(normal_speed: Array, mass: float, capacity: float, board: Array) -> Array:
    """Restitution `(n,)` of foam on a board of restitution `board` `(n,)`, capacity in J.

    Up to its capacity 0.35; above, E_out = 0.35^2 E_f + e_b^2 (E_n - E_f). [foam-crush].
    """
    energy = 0.5 * mass * np.asarray(normal_speed, dtype=np.float64) ** 2
    over = np.maximum(energy - capacity, 0.0)
    out = FOAM_SHARE**2 * np.minimum(energy, capacity) + board**2 * over
    return np.where(energy > 0.0, np.sqrt(out / np.maximum(energy, _TINY)), FOAM_SHARE)


def turf_restitution(normal_speed: Array) -> Array:
    """e = 0.510 - 0.0375 v + 0.000903 v^2 (Penner, memory), and 0.25 above 15 m/s: a mat's foam bottoms on the slab.

    Penner's turf would give 0.15 there and 0.120 above 20 m/s.
    """
    v = np.asarray(normal_speed, dtype=np.float64)
    return np.where(v > FOAM_BOTTOMS, FOAM_ON_SLAB, 0.510 - 0.0375 * v + 0.000903 * v * v)


def oblique_bounce(
    velocity: Array, spin: Array, normal: Array, restitution: Array, friction: Array, tangential: Array, ball: Ball
) -> tuple[Array, Array]:
    """Velocity and spin `(3, n)` after a bounce off a surface with unit normal `(3, n)` toward the ball.

    u = v_t - R w at the contact; J/m = -(1 + e_t) u/(1 + 1/k), limited by mu (1 + e) v_n (then it slides), k the
    inertia factor. restitution, friction, tangential `(n,)`. A ball that is leaving already is as it was.
    Impact of a rigid sphere with tangential restitution (Cross 2002, Am. J. Phys. 70:1093, from memory).
    v_t + k R w about the contact never changes, energy never rises.
    """
    inward = -(velocity * normal).sum(axis=0)
    meets = inward > 0.0
    inward = np.where(meets, inward, 0.0)
    # The contact point, a radius from the centre, moves with v + w x (-R n).
    slip = velocity + normal * inward - ball.radius * np.cross(spin, normal, axis=0)
    slip = slip - normal * (slip * normal).sum(axis=0)
    slide = np.sqrt((slip * slip).sum(axis=0))
    grip = (1.0 + tangential) * slide / (1.0 + 1.0 / ball.inertia_factor)
    push = np.where(meets, np.minimum(grip, friction * (1.0 + restitution) * inward), 0.0)
    kick = slip * (-push / np.maximum(slide, _TINY))
    after = velocity + kick + normal * ((1.0 + restitution) * inward)
    turn = np.cross(kick, normal, axis=0) / (ball.inertia_factor * ball.radius)
    return after, spin + turn


def cloth_bounce(
    velocity: Array, spin: Array, normal: Array, restitution: Array, ball: Ball, along_kept: float = 1.0
) -> tuple[Array, Array]:
    """Velocity and spin `(3, n)` after a hit on hung cloth or net with unit normal `(3, n)` toward the ball.

    The pocket carries the ball along and turns it until it rolls: v_t' = .46 v_t + .2 R (w x n), the change of v_t at
    most .5 (1 + e) v_n, so that a ball that runs along a net is not stopped. The spin is then that of a ball that rolls
    at v_t'; where the change is cut short, at most what the same impulse turns, or the same share. restitution `(n,)`
    of the square part; along_kept: times .46 and .2, up to 1.4. A ball that is leaving already is as it was. Energy
    never rises; spin about the normal stays.
    Fitted to a computed cloth [cloth-oblique], docs/cloth.md: 30 % from 15 m/s of v_n and up to 60 deg; nothing
    is known of slower and flatter hits.
    """
    inward = -(velocity * normal).sum(axis=0)
    meets = inward > 0.0
    inward = np.where(meets, inward, 0.0)
    along = velocity - normal * (velocity * normal).sum(axis=0)
    rolling = ball.radius * np.cross(spin, normal, axis=0)  # v_t of a ball that rolls with this spin
    change = along_kept * (ALONG_KEPT * along + SPIN_ADDS * rolling) - along
    size = np.sqrt((change * change).sum(axis=0))
    share = np.minimum(1.0, MOST_DRAG * (1.0 + restitution) * inward / np.maximum(size, _TINY))
    after = along + change * share
    lag = after - rolling
    turned = size * share / (ball.inertia_factor * np.maximum(np.sqrt((lag * lag).sum(axis=0)), _TINY))
    turn = np.cross(normal, lag, axis=0) * (np.clip(turned, share, 1.0) / ball.radius)
    velocity = np.where(meets, after + normal * (restitution * inward), velocity)
    return velocity, np.where(meets, spin + turn, spin)
