"""A plugin's own test of one arc, called by where it stands in memory: see `flightsim.contact.arc_test`."""

from __future__ import annotations

from typing import Any

import numba
import numpy as np
from llvmlite import ir
from numba.core import types
from numba.extending import intrinsic

from flightsim.contact.arc_test import C_TYPE
from flightsim.engine.arc import DURATION, SCRATCH, TERMS, coefficients_at
from flightsim.engine.compiled import compiled
from flightsim.engine.three import Vector, put, three

_config: Any = numba.config
NUMBER = 8  # bytes
AS_GIVEN = SCRATCH + 3  # the path with its axes side by side: coefficient k of axis i at 3 k + i
FROM_SCRATCH, FROM_PATH = NUMBER * int(SCRATCH), NUMBER * int(AS_GIVEN)


def _in_python(
    address: int, path: int, terms: int, duration: float, radius: float, tau: float, until: float, out: int
) -> float:
    """Call the function at an address; path and out are addresses too."""
    return float(C_TYPE(address)(path, terms, duration, radius, tau, until, out))


def _compiled_call(
    typing: Any, address: Any, path: Any, terms: Any, duration: Any, radius: Any, tau: Any, until: Any, out: Any
) -> Any:
    """The same, written into the compiled code."""
    whole, number = types.int64, types.float64

    def make(context: Any, builder: Any, signature: Any, given: Any) -> Any:
        double, integer = ir.DoubleType(), ir.IntType(64)
        pointer = double.as_pointer()
        kind = ir.FunctionType(double, [pointer, integer, double, double, double, double, pointer])
        function = builder.inttoptr(given[0], kind.as_pointer())
        return builder.call(
            function, [builder.inttoptr(given[1], pointer), *given[2:7], builder.inttoptr(given[7], pointer)]
        )

    return number(whole, whole, whole, number, number, number, number, whole), make


_call_there: Any = _in_python if _config.DISABLE_JIT else intrinsic(_compiled_call)


@compiled
def own_test(address: int, arc: np.ndarray, tau: float, until: float, radius: float) -> tuple[float, Vector]:
    """When from tau on, up to `until`, the test says that the ball touches, and the unit normal it gave."""
    begins = np.int64(arc.ctypes.data)
    for k in range(TERMS):
        put(arc, AS_GIVEN + 3 * k, coefficients_at(arc, k))
    arc[SCRATCH] = arc[SCRATCH + 1] = arc[SCRATCH + 2] = 0.0
    when = _call_there(address, begins + FROM_PATH, TERMS, arc[DURATION], radius, tau, until, begins + FROM_SCRATCH)
    return when, three(arc, SCRATCH)
