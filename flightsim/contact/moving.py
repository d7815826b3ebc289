"""Balls on their way."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass
class Moving:
    """n balls between two arcs.

    shot `(n,)`: which; point, velocity, spin `(3, n)`; time, s, and longest, s, of the next arc `(n,)`; last `(n,)`:
    the part touched last, -1 for none; on `(n,)`: the part that a ball rolls on, -1 in the air; level `(3, n)`: that
    part's normal; slow `(n,)`: how many touches in a row were slow; since `(3, n)`: where the first of them was; past
    `(2, n)`: the parts that a ball has got past last, not there for it until it is clear of them, -1 for none; slipped
    `(n,)`: the part that it has got past and that no guard has made up for since, -1 for none, and slip `(n,)`, m/s:
    how fast, and edge `(n,)`: past which, as in Fates.
    """

    shot: Index
    point: Array
    velocity: Array
    spin: Array
    time: Array
    longest: Array
    last: Index
    on: Index
    level: Array
    slow: Index
    since: Array
    past: Index
    slipped: Index
    slip: Array
    edge: Index

    def __len__(self) -> int:
        return int(self.shot.size)

    @property
    def speed(self) -> Array:
        """How fast they are `(n,)`, m/s."""
        return np.asarray(np.sqrt((self.velocity * self.velocity).sum(axis=0)))

    def take(self, index: Index | NDArray[np.bool_]) -> Moving:
        """The balls at these places."""
        return Moving(*(getattr(self, column.name)[..., index] for column in fields(self)))

    def joined(self, other: Moving) -> Moving:
        """These balls, then the others."""
        pairs = ((getattr(self, column.name), getattr(other, column.name)) for column in fields(self))
        return Moving(*(np.concatenate(pair, axis=-1) for pair in pairs))
