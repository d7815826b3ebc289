"""How balls leave what they hit: by the part's facing, or by a law that a plugin gives for a part."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Part
from flightsim.contact.facings import Facing
from flightsim.contact.law_table import LawTable
from flightsim.flight.ball import Ball
from flightsim.flight.bounce import LIVELY_ALONG, cloth_bounce, oblique_bounce

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Hits:
    """k hits on one part, just before: point `(3, k)`, m, of the ball's centre; velocity `(3, k)`, m/s; spin
    `(3, k)`, rad/s; normal `(3, k)`, unit, from the part toward the ball. All arrays are read-only.
    """

    part: Part
    facing: Facing
    ball: Ball
    point: Array
    velocity: Array
    normal: Array
    spin: Array

    @property
    def normal_speed(self) -> Array:
        """How fast the ball goes into the face `(k,)`, m/s."""
        return np.asarray(np.maximum(-(self.velocity * self.normal).sum(axis=0), 0.0))


@dataclass(frozen=True)
class Rebounds:
    """The same balls just after. velocity, spin `(3, k)`; held `(k,)`: it stays, and falls from there by its weight;
    sink `(k,)`, m: how far the face goes with the ball against the normal;
    past `(k,)`: it gets past the part once it has sunk so far, with the velocity that it has left, and flies on; edge
    `(k,)` int: past which, as a place in EDGES of `flightsim.contact.fates`, -1 or None where the law does not say;
    unresolved `(k,)`: the law has no answer for it, and its other numbers mean nothing; None where it always has one.
    """

    velocity: Array
    spin: Array
    held: Mask
    sink: Array
    past: Mask
    unresolved: Mask | None = None
    edge: NDArray[np.intp] | None = None


ReboundLaw = Callable[[Hits], Rebounds]
Law = ReboundLaw | LawTable


@dataclass(frozen=True)
class PartRebound:
    """A plugin's own law for the part of this name, instead of its facing's: a table, or a function that is asked for
    one when the bay is opened. weakened: the same part when something about it has failed, in words (`a cord
    snapped`) and as a law: tried in "what if one fails". ends: the same part at the ends of what is not known of it, by
    the names of `flightsim.contact.cloth_ends`: flown as adverse cloth.
    """

    part: str
    law: Law
    weakened: tuple[tuple[str, Law], ...] = ()
    ends: tuple[tuple[str, Law], ...] = ()


def bounce(hits: Hits, restitution: Array, friction: float, tangential: float, hold: float = 0.0) -> Rebounds:
    """The oblique bounce with this normal restitution `(k,)`; what would leave slower than hold, m/s, stays.

    Below a walking pace restitution tends to what parts ball and face: see SEPARATE.
    """
    k = restitution.size
    velocity, spin = oblique_bounce(
        hits.velocity, hits.spin, hits.normal, _parting(hits, restitution), np.full(k, friction),
        np.full(k, tangential), hits.ball,
    )  # fmt: skip
    return _left(hits, velocity, spin, hold)


def off_cloth(hits: Hits, restitution: Array) -> Rebounds:
    """How balls leave hung cloth or net with this normal restitution `(k,)`: the pocket's law.

    One that hardly touches, as a ball that rests or hops on it, has the facing's own friction. Off the liveliest cloth
    so has one that the pocket's law is not known for: slower than KNOWN_FROM, or flatter than 45 deg.
    """
    facing, k = hits.facing, restitution.size
    e = _parting(hits, restitution)
    velocity, spin = cloth_bounce(
        hits.velocity, hits.spin, hits.normal, e, hits.ball, LIVELY_ALONG if facing.lively else 1.0
    )
    plain = hits.normal_speed < HARDLY
    if facing.lively:
        square = (hits.velocity * hits.velocity).sum(axis=0)
        plain |= (square < KNOWN_FROM**2) | (square > 2.0 * hits.normal_speed**2)
    if plain.any():
        own = oblique_bounce(
            hits.velocity, hits.spin, hits.normal, e, np.full(k, facing.friction), np.full(k, facing.tangential),
            hits.ball,
        )  # fmt: skip
        velocity, spin = np.where(plain, own[0], velocity), np.where(plain, own[1], spin)
    return _left(hits, velocity, spin, facing.hold)


def _parting(hits: Hits, restitution: Array) -> Array:
    """The restitution `(k,)`, and below a walking pace what parts ball and face: see SEPARATE."""
    inward = hits.normal_speed
    slow = (inward > 0.0) & (restitution * inward < SEPARATE)
    return np.where(slow, np.minimum(SEPARATE / np.maximum(inward, 1e-300), 1.0), restitution)


def _left(hits: Hits, velocity: Array, spin: Array, hold: float) -> Rebounds:
    """The balls just after, those held that are slower than hold, m/s."""
    # Along the face a ball may leave fast though it is sent back slow: only one that is slow altogether stays. One that
    # only falls back on the face that it parted from slides.
    held = (np.sqrt((velocity * velocity).sum(axis=0)) < hold) & (hits.normal_speed > HOLDS_FROM)
    if held.any():
        velocity[:, held] = hits.normal[:, held] * SEPARATE
        spin[:, held] = 0.0
    return Rebounds(velocity, spin, held, np.zeros(held.size), np.zeros(held.size, dtype=bool))


KNOWN_FROM = 20.0  # m/s: of slower balls along cloth, and of any beyond 45 deg, nothing is known [cloth-oblique]
HARDLY = 0.35  # m/s: slower into cloth, a ball hops or rests on it (as rolling.SETTLES)
# m/s: a ball that touches no longer leaves at least so fast (or as fast as it came, if that is slower): nothing in the
# search for contacts then has to tell a ball that rests from one that parts. It never adds energy.
SEPARATE = 0.02
# m/s into the face: twice what a ball that parted at SEPARATE falls back with, so that no rounding holds it on a slope.
HOLDS_FROM = 2.0 * SEPARATE


def by_facing(hits: Hits) -> Rebounds:
    """The bounce that the part's facing gives; off what is soft, as cloth is, by the law of cloth."""
    facing = hits.facing
    restitution = facing.restitution(hits.normal_speed, hits.ball)
    if facing.soft:
        return off_cloth(hits, restitution)
    return bounce(hits, restitution, facing.friction, facing.tangential, facing.hold)
