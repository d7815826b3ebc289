"""Forces and deflection along one beam, from its ends and its loads: exact for a straight elastic beam.

Deflection is Hermite's cubic between the ends' movements, plus that of the same loads on a beam with both ends fixed
(W. C. Young, R. G. Budynas, Roark's Formulas for Stress and Strain, 7th ed., 2002, table 8.1, cases 1d and 2d).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.making.strength.analysis import BeamEnds
from flightsim.making.strength.skeleton import BeamLoad, LineLoad

Array = NDArray[np.float64]

STEPS = 24  # along a beam
BESIDE = 1e-9  # m: just before and just past a load


@dataclass(frozen=True)
class Along:
    """Along one beam under n load cases. distance `(k,)`: m from its start.

    axial (+ pulls), twist `(n, k)`: N, N m; shear, moment `(n, k, 2)`: across and about its own y and z, N and N m; sag
    `(n, k, 2)`: along its own y and z, from the straight line between its moved ends, m.
    """

    distance: Array
    axial: Array
    shear: Array
    twist: Array
    moment: Array
    sag: Array

    def largest_sag(self) -> float:
        """From the line between its ends, m, in any case."""
        return float(np.hypot(self.sag[..., 0], self.sag[..., 1]).max())

    def largest_moment(self) -> float:
        """About any axis across it, N m, in any case."""
        return float(np.hypot(self.moment[..., 0], self.moment[..., 1]).max())


def along(cases: Sequence[BeamEnds]) -> Along:
    """Forces and deflection of one beam under several load cases: at its ends, at its loads and between them."""
    length, axes = cases[0].length, cases[0].axes
    single = [(n, load.part * length, axes @ np.array(load.force)) for n, case in enumerate(cases)
              for load in case.loads if isinstance(load, BeamLoad)]  # fmt: skip
    near = [p + step for _, p, _ in single for step in (-BESIDE, 0.0, BESIDE)]
    distance = np.unique(np.clip([*np.linspace(0.0, length, STEPS + 1), *near], 0.0, length))
    even = np.array([_even(case) for case in cases]) @ axes.T
    f = np.array([case.forces for case in cases])[:, None, :]
    w, x = even[:, None, :], distance[None, :, None]
    inner = -f[..., :3] - w * x  # what the beam's start side does to the rest
    turn = np.concatenate([f[..., 4:5] + f[..., 2:3] * x, f[..., 5:6] - f[..., 1:2] * x], axis=2)
    turn += np.concatenate([w[..., 2:3], -w[..., 1:2]], axis=2) * x**2 / 2.0
    for n, p, force in single:
        inner[n] -= (distance > p)[:, None] * force
        turn[n] += np.maximum(distance - p, 0.0)[:, None] * np.array([force[2], -force[1]])
    twist = np.broadcast_to(-f[..., 3], inner.shape[:2])
    return Along(distance, inner[..., 0], inner[..., 1:], twist, turn, _sag(cases, distance, even, single))


def _even(case: BeamEnds) -> Array:
    """All even loads of a beam together `(3,)`, N/m, in the frame's axes."""
    forces = [load.force for load in case.loads if isinstance(load, LineLoad)]
    return np.asarray(np.array(forces, dtype=np.float64).reshape(-1, 3).sum(axis=0))


def _sag(cases: Sequence[BeamEnds], distance: Array, even: Array, single: Sequence[tuple[int, float, Array]]) -> Array:
    """Across the beam `(n, k, 2)`, from the line between its moved ends, m."""
    length, beam = cases[0].length, cases[0].beam
    m, u = np.array([case.movements for case in cases]), distance / length
    start_turn, end_turn = length * u * (1.0 - u) ** 2, -length * u**2 * (1.0 - u)
    chord = (m[:, 7:9] - m[:, 1:3]) / length
    first = np.column_stack([m[:, 5], -m[:, 4]]) - chord
    last = np.column_stack([m[:, 11], -m[:, 10]]) - chord
    found = start_turn[:, None] * first[:, None, :] + end_turn[:, None] * last[:, None, :]
    bending = np.array([beam.stiffness.about_z, beam.stiffness.about_y])
    found += _even_shape(distance, length)[:, None] * even[:, None, 1:] / bending
    for n, p, force in single:
        found[n] += _point_load_shape(distance, p, length)[:, None] * force[1:] / bending
    return np.asarray(found)


def _even_shape(distance: Array, length: float) -> Array:
    return distance**2 * (length - distance) ** 2 / 24.0


def _point_load_shape(distance: Array, a: float, length: float) -> Array:
    b = length - a
    first = b**2 * distance**2 * (3.0 * a * length - distance * (3.0 * a + b))
    back = length - distance
    last = a**2 * back**2 * (3.0 * b * length - back * (3.0 * b + a))
    return np.where(distance <= a, first, last) / (6.0 * length**3)
