"""A cloth as masses and springs, stepped through hits [cloth-lattice].

A square mesh; warp and weft springs that only pull; two weak diagonals a cell for the shear; cords along the rim. The
ball is glued to the node under it while the cloth pushes it (`ball_in_cloth.py`). A static balance of energy would be
about 2.5 times too deep, since the cloth's inertia takes most of the energy: it is not used.
"""

from __future__ import annotations

from dataclasses import fields
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from flightsim.cloth.ball_in_cloth import BallsInCloth, Strikes
from flightsim.cloth.closed_form import BALL_MASS
from flightsim.cloth.fabric import SIDES, Cloth
from flightsim.cloth.mesh import Mesh, cell_counts, make_mesh

Array = NDArray[np.float64]
Places = NDArray[np.intp]

DAMPING_TIME = 1e-5  # s, stiffness damping [cloth-lattice]
BLOCK = 40_000  # nodes worked at once: they stay in the cache
STEP_MARGIN = 0.9  # of the longest stable step


class Lattice:
    """Places and speeds of nodes `(3, rows, columns, hits)`, m and m/s: across, up, and the way the ball goes."""

    def __init__(self, mesh: Mesh, hits: int = 1, damping_time: float = DAMPING_TIME) -> None:
        self.mesh = mesh
        self.damping_time = damping_time
        self.place = np.repeat(mesh.place, hits, axis=-1)
        self.speed = np.zeros_like(self.place)
        self.mass = np.repeat(mesh.mass, hits, axis=-1)
        self._make_room()

    def add_mass(self, at: tuple[Places, Places, Places], mass: float) -> Array:
        """Add a mass, kg, to some nodes, at (rows, columns, hits), none twice; give the whole mass of those nodes."""
        self.mass[at] += mass
        whole = self.mass[at]
        self._per_mass[(slice(None), *at)] = self.mesh.free[:, at[0], at[1], 0] / whole
        return np.asarray(whole)

    def keep(self, hits: NDArray[np.bool_]) -> None:
        """Leave all other hits away."""
        self.place, self.speed, self.mass = self.place[..., hits], self.speed[..., hits], self.mass[..., hits]
        self._make_room()

    def _make_room(self) -> None:
        # Whole arrays with the hits last: numpy then works in long runs, which makes it twice as fast.
        self.place, self.speed, self.mass = (np.ascontiguousarray(each) for each in (self.place, self.speed, self.mass))
        self._per_mass = self.mesh.free / self.mass
        self._force, self._ahead = np.empty_like(self.place), np.empty_like(self.place)
        self._along = [np.empty_like(each.of(self.place)) for each in self.mesh.springs]

    def longest_step(self) -> float:
        """Longest stable step of the explicit scheme, s, its lagging stiffness damping included (textbook)."""
        omega = self.mesh.highest_rate
        damped = 0.5 * self.damping_time * omega
        return 2.0 / omega * (sqrt(1.0 + damped**2) - damped)

    def force(self) -> Array:
        """Force on every node, N, taken where the nodes will be a damping time ahead.

        To first order that is stiffness damping; and since the energy of a spring that only pulls is convex, it can
        never add energy.
        """
        np.multiply(self.speed, self.damping_time, out=self._ahead)
        self._ahead += self.place
        self._force.fill(0.0)
        for springs, along in zip(self.mesh.springs, self._along, strict=True):
            springs.pull(self._ahead, self._force, along)
        for cords in self.mesh.cords:
            cords.pull(self._ahead, self._force)
        return self._force

    def advance(self, step: float) -> None:
        """One step of s: speeds from the force, then places from the new speeds."""
        force = self.force()
        force *= self._per_mass
        force *= step
        self.speed += force
        np.multiply(self.speed, step, out=self._ahead)
        self.place += self._ahead

    def energy(self) -> Array:
        """Energy of motion, springs and cords, J `(hits,)`."""
        moving = 0.5 * np.sum(self.mass * self.speed**2, axis=(0, 1, 2))
        for springs in self.mesh.springs:
            moving = moving + springs.energy(self.place)
        for cords in self.mesh.cords:
            moving = moving + cords.energy(self.place)
        return np.asarray(moving)


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
