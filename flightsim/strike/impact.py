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

Array = NDArray[np.float64]


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
    """K `(3, 3, n)`, 1/kg: relative velocity at the contact that a unit impulse makes.

    K = (1/m + 1/M) E - [r2]x Ib^-1 [r2]x - [r1]x Ih^-1 [r1]x, r1 = `lever` `(3, n)` from the head's centre of mass to
    the contact, r2 = -r n for the ball; inverse_inertia `(3, 3)`, 1/(kg m2), or None for a head that does not turn.
    """
    n = normal.shape[1]
    K = np.empty((3, 3, n))
    of_ball = 1.0 / (ball.inertia_factor * ball.mass)
    both = 1.0 / ball.mass + 1.0 / head_mass
    for i in range(3):
        for j in range(3):
            K[i, j] = (both + of_ball if i == j else 0.0) - of_ball * normal[i] * normal[j]
    if inverse_inertia is not None:
        x, y, z = lever
        zero = np.zeros_like(x)
        cross = np.array([[zero, -z, y], [z, zero, -x], [-y, x, zero]])
        K -= np.einsum("ijn,jk,kln->iln", cross, inverse_inertia, cross)
    return K


def solve3(K: Array, b: Array) -> Array:
    """x `(3, n)` with K x = b, for symmetric K `(3, 3, n)`, by cofactors: no loop over strikes."""
    c00 = K[1, 1] * K[2, 2] - K[1, 2] * K[2, 1]
    c01 = K[1, 2] * K[2, 0] - K[1, 0] * K[2, 2]
    c02 = K[1, 0] * K[2, 1] - K[1, 1] * K[2, 0]
    c11 = K[0, 0] * K[2, 2] - K[0, 2] * K[2, 0]
    c12 = K[0, 2] * K[1, 0] - K[0, 0] * K[1, 2]
    c22 = K[0, 0] * K[1, 1] - K[0, 1] * K[1, 0]
    det = K[0, 0] * c00 + K[0, 1] * c01 + K[0, 2] * c02
    x = np.stack([
        c00 * b[0] + c01 * b[1] + c02 * b[2],
        c01 * b[0] + c11 * b[1] + c12 * b[2],
        c02 * b[0] + c12 * b[1] + c22 * b[2],
    ])  # fmt: skip
    return np.asarray(x / det)


def impulse(K: Array, approach: Array, normal: Array, contact: Contact) -> tuple[Array, NDArray[np.bool_]]:
    """Impulse on the ball `(3, n)`, N s, and whether it slid `(n,)`.

    approach `(3, n)`, m/s: velocity of the ball's contact point relative to the head's before impact; normal `(3, n)`
    out of the head. Grip first: the normal part returns by -e, the tangential part by -e_t. Where that asks for more
    friction than mu allows, the contact slides in the direction of the grip's tangential impulse.
    """
    e, e_t, mu = contact.restitution, contact.tangential_restitution, contact.friction
    closing = (approach * normal).sum(axis=0)
    tangential = approach - closing * normal
    grip = solve3(K, -(1.0 + e) * closing * normal - (1.0 + e_t) * tangential)
    pressed = (grip * normal).sum(axis=0)
    sideways = grip - pressed * normal
    size = np.sqrt((sideways**2).sum(axis=0))
    slid = size > mu * pressed
    direction = normal + mu * sideways / np.maximum(size, 1.0e-300)
    along = np.einsum("in,ijn,jn->n", normal, K, direction)
    sliding = -(1.0 + e) * closing / along * direction
    return _without_gain(K, np.where(slid, sliding, grip), approach), slid


def _without_gain(K: Array, J: Array, approach: Array) -> Array:
    """The impulse, shortened where it would add energy, to what adds none: J . (u0 + K J/2) is the energy gained.

    A restitution that is a ratio of speeds can add some in eccentric impacts with friction (Kane & Levinson 1985,
    Dynamics, from memory). No shipped club does; a head, e_t or friction given by hand may.
    """
    work = (J * approach).sum(axis=0)
    stored = 0.5 * np.einsum("in,ijn,jn->n", J, K, J)
    most = np.maximum(-work, 0.0)
    return np.asarray(np.where(stored > most, J * (most / np.maximum(stored, 1.0e-300)), J))


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
    at_contact = head_velocity if head_spin is None else head_velocity + np.cross(head_spin, lever, axis=0)
    K = compliance(head_mass, inverse_inertia, lever, normal, ball)
    J, slid = impulse(K, -at_contact, normal, contact)
    misses = (at_contact * normal).sum(axis=0) <= 0.0
    J = np.where(misses, 0.0, J)
    spin = np.cross(-ball.radius * normal, J, axis=0) / (ball.inertia_factor * ball.mass * ball.radius**2)
    return Blow(J / ball.mass, spin, J, slid & ~misses)
