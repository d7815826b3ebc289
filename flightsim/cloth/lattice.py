"""A cloth as masses and springs, stepped through hits [cloth-lattice].

A square mesh; warp and weft springs that only pull; two weak diagonals a cell for the shear; cords along the rim. The
ball is glued to the node under it while the cloth pushes it (`ball_in_cloth.py`). A static balance of energy would be
about 2.5 times too deep, since the cloth's inertia takes most of the energy: it is not used.
"""

from __future__ import annotations

from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.ball_on_node import Nodes
from flightsim.cloth.following import Sheet, make_lattice_ready, step_nodes
from flightsim.cloth.mesh import Mesh
from flightsim.cloth.pulling import pulls_of
from flightsim.cloth.sixteen import LANES
from flightsim.cloth.sixteen_step import NODE, PER_MASS, SPEED, SixteenHits

Array = NDArray[np.float64]
Places = NDArray[np.intp]

DAMPING_TIME = 1e-5  # s, stiffness damping [cloth-lattice]


class Lattice:
    """How far nodes have moved, m, and their speeds, m/s `(3, rows, columns, hits)`: across, up, the way the ball goes.

    single: in numbers of seven digits; what has moved then still has a step of some 1e-8 m.
    """

    def __init__(self, mesh: Mesh, hits: int = 1, damping_time: float = DAMPING_TIME, *, single: bool = False) -> None:
        make_lattice_ready(fine=True)
        self.mesh = mesh
        self.damping_time = damping_time
        self.kind: Any = np.float32 if single else np.float64
        self.moved: Array = np.zeros((*mesh.place.shape[:3], hits), dtype=self.kind)
        self.speed = np.zeros_like(self.moved)
        self.mass: Array = np.repeat(mesh.mass, hits, axis=-1).astype(self.kind)
        self.pulls = pulls_of(mesh, self.kind)
        self._make_room()

    @property
    def place(self) -> Array:
        """Where the nodes are, m `(3, rows, columns, hits)`."""
        return np.asarray(self.mesh.place + self.moved)

    def add_mass(self, nodes: tuple[Places, Places, Places], mass: float) -> Array:
        """Add a mass, kg, to some nodes, at (rows, columns, hits), none twice; give the whole mass of those nodes."""
        self.mass[nodes] += mass
        whole = self.mass[nodes]
        self._per_mass[nodes] = 1.0 / whole
        return np.asarray(whole)

    def keep(self, hits: NDArray[np.bool_]) -> None:
        """Leave all other hits away."""
        self.moved, self.speed, self.mass = self.moved[..., hits], self.speed[..., hits], self.mass[..., hits]
        self._make_room()

    def _make_room(self) -> None:
        # Whole arrays with the hits last: long runs, which the compiler works several at a time.
        self.moved, self.speed, self.mass = (np.ascontiguousarray(each) for each in (self.moved, self.speed, self.mass))
        self._per_mass: Array = 1.0 / self.mass
        rows, columns, hits = self.mass.shape
        many = columns * hits
        moved, speed = (each.reshape(3, rows, many) for each in (self.moved, self.speed))
        force, ahead = np.empty((2, 3, rows, many), dtype=self.kind)
        free = np.ascontiguousarray(self.mesh.free[..., 0]).astype(self.kind)
        self.sheet = Sheet(
            moved, speed, force, ahead, self._per_mass.reshape(rows, many), free, np.empty((4, many), dtype=self.kind)
        )
        self.nodes = Nodes(self.moved, self.speed, self.mass, self._per_mass, free, sides_of(self.mesh))

    def longest_step(self) -> float:
        """Longest stable step of the explicit scheme, s."""
        return longest_step(self.mesh, self.damping_time)

    def advance(self, step: float) -> None:
        """One step of s: speeds from the force, then places from the new speeds.

        The force is taken where the nodes will be a damping time ahead. To first order that is stiffness damping; and
        since the energy of a spring that only pulls is convex, it can never add energy.
        """
        step_nodes(self.sheet, self.pulls, self.times(step))

    def times(self, step: float) -> Array:
        """Of damping and of a step, s, as numbers of the lattice's kind."""
        return np.array([self.damping_time, step], dtype=self.kind)

    def energy(self) -> Array:
        """Energy of motion, springs and cords, J `(hits,)`."""
        moving = 0.5 * np.sum(self.mass * self.speed.astype(np.float64) ** 2, axis=(0, 1, 2))
        for springs in self.mesh.springs:
            moving = moving + springs.energy(self.place)
        for cords in self.mesh.cords:
            moving = moving + cords.energy(self.place)
        return np.asarray(moving)


def nodes_of(hits: SixteenHits, mesh: Mesh) -> Nodes:
    """Sixteen motions of a mesh at rest, seen as the nodes of a lattice."""
    rows, columns = mesh.mass.shape[:2]
    seen = hits.nodes.reshape(rows, columns, NODE // LANES, LANES).transpose(2, 0, 1, 3)
    moved, speed, per_mass = seen[:3], seen[SPEED // LANES : PER_MASS // LANES], seen[PER_MASS // LANES]
    mass = np.repeat(mesh.mass, LANES, axis=-1).astype(np.float32)
    return Nodes(moved, speed, mass, per_mass, mesh.free[..., 0].astype(np.float32), sides_of(mesh))


def longest_step(mesh: Mesh, damping_time: float = DAMPING_TIME) -> float:
    """Longest stable step of the explicit scheme, s, its lagging stiffness damping included (textbook)."""
    omega = mesh.highest_rate
    damped = 0.5 * damping_time * omega
    return 2.0 / omega * (sqrt(1.0 + damped**2) - damped)


def sides_of(mesh: Mesh) -> NDArray[np.int64]:
    """Of each side: whether it is upright, its line of nodes, and which way is inward."""
    rows, columns = mesh.mass.shape[:2]
    ends = {"left": (1, 0, 1), "right": (1, columns - 1, -1), "foot": (0, 0, 1), "top": (0, rows - 1, -1)}
    return np.array([ends[side] for side in mesh.sides], dtype=np.int64).reshape(-1, 3)
