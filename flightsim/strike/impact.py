"""Club meets ball: the impulse between two rigid bodies at one contact point, for whole batches of strikes.

Everything is worked in the head's own axes (out of the face, toward the heel, up), in which the inertia and the
contact point do not depend on how the head is delivered; only velocities are turned in and the launch is turned out.
Impulse with normal restitution, tangential restitution and a Coulomb limit: Stronge 2000, Impact Mechanics, ch. 3-4
(from memory); Penner 2003, Rep. Prog. Phys. 66:131 (from memory) for the golf strike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.ball import LEGAL_BALL, Ball
from flightsim.strike.vectors import cross, dot, solve_symmetric, times

Array = NDArray[np.float64]
_LEAST = 1.0e-300  # instead of a zero below a line


@dataclass(frozen=True)
class Contact:
    """How the surfaces meet, each `(n,)` or a number: normal restitution e (0..1), tangential restitution e_t
    (-1 frictionless, 0 rolling at separation, above 0 tangential spring-back), and Coulomb friction mu.
    """

    restitution: Array | float
    tangential_restitution: Array | float
    friction: Array | float


@dataclass(frozen=True)
class Blow:
    """What the ball leaves with, and what the head keeps, in the axes of the delivery.

    velocity `(3, n)`, m/s; spin `(3, n)`, rad/s; impulse `(3, n)`, N s, on the ball; slid `(n,)` bool.
    """

    velocity: Array
    spin: Array
    impulse: Array
    slid: NDArray[np.bool_]


def compliance(head_mass: float, inverse_inertia: Array | None, lever: Array, normal: Array, ball: Ball) -> Array:
    """K `(3, 3, n)`, 1/kg: relative velocity at the contact that a unit impulse makes; symmetric.

    K = (1/m + 1/M) E - [r2]x Ib^-1 [r2]x - [r1]x Ih^-1 [r1]x, r1 = `lever` `(3, n)` from the head's centre of mass to
    the contact, r2 = -r n for the ball; inverse_inertia `(3, 3)`, 1/(kg m2), or None for a head that does not turn.
    """
    of_ball = 1.0 / (ball.inertia_factor * ball.mass)
    both = 1.0 / ball.mass + 1.0 / head_mass + of_ball
    turned = of_ball * normal
    K = np.empty((3, 3, normal.shape[1]))
    for i, j in _UPPER:
        np.multiply(turned[i], -normal[j], out=K[i, j])
        if i == j:
            K[i, i] += both
    if inverse_inertia is not None:
        _add_turning(K, inverse_inertia, lever)
    for i, j in _UPPER:
        K[j, i] = K[i, j]
    return K


_UPPER = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))


def _add_turning(K: Array, W: Array, lever: Array) -> None:
    """Add -[r]x W [r]x to the upper half of K: its entries c_i . W c_j, c_i = e_i x r, written out in products of r."""
    x, y, z = lever
    xx, yy, zz, yz, xz, xy = x * x, y * y, z * z, y * z, x * z, x * y
    K[0, 0] += W[1, 1] * zz + W[2, 2] * yy - (2.0 * W[1, 2]) * yz
    K[1, 1] += W[0, 0] * zz + W[2, 2] * xx - (2.0 * W[0, 2]) * xz
    K[2, 2] += W[0, 0] * yy + W[1, 1] * xx - (2.0 * W[0, 1]) * xy
    K[0, 1] += W[1, 2] * xz + W[0, 2] * yz - W[0, 1] * zz - W[2, 2] * xy
    K[0, 2] += W[1, 2] * xy + W[0, 1] * yz - W[0, 2] * yy - W[1, 1] * xz
    K[1, 2] += W[0, 2] * xy + W[0, 1] * xz - W[1, 2] * xx - W[0, 0] * yz


def impulse(K: Array, approach: Array, normal: Array, contact: Contact) -> tuple[Array, NDArray[np.bool_]]:
    """Impulse on the ball `(3, n)`, N s, and whether it slid `(n,)`.

    approach `(3, n)`, m/s: velocity of the ball's contact point relative to the head's before impact; normal `(3, n)`
    out of the head. Grip first: the normal part returns by -e, the tangential part by -e_t. Where that asks for more
    friction than mu allows, the contact slides in the direction of the grip's tangential impulse.
    """
    e, e_t, mu = contact.restitution, contact.tangential_restitution, contact.friction
    closing = dot(approach, normal)
    change = -(1.0 + e_t) * approach + (e_t - e) * closing * normal  # of the relative velocity, where it grips
    J = solve_symmetric(K, change)
    pressed = dot(J, normal)
    sideways = J - pressed * normal
    size = np.sqrt(dot(sideways, sideways))
    slid = np.asarray(size > mu * pressed)
    if slid.any():
        direction = normal + mu / np.maximum(size, _LEAST) * sideways
        push = times(K, direction)
        force = -(1.0 + e) * closing / dot(normal, push)
        J = np.where(slid, force * direction, J)
        change = np.where(slid, force * push, change)
    return _without_gain(J, change, approach), slid


def _without_gain(J: Array, change: Array, approach: Array) -> Array:
    """The impulse, shortened where it would add energy, to what adds none: J . (u0 + K J/2) is the energy gained, and
    K J the `change` of the relative velocity.

    A restitution that is a ratio of speeds can add some in eccentric impacts with friction (Kane & Levinson 1985,
    Dynamics, from memory). No shipped club does; a head, e_t or friction given by hand may.
    """
    most = np.maximum(-dot(J, approach), 0.0)
    stored = 0.5 * dot(J, change)
    gains = stored > most
    if not gains.any():
        return J
    return np.asarray(np.where(gains, J * (most / np.maximum(stored, _LEAST)), J))


def strike_ball(
    head_mass: float,
    inverse_inertia: Array | None,
    lever: Array,
    normal: Array,
    head_velocity: Array,
    contact: Contact,
    ball: Ball = LEGAL_BALL,
    head_spin: Array | None = None,
) -> Blow:
    """A resting ball is struck. All vectors `(3, n)` in one set of axes, the inertia too.

    head_velocity is that of the head's centre of mass, m/s; head_spin its rotation, rad/s. A strike whose contact
    point moves away from the ball gives no impulse.
    """
    at_contact = head_velocity if head_spin is None else head_velocity + cross(head_spin, lever)
    K = compliance(head_mass, inverse_inertia, lever, normal, ball)
    J, slid = impulse(K, -at_contact, normal, contact)
    misses = dot(at_contact, normal) <= 0.0
    if misses.any():
        J = np.where(misses, 0.0, J)
    spin = cross(normal, J) * (-1.0 / (ball.inertia_factor * ball.mass * ball.radius))
    return Blow(J / ball.mass, spin, J, slid & ~misses)
