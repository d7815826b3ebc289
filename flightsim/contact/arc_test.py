"""A test of one arc that a plugin compiles itself, for a part whose touch no distance tells."""

from __future__ import annotations

import ctypes
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

# The path is a polynomial of tau, 0 to 1 along the arc: coefficient k of axis i at path[3 k + i], m.
SIGNATURE = "float64(CPointer(float64), int64, float64, float64, float64, float64, CPointer(float64))"
C_TYPE = ctypes.CFUNCTYPE(
    ctypes.c_double, ctypes.c_void_p, ctypes.c_int64, ctypes.c_double, ctypes.c_double, ctypes.c_double,
    ctypes.c_double, ctypes.c_void_p,
)  # fmt: skip


class CompiledTest(Protocol):
    """A function that numba has compiled for C."""

    @property
    def address(self) -> int:
        """Where it stands in memory."""
        ...


@dataclass(frozen=True, eq=False)
class ArcTest:
    """A plugin's own test of each arc against one of its parts. test: see `arc_test`."""

    part: str
    test: CompiledTest


def arc_test(function: Callable[..., float] | None = None, *, cache: bool = True) -> Any:
    """Compile a function of one arc: test(path, terms, duration, radius, tau, until, normal) -> when.

    path: coefficients of the ball's centre, m, as `SIGNATURE` says, `terms` of them an axis; duration, s; radius of the
    ball, m. Return the first tau, from `tau` to `until`, at which the ball touches the part, and write the unit normal
    from the part toward the ball to normal[0] to normal[2]; return inf where it never does, and NaN where that cannot
    be said: the ball is then unresolved. A ball that separates from the part at `tau` does not touch it then.
    cache: keep what was compiled beside the plugin's file, if that can be written.
    """
    import numba

    def compile_it(test: Callable[..., float]) -> Any:
        compile_for_c: Any = numba.cfunc(SIGNATURE, cache=cache)
        return compile_for_c(test)

    return compile_it if function is None else compile_it(function)
