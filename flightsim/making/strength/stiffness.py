"""One beam's stiffness and what its loads do to its ends, in its own axes, twelve ways to move.

Euler-Bernoulli beam, direct stiffness (W. McGuire, R. H. Gallagher, R. D. Ziemian, Matrix Structural Analysis, 2nd ed.,
2000, eq. 4.34 and table 5.1; ends that pass no moment on by static condensation, section 13.2).
Order: start x, y, z, rx, ry, rz, then the same of the end.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.making.strength.skeleton import WAYS, Beam, BeamLoad, LineLoad, Skeleton, Stiffness

Array = NDArray[np.float64]


def beam_stiffness(stiff: Stiffness, length: float) -> Array:
    """`(12, 12)`: forces, N, and moments, N m, at the ends for unit movements of them. length: m."""
    found = np.zeros((12, 12))
    for way, value in ((0, stiff.axial / length), (3, stiff.twist / length)):
        found[np.ix_((way, way + 6), (way, way + 6))] = value * np.array([[1.0, -1.0], [-1.0, 1.0]])
    for shift, turn, bending, sign in ((1, 5, stiff.about_z, 1.0), (2, 4, stiff.about_y, -1.0)):
        a, b, c = 12.0 * bending / length**3, sign * 6.0 * bending / length**2, 4.0 * bending / length
        block = np.array([[a, b, -a, b], [b, c, -b, c / 2.0], [-a, -b, a, -b], [b, c / 2.0, -b, c]])
        ways = (shift, turn, shift + 6, turn + 6)
        found[np.ix_(ways, ways)] = block
    return found


def held_ends(length: float, loads: Iterable[LineLoad | BeamLoad], axes: Array) -> Array:
    """`(12,)`: what holds the ends of a beam with both of them fixed, N and N m, against these loads."""
    found = np.zeros(12)
    for load in loads:
        force = axes @ np.array(load.force)
        found -= _even(length, force) if isinstance(load, LineLoad) else _point_load(length, load.part, force)
    return found


def _even(length: float, force: Array) -> Array:
    """End loads that do the same as an even load, N/m."""
    half, twelfth = force * length / 2.0, force * length**2 / 12.0
    turns = np.array([0.0, -twelfth[2], twelfth[1]])
    return np.concatenate([half, turns, half, -turns])


def _point_load(length: float, part: float, force: Array) -> Array:
    """End loads that do the same as one force, N, at this part of the length."""
    remaining = 1.0 - part
    start = np.array([remaining, *[remaining**2 * (1.0 + 2.0 * part)] * 2]) * force
    turn_start, turn_end = part * remaining**2 * length, part**2 * remaining * length
    return np.concatenate([
        start, [0.0, -turn_start * force[2], turn_start * force[1]],
        force - start, [0.0, turn_end * force[2], -turn_end * force[1]],
    ])  # fmt: skip


def freed(beam: Beam) -> list[int]:
    """The ways, of twelve, that the beam's ends do not pass on."""
    return [k for k, w in enumerate(WAYS) if w in beam.free_start] + [
        k + 6 for k, w in enumerate(WAYS) if w in beam.free_end
    ]


@dataclass(frozen=True)
class Ready:
    """A beam made ready for any load. own: its stiffness `(12, 12)`; whole: the same in the frame's axes, freed ways
    carrying nothing; turn, passed `(12, 12)`: frame's axes to its own, and what loads go through; inner: of freed ways.
    """

    beam: Beam
    length: float
    axes: Array
    ways: list[int]
    free: list[int]
    own: Array
    inner: Array
    passed: Array
    turn: Array
    whole: Array

    def at_nodes(self, held: Array) -> Array:
        """What nodes get `(12,)`, in the frame's axes, of loads that would need `held` at fixed ends."""
        return np.asarray(-self.turn.T @ self.passed @ held)

    def ends(self, moved: Array, held: Array) -> Array:
        """Movements `(12,)` of its own ends, in its axes: its nodes' (frame's axes), freed ways where no moment leaves
        them.
        """
        found = np.asarray(self.turn @ moved)
        if self.free:
            kept = [k for k in range(12) if k not in self.free]
            found[self.free] = -self.inner @ (held[self.free] + self.own[np.ix_(self.free, kept)] @ found[kept])
        return found


def ready(skeleton: Skeleton, beam: Beam) -> Ready:
    """Its stiffness, with freed ways condensed out.

    A way that is freed and has nothing to resist it (both ends freed about the beam's own line) carries nothing.
    """
    length, axes, free = skeleton.length(beam), skeleton.axes(beam), freed(beam)
    own, passed = beam_stiffness(beam.stiffness, length), np.eye(12)
    inner: Array = np.zeros((0, 0))
    if free:
        kept = [k for k in range(12) if k not in free]
        inner = np.asarray(np.linalg.pinv(own[np.ix_(free, free)], rcond=1e-10, hermitian=True), dtype=np.float64)
        passed[np.ix_(kept, free)] = -own[np.ix_(kept, free)] @ inner
        passed[np.ix_(free, free)] = 0.0
    turn: Array = np.kron(np.eye(4), axes).astype(np.float64)
    whole = turn.T @ (passed @ own @ passed.T) @ turn
    return Ready(beam, length, axes, list(skeleton.ways(beam)), free, own, inner, passed, turn, whole)
