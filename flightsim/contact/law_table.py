"""How balls leave a part, as a table: over speed, slant, spin and place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SHARE, SINK, HELD, PAST, UNKNOWN = 0, 7, 8, 9, 10
VALUES = 11
HELD_KIND, LEAVES_KIND, PAST_KIND, UNKNOWN_KIND = range(4)  # the worse the greater


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

    def values_at(self, where: Array) -> Array:
        """The values `(n, 11)` at speeds, slants, spins and places `(n, 6)`, as the engine has them: linear between the
        corners of the worst kind.
        """
        cells, shares = zip(
            *(_in_cells(k, x, axis) for k, (x, axis) in enumerate(zip(where.T, self.grid, strict=True))), strict=True
        )
        corners = np.stack(np.meshgrid(*([0, 1],) * len(self.grid), indexing="ij"), axis=-1).reshape(-1, len(self.grid))
        weights, kinds, found = [], [], []
        for far in corners:
            weights.append(np.prod([share if f else 1.0 - share for f, share in zip(far, shares, strict=True)], axis=0))
            index = (np.minimum(cell + f, len(axis) - 1) for f, cell, axis in zip(far, cells, self.grid, strict=True))
            found.append(self.values[tuple(index)])
            kinds.append(np.where(weights[-1] > 0.0, kind_of(found[-1]), HELD_KIND))
        counted = np.array(weights) * (np.array(kinds) == np.max(kinds, axis=0))
        return np.asarray(np.einsum("cn,cnv->nv", counted / counted.sum(axis=0), np.array(found)))


def kind_of(values: Array) -> NDArray[np.intp]:
    """Of values `(n, 11)` what becomes of the balls, the worse the greater: held, leaves, gets past, nobody knows."""
    held, past, unknown = (values[:, k] > 0.0 for k in (HELD, PAST, UNKNOWN))
    return np.select([unknown, past, held], [UNKNOWN_KIND, PAST_KIND, HELD_KIND], LEAVES_KIND)


def _in_cells(number: int, x: Array, axis: Array) -> tuple[NDArray[np.intp], Array]:
    """Of each x `(n,)` the cell of an axis that it lies in, and how far on in it; the first axis goes by logarithms."""
    cell = np.clip(np.searchsorted(axis, x, side="right") - 1, 0, max(len(axis) - 2, 0))
    if len(axis) == 1:
        return cell, np.zeros(len(x))
    low, high = axis[cell], axis[cell + 1]
    share = np.log(x / low) / np.log(high / low) if number == 0 else (x - low) / (high - low)
    return cell, np.clip(share, 0.0, 1.0)
