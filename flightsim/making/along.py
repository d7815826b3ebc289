"""Forces and deflection along one beam, from its ends and its loads: exact for a straight elastic beam.

Deflection is Hermite's cubic between the ends' movements, plus that of the same loads on a beam with both ends fixed
(W. C. Young, R. G. Budynas, Roark's Formulas for Stress and Strain, 7th ed., 2002, table 8.1, cases 1d and 2d).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.making.analysis import BeamEnds
from flightsim.making.skeleton import BeamLoad, LineLoad

Array = NDArray[np.float64]

STEPS = 60  # along a beam


@dataclass(frozen=True)
class Along:
    """Along one beam `(k,)`: at, m from its start; axial (+ pulls), shears, N; twist, moments, N m; sag across it, m.

    sag `(k, 2)`: along its own y and z, from the straight line between its moved ends.
    """

    at: Array
    axial: Array
    shear: Array
    twist: Array
    moment: Array
    sag: Array

    def largest_sag(self) -> float:
        """From the line between its ends, m."""
        return float(np.hypot(*self.sag.T).max())


def along(ends: BeamEnds) -> Along:
    """Forces and deflection of a beam at its ends, at its loads and between them."""
    length = ends.length
    points = [load.at * length for load in ends.loads if isinstance(load, BeamLoad)]
    near = [p + step for p in points for step in (-1e-9, 0.0, 1e-9)]
    at = np.unique(np.clip(np.concatenate([np.linspace(0.0, length, STEPS + 1), near]), 0.0, length))
    f = ends.forces
    inner = np.tile(-f[:3], (len(at), 1))  # what the beam's start side does to the rest, at each place
    moment = np.column_stack([f[4] + f[2] * at, f[5] - f[1] * at])  # hogging parts follow below
    for load in ends.loads:
        force = ends.axes @ np.array(load.force)
        if isinstance(load, LineLoad):
            passed, arm = at[:, None] * force, at**2 / 2.0
        else:
            beyond = np.maximum(at - load.at * length, 0.0)
            passed, arm = (at > load.at * length)[:, None] * force, beyond
        inner -= passed
        moment += np.column_stack([arm * force[2], -arm * force[1]])
    return Along(at, inner[:, 0], inner[:, 1:], np.full(len(at), -f[3]), moment, _sag(ends, at))


def _sag(ends: BeamEnds, at: Array) -> Array:
    """Across the beam `(k, 2)`, from the line between its moved ends, m."""
    length, m = ends.length, ends.movements
    u = at / length
    start_turn, end_turn = length * u * (1.0 - u) ** 2, -length * u**2 * (1.0 - u)
    chord = np.array([m[7] - m[1], m[8] - m[2]]) / length
    turns = ((m[5] - chord[0], m[11] - chord[0]), (-m[4] - chord[1], -m[10] - chord[1]))
    found = np.column_stack([start_turn * first + end_turn * last for first, last in turns])
    bending = np.array([ends.beam.stiffness.about_z, ends.beam.stiffness.about_y])
    for load in ends.loads:
        force = (ends.axes @ np.array(load.force))[1:]
        shape = _even_shape(at, length) if isinstance(load, LineLoad) else _one_shape(at, load.at * length, length)
        found += shape[:, None] * force / bending
    return found


def _even_shape(at: Array, length: float) -> Array:
    return at**2 * (length - at) ** 2 / 24.0


def _one_shape(at: Array, a: float, length: float) -> Array:
    b = length - a
    first = b**2 * at**2 * (3.0 * a * length - at * (3.0 * a + b))
    back = length - at
    last = a**2 * back**2 * (3.0 * b * length - back * (3.0 * b + a))
    return np.where(at <= a, first, last) / (6.0 * length**3)
