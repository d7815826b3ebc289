"""Where balls first met something."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Contacts:
    """Where each of n flights first met something.

    part `(n,)` int: index into bay.parts, -1 for none; opening `(n,)` int: index into bay.openings of the
    opening it left through, -1 for none, len(openings) when it left the room where no opening is known;
    time `(n,)`, s; point `(3, n)`, m, the ball centre; velocity `(3, n)`, m/s; normal `(3, n)`, unit, from the
    part toward the ball (or out of the opening); spin `(3, n)`, rad/s; failed `(n,)` bool: the flight could not
    be followed to an end. What a failed flight has is NaN.
    """

    part: Index
    opening: Index
    time: Array
    point: Array
    velocity: Array
    normal: Array
    spin: Array
    failed: NDArray[np.bool_]

    @classmethod
    def empty(cls, n: int) -> Contacts:
        """No contacts yet."""
        nothing = np.full(n, -1, dtype=np.intp)
        blank = np.full((3, n), np.nan)
        return cls(
            nothing,
            nothing.copy(),
            np.full(n, np.nan),
            blank,
            blank.copy(),
            blank.copy(),
            blank.copy(),
            np.zeros(n, dtype=bool),
        )

    def speed_of(self, chunk: slice = slice(None)) -> Array:
        """Speed at the contact `(n,)`, m/s."""
        return np.asarray(np.sqrt((self.velocity[:, chunk] ** 2).sum(axis=0)))

    def angle_of(self, chunk: slice = slice(None)) -> Array:
        """Angle between velocity and surface normal `(n,)`, rad, 0 for a square hit."""
        velocity, normal = self.velocity[:, chunk], self.normal[:, chunk]
        square = np.abs((velocity * normal).sum(axis=0))
        along = np.sqrt((np.cross(velocity, normal, axis=0) ** 2).sum(axis=0))
        return np.asarray(np.arctan2(along, square))
