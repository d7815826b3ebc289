"""How the engine's functions are compiled."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """Compile a function at its first call. No fastmath: results are the same on every machine that rounds alike.

    Dividing by nought gives inf or NaN, as in numpy: what cannot be decided ends as unresolved, not as a crash.
    """
    return cast(F, numba.njit(nogil=True, error_model="numpy")(function))
