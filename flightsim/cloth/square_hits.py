"""Square hits on a cloth at rest, each worked on a lattice of its own, many at once."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from flightsim.cloth.ball_in_cloth import BallsInCloth, Strikes
from flightsim.cloth.closed_form import BALL_MASS
from flightsim.cloth.fabric import SIDES, Cloth
from flightsim.cloth.lattice import Lattice
from flightsim.cloth.mesh import cell_counts, make_mesh

Array = NDArray[np.float64]
Places = NDArray[np.intp]

BLOCK = 40_000  # nodes worked at once: they stay in the cache
STEP_MARGIN = 0.9  # of the longest stable step


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
) -> Strikes:
    """Hit a cloth squarely, each hit on a cloth at rest.

    speed `(n,)`, m/s; across and up `(n,)`, m, from the cloth's lower left corner, taken to the nearest node; spacing
    of the mesh, m. Hits that are all on a middle line are worked on half the cloth.
    energy is kept for hits that fit one block. to_deepest: stop there, and tell no return; once a ball is on its way
    back it never sinks deeper.
    Raises ValueError for a hit beyond the cloth, for a speed that is none, and for a mesh too coarse for the cloth.
    """
    given = (np.asarray(each, dtype=np.float64).reshape(-1) for each in (speed, across, up))
    speeds, *at = np.broadcast_arrays(*given)
    _refuse(cloth, speeds, at, spacing)
    counts = cell_counts(cloth, spacing)
    nodes = [_nearest(*each) for each in zip(at, (cloth.width, cloth.height), counts, strict=True)]
    mirrors = _mirrors(cloth, nodes, counts)
    mesh = make_mesh(cloth, spacing, mirrors)
    share = 0.5 ** sum(mirrors)  # of the ball, and of all energy, on this side of the mirrors
    side = _nearest_side(nodes, counts, mesh.sides)
    blocks = np.array_split(np.arange(speeds.size), -(-speeds.size * mesh.mass.size // BLOCK)) if speeds.size else []
    done = []
    for block in blocks:
        lattice, at_ball = Lattice(mesh, block.size), [node[block] for node in nodes]
        hit = (at_ball[1], at_ball[0], np.arange(block.size))
        whole = lattice.add_mass(hit, share * ball_mass)
        lattice.speed[2][hit] = speeds[block] * share * ball_mass / whole
        balls = BallsInCloth(
            lattice, at_ball, side[block], share * ball_mass, to_deepest=to_deepest, energy=keep_energy
        )
        done.append(balls.follow(STEP_MARGIN * lattice.longest_step()))
    return _joined(done, share)


def _mirrors(cloth: Cloth, nodes: list[Places], counts: tuple[int, int]) -> list[bool]:
    """Whether all hits are on the middle line, across and up, of a cloth that is held alike on both sides of it."""
    ends = (("left", "right"), ("foot", "top"))
    alike = [len(cloth.corded & set(pair)) != 1 for pair in ends]
    return [like and bool(np.all(2 * node == count)) for like, node, count in zip(alike, nodes, counts, strict=True)]


def _joined(blocks: list[Strikes], share: float) -> Strikes:
    """Blocks of hits as one; energies of one block only, of the whole cloth and not of the share that was worked."""
    names = [each.name for each in fields(Strikes) if each.name != "energy"]
    energy = blocks[0].energy / share if len(blocks) == 1 else np.zeros((0, 0))
    return Strikes(**{name: np.concatenate([getattr(each, name) for each in blocks]) for name in names}, energy=energy)


def _nearest(at: Array, side: float, count: int) -> Places:
    """Number of the node nearest to a place, m, along a side; the same number from either end for mirrored places."""
    far = at > 0.5 * side
    node = np.floor(np.where(far, side - at, at) / side * count + 0.5 + 1e-9).astype(np.intp)
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


def _refuse(cloth: Cloth, speeds: Array, at: list[Array], spacing: float) -> None:
    """Raise ValueError for hits that miss the cloth, speeds that are none, and a mesh too coarse."""
    if not 0.0 < spacing <= 0.25 * min(cloth.width, cloth.height):
        raise ValueError(
            f"a mesh of {spacing:g} m cannot be: more than 0 and up to a quarter of the cloth's shorter side can"
        )
    wrong = speeds[~((speeds > 0.0) & (speeds <= 200.0))]
    if wrong.size:
        raise ValueError(f"a hit at {wrong[0]:g} m/s cannot be worked out: more than 0 and up to 200 m/s can")
    for name, places, side in zip(("across", "up"), at, (cloth.width, cloth.height), strict=True):
        missed = places[~((places >= 0.0) & (places <= side))]
        if missed.size:
            raise ValueError(f"a hit {missed[0]:g} m {name} misses a cloth of {side:g} m: 0 to {side:g} m is on it")
