"""Checks of single values that plugins hand over; each blames the plugin by name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from flightsim.plugin.loading import Loaded

Array = NDArray[np.float64]
T = TypeVar("T")

UNIT = 1.0e-6  # how far a unit normal's length may be from 1


def check_array(plugin: Loaded, where: str, array: object, shape: tuple[int | None, ...], dtype: Any) -> None:
    """An array of this shape (None: any length) and dtype, finite throughout."""
    wanted = f"a numpy array of shape {tuple('any' if size is None else size for size in shape)}".replace("'", "")
    if not isinstance(array, np.ndarray):
        raise plugin.blame(f"{where}: {kind_of(array)}; it must be {wanted}")
    fits = len(shape) == array.ndim and all(s is None or s == a for s, a in zip(shape, array.shape, strict=True))
    if not fits:
        raise plugin.blame(f"{where}: shape {array.shape}; it must be {wanted}")
    if not np.issubdtype(array.dtype, dtype):
        raise plugin.blame(
            f"{where}: dtype {array.dtype}; it must be {np.dtype(dtype) if dtype is np.float64 else 'int'}"
        )
    if not np.isfinite(array).all():
        raise plugin.blame(f"{where}: {int((~np.isfinite(array)).sum())} of {array.size} values are NaN or infinite")


def check_unit(plugin: Loaded, where: str, normal: Array) -> None:
    """Unit vectors, along the first axis."""
    length = np.sqrt((normal * normal).sum(axis=0))
    off = np.abs(length - 1.0) > UNIT
    if off.any():
        raise plugin.blame(
            f"{where}: must have length 1, found {float(np.atleast_1d(length)[np.atleast_1d(off)][0]):g}"
        )


def all_are(plugin: Loaded, where: str, items: object, kind: type[T]) -> Sequence[T]:
    """A list or tuple that holds nothing but this kind."""
    if not isinstance(items, Sequence) or isinstance(items, (str, bytes)):
        raise plugin.blame(f"{where}: {kind_of(items)}; it must be a list or tuple of {kind.__name__}")
    for item in items:
        if not isinstance(item, kind):
            raise plugin.blame(f"{where}: holds {kind_of(item)}; all must be {kind.__name__}")
    return items


def kind_of(value: object) -> str:
    """What a thing is, in words."""
    return "None" if value is None else f"a {type(value).__name__}"


def check_bounds(plugin: Loaded, bounds: object, where: str = "flightsim_parts") -> None:
    """Lower and upper corner of a box, each `(3,)`, finite."""
    if not (isinstance(bounds, tuple) and len(bounds) == 2):
        raise plugin.blame(f"{where}: bounds must be a lower and an upper corner, found {kind_of(bounds)}")
    for corner in bounds:
        check_array(plugin, f"{where}: bounds", corner, (3,), np.float64)
    if not (bounds[0] <= bounds[1]).all():
        raise plugin.blame(f"{where}: the lower corner of its bounds lies above the upper one")


def read_only(array: NDArray[Any]) -> NDArray[Any]:
    """A view that cannot be written through, unless somebody marks it writeable: strangers get one of a copy."""
    view = array.view()
    view.flags.writeable = False
    return view
