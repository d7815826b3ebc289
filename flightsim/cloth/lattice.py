"""A cloth as masses and springs, stepped through hits [cloth-lattice].

A square mesh; warp and weft springs that only pull; two weak diagonals a cell for the shear; cords along the rim. The
ball is glued to the node under it while the cloth pushes it (`ball_in_cloth.py`). A static balance of energy would be
about 2.5 times too deep, since the cloth's inertia takes most of the energy: it is not used.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.following import Sheet, make_lattice_ready, step_nodes
from flightsim.cloth.mesh import Mesh
from flightsim.cloth.pulling import pulls_of

Array = NDArray[np.float64]
Places = NDArray[np.intp]

DAMPING_TIME = 1e-5  # s, stiffness damping [cloth-lattice]


class Lattice:
    """Places and speeds of nodes `(3, rows, columns, hits)`, m and m/s: across, up, and the way the ball goes."""

    def __init__(self, mesh: Mesh, hits: int = 1, damping_time: float = DAMPING_TIME) -> None:
        make_lattice_ready()
        self.mesh = mesh
        self.damping_time = damping_time
        self.place = np.repeat(mesh.place, hits, axis=-1)
        self.speed = np.zeros_like(self.place)
        self.mass = np.repeat(mesh.mass, hits, axis=-1)
        self.pulls = pulls_of(mesh)
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
        # Whole arrays with the hits last: long runs, which the compiler works several at a time.
        self.place, self.speed, self.mass = (np.ascontiguousarray(each) for each in (self.place, self.speed, self.mass))
        self._per_mass = self.mesh.free / self.mass
        rows, columns, hits = self.mass.shape
        many = columns * hits
        place, speed, per_mass = (each.reshape(3, rows, many) for each in (self.place, self.speed, self._per_mass))
        force, ahead = np.empty((2, 3, rows, many))
        free, start = (np.ascontiguousarray(each[..., 0]) for each in (self.mesh.free, self.mesh.place))
        self.sheet = Sheet(
            place, speed, force, ahead, per_mass, self.mass.reshape(rows, many), free, start,
            _sides(self.mesh, rows, columns), np.empty((4, many)),
        )  # fmt: skip

    def longest_step(self) -> float:
        """Longest stable step of the explicit scheme, s, its lagging stiffness damping included (textbook)."""
        omega = self.mesh.highest_rate
        damped = 0.5 * self.damping_time * omega
        return 2.0 / omega * (sqrt(1.0 + damped**2) - damped)

    def advance(self, step: float) -> None:
        """One step of s: speeds from the force, then places from the new speeds.

        The force is taken where the nodes will be a damping time ahead. To first order that is stiffness damping; and
        since the energy of a spring that only pulls is convex, it can never add energy.
        """
        step_nodes(self.sheet, self.pulls, self.damping_time, step)

    def energy(self) -> Array:
        """Energy of motion, springs and cords, J `(hits,)`."""
        moving = 0.5 * np.sum(self.mass * self.speed**2, axis=(0, 1, 2))
        for springs in self.mesh.springs:
            moving = moving + springs.energy(self.place)
        for cords in self.mesh.cords:
            moving = moving + cords.energy(self.place)
        return np.asarray(moving)


def _sides(mesh: Mesh, rows: int, columns: int) -> NDArray[np.int64]:
    """Of each side: whether it is upright, its line of nodes, and which way is inward."""
    ends = {"left": (1, 0, 1), "right": (1, columns - 1, -1), "foot": (0, 0, 1), "top": (0, rows - 1, -1)}
    return np.array([ends[side] for side in mesh.sides], dtype=np.int64).reshape(-1, 3)
