"""How balls leave a part, as a table: over speed, slant, spin and place."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy.interpolate import RegularGridInterpolator

Array = NDArray[np.float64]

SHARE, SINK, HELD, PAST, UNKNOWN = 0, 7, 8, 9, 10
VALUES = 11


@dataclass(frozen=True, eq=False)
class LawTable:
    """How balls leave a part, between places of a table linear and beyond them held.

    speeds `(a,)`, m/s; slants `(b,)`, rad between the ball's way and the face's normal; over and along `(c,)`, `(d,)`:
    spin ratios, radius times spin over speed, of topspin that carries the ball on along the face, and of spin about
    its way along it; places `(e,)` and `(f,)`, m, along the room's axes `axes`: one place where the law is the same all
    over. values `(a, b, c, d, e, f, 9)`: of the speed that it came with, the velocity out of the face, on along it, and
    square to both; of the same over the radius, the change of spin about these; sink, m; and 1 where it gets past, and
    where nobody knows. Slower hits than the first of speeds go by the part's facing.
    """

    speeds: Array
    slants: Array
    over: Array
    along: Array
    places: tuple[Array, Array]
    axes: tuple[int, int]
    values: Array
    error: float = 0.0

    def __post_init__(self) -> None:
        sizes = tuple(len(axis) for axis in self.grid)
        if self.values.shape != (*sizes, VALUES):
            raise ValueError(f"the table's values have the shape {self.values.shape}; it must be {(*sizes, VALUES)}")
        if not np.isfinite(self.values).all():
            raise ValueError("the table's values must be finite")
        if not all(np.isfinite(axis).all() and (np.diff(axis) > 0.0).all() for axis in self.grid):
            raise ValueError("the table's axes must be finite and rise")
        if self.values[..., SINK].min() < 0.0 or not np.isin(self.values[..., HELD:], (0.0, 1.0)).all():
            raise ValueError("the table's sink must not be below nought, and held, past and unresolved must be 0 or 1")
        if not self.speeds[0] > 0.0:
            raise ValueError("the table's speeds must be above nought")

    @property
    def grid(self) -> tuple[Array, ...]:
        """The axes, in the order of values."""
        return self.speeds, self.slants, self.over, self.along, *self.places

    @cached_property
    def _between(self) -> RegularGridInterpolator:
        from scipy.interpolate import RegularGridInterpolator  # no start waits for it

        axes = [axis if len(axis) > 1 else np.array([axis[0], axis[0] + 1.0]) for axis in self.grid]
        axes[0] = np.log(axes[0])
        values = self.values
        for k, axis in enumerate(self.grid):
            values = np.repeat(values, 2, axis=k) if len(axis) == 1 else values
        return RegularGridInterpolator(axes, values, bounds_error=False, fill_value=None)

    def at(self, where: Array) -> Array:
        """The values `(n, 11)` at speeds, slants, spins and places `(n, 6)`."""
        held = np.stack([np.clip(x, axis[0], axis[-1]) for x, axis in zip(where.T, self.grid, strict=True)], axis=1)
        held[:, 0] = np.log(held[:, 0])
        return np.asarray(self._between(held))
