"""A cloth as masses and springs, stepped through hits [cloth-lattice].

A square mesh; warp and weft springs that only pull; two weak diagonals a cell for the shear; cords along the rim. The
ball is glued to the node under it while the cloth pushes it (`ball_in_cloth.py`). A static balance of energy would be
about 2.5 times too deep, since the cloth's inertia takes most of the energy: it is not used.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.mesh import Mesh

Array = NDArray[np.float64]
Places = NDArray[np.intp]

DAMPING_TIME = 1e-5  # s, stiffness damping [cloth-lattice]


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
