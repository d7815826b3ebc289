"""How the engine's functions are compiled."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

import numba
import numpy as np

F = TypeVar("F", bound=Callable[..., object])

# No fastmath: results are the same on every machine that rounds alike. Dividing by nought gives inf or NaN, as in numpy:
# what cannot be decided ends as unresolved, not as a crash. No references are counted: all arrays are made by the caller.
_OPTIONS = {"nogil": True, "error_model": "numpy", "_nrt": False}


def compiled(function: F) -> F:
    """Compile a function for other compiled ones to call; Python cannot, which spares half of the compiling."""
    return cast(F, numba.njit(no_cpython_wrapper=True, no_cfunc_wrapper=True, **_OPTIONS)(function))


def entry(function: F) -> F:
    """Compile a function for Python to call."""
    return cast(F, numba.njit(no_cfunc_wrapper=True, **_OPTIONS)(function))


def place(number: int) -> int:
    """A number that the compiler does not know by its value: one compiled function then serves all places of a row."""
    return cast(int, np.int64(number))


NONE = place(-1)  # no part, no zone, no opening
