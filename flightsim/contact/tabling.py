"""A law that is a Python function, asked once, when the bay is opened: what it says is kept as a table."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Part
from flightsim.contact.facings import Facing
from flightsim.contact.law_table import (
    HELD,
    HELD_KIND,
    LEAVES_KIND,
    PAST,
    SHARE,
    SINK,
    UNKNOWN,
    UNKNOWN_KIND,
    VALUES,
    LawTable,
    kind_of,
)
from flightsim.contact.rebound import Hits, ReboundLaw, Rebounds, bounce, off_cloth
from flightsim.flight.ball import Ball

Array = NDArray[np.float64]

SPEEDS = tuple(np.geomspace(0.5, 95.0, 12))  # m/s
SLANTS = tuple(np.radians([0, 8, 16, 24, 32, 38, 44, 50, 55, 60, 65, 70, 75, 80, 85, 89]))  # from square
_OVER = (0.06, 0.13, 0.2, 0.27, 0.35, 0.45, 0.6, 0.8, 1.2, 2.0)
SPINS_OVER = (*(-x for x in _OVER[::-1]), 0.0, *_OVER)
SPINS_ALONG = (-2.0, -0.8, -0.4, -0.18, 0.0, 0.18, 0.4, 0.8, 2.0)
PLACES = 5  # on each of two axes, where the law hangs on the place: every other speed and spin will do there
WORST = 0.08  # of the ball's speed: a table that misses its law by more is none
WORST_SINK = 0.05  # m
TRIED = 20_000  # hits
ON_FLOOR = 0.1  # m: no ball gets under what is lower
BECOMES = ("is held", "leaves", "gets past", "is not known")  # by kind


class NoTableError(ValueError):
    """A law that a table of this kind cannot hold."""


@dataclass(frozen=True)
class _Frames:
    """Of each hit its speed `(n,)`, and unit vectors `(3, n)` out of the face, on along it, and square to both."""

    speed: Array
    out: Array
    on: Array
    side: Array


def _frames(velocity: Array, normal: Array) -> _Frames:
    flat = velocity - normal * (velocity * normal).sum(axis=0)
    size = np.sqrt((flat * flat).sum(axis=0))
    away = np.where(np.abs(normal[2]) < 0.9, [[0.0], [0.0], [1.0]], [[1.0], [0.0], [0.0]])
    other = away - normal * (away * normal).sum(axis=0)
    speed = np.sqrt((velocity * velocity).sum(axis=0))
    on = np.where(size > 1e-9 * speed, flat, other)
    on = on / np.sqrt((on * on).sum(axis=0))
    return _Frames(speed, normal, on, np.cross(normal, on, axis=0))


def tabled(law: ReboundLaw, part: Part, facing: Facing, ball: Ball) -> LawTable:
    """The table of a law for one part. Raises NoTableError for one that hangs on more than a table holds."""
    axes, places = _places(part, ball.radius)
    grid: tuple[Array, ...] = tuple(np.array(axis) for axis in (SPEEDS, SLANTS, SPINS_OVER, SPINS_ALONG))
    if _hangs_on_place(law, part, facing, ball, axes, places):
        grid = (grid[0][::2], grid[1][::2], grid[2][::2], grid[3][::2], *places)
    else:
        places = (places[0][PLACES // 2 :][:1], places[1][PLACES // 2 :][:1])
        grid = (*grid, *places)
    nodes = np.stack([axis_values.ravel() for axis_values in np.meshgrid(*grid, indexing="ij")], axis=1)
    # In pieces, so that no law is asked for a million hits at once.
    found = [_asked(law, part, facing, ball, axes, chunk) for chunk in np.array_split(nodes, 1 + len(nodes) // 100_000)]
    values = np.concatenate(found).reshape(*(len(axis) for axis in grid), VALUES)
    table = LawTable(grid[0], grid[1], grid[2], grid[3], places, axes, values)
    return replace(table, error=_missed(table, law, part, facing, ball))


def _places(part: Part, radius: float) -> tuple[tuple[int, int], tuple[Array, Array]]:
    """The two of the room's axes that the part is longest along, and places along them."""
    lower, upper = part.shape.bounds()
    first, second = sorted(np.argsort(upper - lower)[1:].tolist())
    ends = [(lower[axis] - radius, upper[axis] + radius) for axis in (first, second)]
    return (first, second), (np.linspace(*ends[0], PLACES), np.linspace(*ends[1], PLACES))


def _hits(
    part: Part, facing: Facing, ball: Ball, axes: tuple[int, int], where: Array, turn: Array, behind: bool = False
) -> Hits:
    """Hits at nodes `(n, 6)` of a table, on the side of the part toward the tee, or behind it; turn `(n,)`, rad: of the
    way along the face.
    """
    lower, upper = part.shape.bounds()
    points = np.empty((3, len(where)))
    third = 3 - sum(axes)
    for k, axis in enumerate(axes):
        points[axis] = where[:, 4 + k]
    beyond = upper[2] <= ON_FLOOR if third == 2 else third == 1 and lower[1] <= 0.0
    points[third] = upper[third] + 1.0 if beyond != behind else lower[third] - 1.0
    away, normal = part.shape.distance(points)
    points = points - normal * (away - ball.radius)
    base = _frames(-normal, normal)
    on = base.on * np.cos(turn) + base.side * np.sin(turn)
    side = np.cross(normal, on, axis=0)
    speed, slant = where[:, 0], where[:, 1]
    velocity = speed * (np.sin(slant) * on - np.cos(slant) * normal)
    spin = (speed / ball.radius) * (where[:, 2] * side + where[:, 3] * on)
    arrays = [np.ascontiguousarray(each) for each in (points, velocity, normal, spin)]
    return Hits(part, facing, ball, *arrays)


def _asked(law: ReboundLaw, part: Part, facing: Facing, ball: Ball, axes: tuple[int, int], where: Array) -> Array:
    """What the law says at nodes `(n, 6)`, as a table's values `(n, 11)`."""
    return _as_values(law, _hits(part, facing, ball, axes, where, np.zeros(len(where))))


def _as_values(law: ReboundLaw, hits: Hits) -> Array:
    after, inward = law(hits), np.maximum(hits.normal_speed, 1e-12)
    out = (after.velocity * hits.normal).sum(axis=0)
    share = np.clip(np.where(after.past | after.held, 0.0, out / inward), 0.0, 1.0)
    usual = _usual(hits, share)
    velocity, spin = (np.where(after.past | after.held, 0.0, each) for each in (usual.velocity, usual.spin))
    frames = _frames(hits.velocity, hits.normal)
    values = np.zeros((hits.point.shape[1], VALUES))
    values[:, SHARE] = share
    for k, way in enumerate((frames.out, frames.on, frames.side)):
        values[:, 1 + k] = ((after.velocity - velocity) * way).sum(axis=0) / frames.speed
        values[:, 4 + k] = ((after.spin - spin) * way).sum(axis=0) * hits.ball.radius / frames.speed
    values[after.held, 1:SINK] = 0.0
    values[:, SINK], values[:, HELD], values[:, PAST] = after.sink, after.held & ~after.past, after.past
    if after.unresolved is not None:
        values[after.unresolved] = 0.0
        values[:, UNKNOWN] = after.unresolved
    return values


def _usual(hits: Hits, share: Array) -> Rebounds:
    """How balls leave the part's facing with this restitution `(n,)`."""
    facing = hits.facing
    if facing.soft:
        return off_cloth(hits, share)
    return bounce(hits, share, facing.friction, facing.tangential, facing.hold)


def _hangs_on_place(
    law: ReboundLaw, part: Part, facing: Facing, ball: Ball, axes: tuple[int, int], places: tuple[Array, Array]
) -> bool:
    """Whether the law says something else at another place of the part."""
    rng = np.random.default_rng(1)
    where = np.repeat(_random_nodes(rng, 40, places), 25, axis=0)
    for k in (4, 5):
        where[:, k] = rng.uniform(places[k - 4][0], places[k - 4][-1], len(where))
    found = _asked(law, part, facing, ball, axes, where).reshape(40, 25, VALUES)
    return bool(np.ptp(found, axis=1).max() > 1e-6)


def _random_nodes(rng: np.random.Generator, n: int, places: tuple[Array, Array]) -> Array:
    where = np.empty((n, 6))
    where[:, 0] = np.exp(rng.uniform(np.log(2.0 * SPEEDS[0]), np.log(SPEEDS[-1]), n))
    where[:, 1] = np.arccos(rng.uniform(0.05, 1.0, n))
    where[:, 2], where[:, 3] = rng.uniform(-0.6, 0.6, n), rng.uniform(-0.3, 0.3, n)
    for k in (0, 1):
        where[:, 4 + k] = rng.uniform(places[k][0], places[k][-1], n)
    return where


def _missed(table: LawTable, law: ReboundLaw, part: Part, facing: Facing, ball: Ball) -> float:
    """By how much of the ball's speed the table misses its law at most: at hits between its places, along any way.

    Raises NoTableError where that is too much, or where the law says worse than the table: a ball that is let go or let
    past between places that all hold it. From behind too, if balls get there. A table that says worse than its law is
    no fault: beside a jump it must.
    """
    rng = np.random.default_rng(2)
    lower, upper = part.shape.bounds()
    on_floor = bool(upper[2] <= ON_FLOOR and np.argmin(upper - lower) == 2)
    worst = 0.0
    for behind in (False,) if on_floor else (False, True):
        where, turn = _random_nodes(rng, TRIED, _places(part, ball.radius)[1]), rng.uniform(0.0, 2.0 * np.pi, TRIED)
        hits = _hits(part, facing, ball, table.axes, where, turn, behind)
        worst = max(worst, _missed_at(table, law, hits, where, "from behind, " if behind else ""))
    return worst


def _missed_at(table: LawTable, law: ReboundLaw, hits: Hits, where: Array, side: str) -> float:
    """How far a table misses its law at these hits, at nodes `(n, 6)`."""
    by_law, kept = law(hits), table.values_at(where)
    kept_kind, kind = kind_of(kept), _kind_said(by_law)
    worse = kind > kept_kind
    if worse.any():
        k = int(np.argmax(worse))
        raise NoTableError(
            f"it cannot be kept as a table of speed, slant, spin and place: {side}{_told(where[k], table.axes)} a ball "
            f"{BECOMES[kind[k]]}, and at the table's places around it each {BECOMES[kept_kind[k]]}; give a LawTable "
            "with more places where the law turns"
        )
    velocity, spin = _kept_after(hits, kept, kept_kind)
    speed = np.sqrt((hits.velocity**2).sum(axis=0))
    same = (kind == kept_kind) & (kind < UNKNOWN_KIND)
    goes = same & (kind > HELD_KIND)
    off = np.sqrt(((velocity - by_law.velocity) ** 2).sum(axis=0)) / speed * goes
    slower = np.sqrt(((spin - by_law.spin) ** 2).sum(axis=0)) * hits.ball.radius / speed * goes
    sink = np.abs(by_law.sink - kept[:, SINK]) * same
    worst = np.maximum(off, slower)
    if worst.max() > WORST or sink.max() > WORST_SINK:
        k = int(np.argmax(np.maximum(worst / WORST, sink / WORST_SINK)))
        raise NoTableError(
            f"it cannot be kept as a table of speed, slant, spin and place: {side}{_told(where[k], table.axes)} it is "
            f"off by {worst[k]:.0%} of the ball's speed and {sink[k] * 1000:.0f} mm of sink; give a LawTable with more "
            "places where the law turns"
        )
    return float(worst.max())


def _kind_said(by_law: Rebounds) -> NDArray[np.intp]:
    """What becomes of the balls by a law, as `kind_of` has it."""
    values = np.zeros((len(by_law.held), VALUES))
    values[:, HELD], values[:, PAST] = by_law.held, by_law.past
    if by_law.unresolved is not None:
        values[:, UNKNOWN] = by_law.unresolved
    return kind_of(values)


def _kept_after(hits: Hits, kept: Array, kind: NDArray[np.intp]) -> tuple[Array, Array]:
    """Velocity and spin just after, `(3, n)`, by a table's values `(n, 11)`."""
    usual, frames = _usual(hits, kept[:, SHARE]), _frames(hits.velocity, hits.normal)
    ways = np.stack([frames.out, frames.on, frames.side])
    more = np.einsum("kin,nk->in", ways, kept[:, 1:4]) * frames.speed
    turned = np.einsum("kin,nk->in", ways, kept[:, 4:7]) * frames.speed / hits.ball.radius
    leaves = kind == LEAVES_KIND
    return usual.velocity * leaves + more, usual.spin * leaves + turned


def _told(node: Array, axes: tuple[int, int]) -> str:
    """A hit in words."""
    place = " and ".join(f"{'xyz'[axis]} = {coordinate:.2f} m" for axis, coordinate in zip(axes, node[4:], strict=True))
    spins = f"spin {node[2]:.2f} and {node[3]:.2f} of its speed"
    return f"at {node[0]:.3g} m/s and {np.degrees(node[1]):.3g} deg from square, {spins}, {place},"
