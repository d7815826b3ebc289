"""How a head is delivered to the ball, and the axes that it brings along."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.strike.vectors import times, transposed_times

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Delivery:
    """n deliveries, each field `(n,)`, as a right-hander's.

    speed, m/s; attack (+ up), path and face (+ right), loft (elevation of the face's normal), rad; toe: strike toward
    the toe from the middle of the face, m; up: strike above the intended point of the face, m, for a driver; edge:
    height of the leading edge above the mat, m, for all other clubs.
    """

    speed: Array
    attack: Array
    path: Array
    face: Array
    loft: Array
    toe: Array
    up: Array
    edge: Array

    def __len__(self) -> int:
        return len(self.speed)

    def take(self, index: NDArray[np.intp] | slice) -> Delivery:
        """The deliveries at these places."""
        return Delivery(*(getattr(self, name)[index] for name in self.__dataclass_fields__))

    def head_velocity(self) -> Array:
        """Velocity of the head `(3, n)`, m/s."""
        level = self.speed * np.cos(self.attack)
        velocity = np.empty((3, len(self)))
        np.multiply(level, np.cos(self.path), out=velocity[0])
        np.multiply(level, -np.sin(self.path), out=velocity[1])
        np.multiply(self.speed, np.sin(self.attack), out=velocity[2])
        return velocity


def head_axes(face: Array, loft: Array) -> Array:
    """Columns out of the face, toward the heel, up, `(3, 3, n)`: the head's axes turn with face and loft."""
    sin_f, cos_f, sin_l, cos_l = np.sin(face), np.cos(face), np.sin(loft), np.cos(loft)
    axes = np.empty((3, 3, len(sin_f)))
    axes[:, 0] = cos_l * cos_f, -cos_l * sin_f, sin_l
    axes[:, 1] = sin_f, cos_f, np.zeros_like(sin_f)
    axes[:, 2] = -sin_l * cos_f, sin_l * sin_f, cos_l
    return axes


def to_head(axes: Array, vectors: Array) -> Array:
    """Vectors `(3, n)` of the bay in the head's axes."""
    return transposed_times(axes, vectors)


def to_bay(axes: Array, vectors: Array) -> Array:
    """Vectors `(3, n)` of the head's axes in the bay's."""
    return times(axes, vectors)


def to_level(loft: Array, vectors: Array) -> Array:
    """Vectors `(3, n)` of the head's axes in axes that turn with the face but stay level."""
    return _lifted(np.cos(loft), np.sin(loft), vectors)


def from_level(loft: Array, vectors: Array) -> Array:
    """Vectors `(3, n)` of axes that turn with the face but stay level, in the head's axes."""
    return _lifted(np.cos(loft), -np.sin(loft), vectors)


def _lifted(cos: Array, sin: Array, v: Array) -> Array:
    lifted = np.empty(v.shape)
    np.subtract(cos * v[0], sin * v[2], out=lifted[0])
    lifted[1] = v[1]
    np.add(sin * v[0], cos * v[2], out=lifted[2])
    return lifted
