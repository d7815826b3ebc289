"""Square hits on a cloth at rest, each worked on a lattice of its own, many at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from flightsim.cloth.ball_in_cloth import AS_FAR, BallsInCloth, Strikes, follow_sixteen
from flightsim.cloth.closed_form import BALL_MASS
from flightsim.cloth.fabric import SIDES, Cloth
from flightsim.cloth.lattice import Lattice, longest_step
from flightsim.cloth.mesh import Mesh, cell_counts, make_mesh

Array = NDArray[np.float64]
Places = NDArray[np.intp]

BLOCK = 24_000  # nodes worked at once: they stay in the cache
STEP_MARGIN = 0.9  # of the longest stable step
# The bound on it is for yarns that all pull one way. At 1.3 of it nothing grew in 25 cloths of all kinds, and returns
# differed from those at half of .9 by as much as those at .9 do (docs/decisions/0032).
QUICK_MARGIN = 1.25
# Cloth held all round overtook 2 balls of 560 that were further in front of it than half as far as they sank.
QUICK_CLEAR = 0.5
# In such a cloth what moves more slowly, m/s, never grows to a number that is told: tables are the same to the last
# bit. Where a side hangs free the cloth can buckle, and any motion grows.
STILL = 1e-26


def strike(
    cloth: Cloth,
    speed: ArrayLike,
    across: ArrayLike,
    up: ArrayLike,
    *,
    spacing: float = 0.025,
    ball_mass: float = BALL_MASS,
    keep_energy: bool = False,
    to_deepest: bool = False,
    quick: bool = False,
) -> Strikes:
    """Hit a cloth squarely, each hit on a cloth at rest.

    speed `(n,)`, m/s; across and up `(n,)`, m, from the cloth's lower left corner, taken to the nearest node; spacing
    of the mesh, m. Hits on a middle line are worked on half the cloth.
    energy is kept for hits that fit one block. to_deepest: stop there, and tell no return; once a ball is on its way
    back it never sinks deeper. quick: sixteen at a time, in single numbers and longer steps, and followed less far; no
    energy is kept.
    Raises ValueError for a hit beyond the cloth, for a speed that is none, and for a mesh too coarse for the cloth.
    """
    given = (np.asarray(each, dtype=np.float64).reshape(-1) for each in (speed, across, up))
    speeds, *places = np.broadcast_arrays(*given)
    _refuse(cloth, speeds, places, spacing)
    counts = cell_counts(cloth, spacing)
    nodes = [_nearest(*each) for each in zip(places, (cloth.width, cloth.height), counts, strict=True)]
    answers: dict[str, NDArray[Any]] = {}
    for mirrors, together in _by_mirrors(cloth, nodes, counts):
        hits = _Hits(cloth, spacing, counts, mirrors, ball_mass, to_deepest, keep_energy, quick)
        done = hits.strike(speeds[together], [node[together] for node in nodes])
        for each in fields(Strikes):
            if each.name != "energy":
                found = getattr(done, each.name)
                answers.setdefault(each.name, np.zeros(speeds.size, found.dtype))[together] = found
    return Strikes(**answers, energy=done.energy)


def _by_mirrors(
    cloth: Cloth, nodes: list[Places], counts: tuple[int, int]
) -> Iterator[tuple[tuple[bool, bool], Places]]:
    """Hits by whether they are on the middle line, across and up, of a cloth that is held alike on both sides of it."""
    ends = (("left", "right"), ("foot", "top"))
    alike = [len(cloth.corded & set(pair)) != 1 for pair in ends]
    middle = [like & (2 * node == count) for like, node, count in zip(alike, nodes, counts, strict=True)]
    for across, up in product((False, True), repeat=2):
        alike_hits = np.flatnonzero((middle[0] == across) & (middle[1] == up))
        if alike_hits.size or not nodes[0].size:
            yield (across, up), alike_hits


@dataclass(frozen=True)
class _Hits:
    """How hits are worked; mirrors: across, up, those that leave half of the cloth away."""

    cloth: Cloth
    spacing: float
    counts: tuple[int, int]
    mirrors: tuple[bool, bool]
    ball_mass: float
    to_deepest: bool
    keep_energy: bool
    quick: bool

    def strike(self, speeds: Array, nodes: list[Places]) -> Strikes:
        """All hits."""
        mesh = make_mesh(self.cloth, self.spacing, self.mirrors)
        share = 0.5 ** sum(self.mirrors)  # of the ball, and of all energy, on this side of the mirrors
        if self.quick:
            return self._sixteen(mesh, share, speeds, nodes)
        many = -(-speeds.size * mesh.mass.size // BLOCK)
        blocks = np.array_split(np.arange(speeds.size), many) if speeds.size else [np.arange(0)]
        return _joined(
            [self._block(mesh, share, speeds[block], [node[block] for node in nodes]) for block in blocks], share
        )

    def _sixteen(self, mesh: Mesh, share: float, speeds: Array, nodes: list[Places]) -> Strikes:
        side, step = _nearest_side(nodes, self.counts, mesh.sides), QUICK_MARGIN * longest_step(mesh)
        held, mass = self.cloth.corded == frozenset(SIDES), share * self.ball_mass
        clear, still = (QUICK_CLEAR, STILL) if held else (AS_FAR, 0.0)
        order = _longest_first(nodes, self.counts)
        done = follow_sixteen(
            mesh, speeds[order], [node[order] for node in nodes], side[order], mass, step, clear=clear, still=still,
            to_deepest=self.to_deepest,
        )  # fmt: skip
        return done.taken(np.argsort(order))

    def _block(self, mesh: Mesh, share: float, speeds: Array, nodes: list[Places]) -> Strikes:
        lattice, mass = Lattice(mesh, speeds.size), share * self.ball_mass
        hit = (nodes[1], nodes[0], np.arange(speeds.size))
        lattice.speed[2][hit] = speeds * mass / lattice.add_mass(hit, mass)
        side = _nearest_side(nodes, self.counts, mesh.sides)
        balls = BallsInCloth(lattice, nodes, side, mass, to_deepest=self.to_deepest, energy=self.keep_energy)
        return balls.follow(STEP_MARGIN * lattice.longest_step())


def _joined(blocks: list[Strikes], share: float) -> Strikes:
    """Blocks of hits as one; energies of one block only, of the whole cloth and not of the share that was worked."""
    names = [each.name for each in fields(Strikes) if each.name != "energy"]
    energy = blocks[0].energy / share if len(blocks) == 1 else np.zeros((0, 0))
    return Strikes(**{name: np.concatenate([getattr(each, name) for each in blocks]) for name in names}, energy=energy)


def _nearest(places: Array, side: float, count: int) -> Places:
    """Number of the node nearest to a place, m, along a side; the same number from either end for mirrored places."""
    far = places > 0.5 * side
    node = np.floor(np.where(far, side - places, places) / side * count + 0.5 + 1e-9).astype(np.intp)
    return np.asarray(np.where(far, count - node, node))


def _nearest_side(nodes: list[Places], counts: tuple[int, int], sides: tuple[str, ...]) -> Places:
    """Number, among the sides that the lattice has, of the one nearest to each hit."""
    steps = {
        "left": nodes[0],
        "right": counts[0] - nodes[0],
        "foot": nodes[1],
        "top": counts[1] - nodes[1],
    }
    return np.asarray(np.argmin(np.stack([steps[side] for side in SIDES if side in sides]), axis=0))


def _longest_first(nodes: list[Places], counts: tuple[int, int]) -> Places:
    """Order of hits: those far from the sides first, for they take longest, so that all sixteen places end together."""
    within = [np.minimum(node, count - node) for node, count in zip(nodes, counts, strict=True)]
    return np.argsort(-within[0] * within[1], kind="stable")


def _refuse(cloth: Cloth, speeds: Array, places: list[Array], spacing: float) -> None:
    """Raise ValueError for hits that miss the cloth, speeds that are none, and a mesh too coarse."""
    if not 0.0 < spacing <= 0.25 * min(cloth.width, cloth.height):
        raise ValueError(
            f"a mesh of {spacing:g} m cannot be: more than 0 and up to a quarter of the cloth's shorter side can"
        )
    wrong = speeds[~((speeds > 0.0) & (speeds <= 200.0))]
    if wrong.size:
        raise ValueError(f"a hit at {wrong[0]:g} m/s cannot be worked out: more than 0 and up to 200 m/s can")
    for name, along, side in zip(("across", "up"), places, (cloth.width, cloth.height), strict=True):
        missed = along[~((along >= 0.0) & (along <= side))]
        if missed.size:
            raise ValueError(f"a hit {missed[0]:g} m {name} misses a cloth of {side:g} m: 0 to {side:g} m is on it")
