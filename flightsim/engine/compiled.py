"""How the engine's functions are compiled."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import Any, TypeVar, cast

import numba
import numpy as np

from flightsim.engine import cache

_linked: dict[str, Any] = {}
with suppress(ImportError, AttributeError):  # a newer numba may not have what it rests on
    from flightsim.engine.linking import CalledCompiler

    _linked["pipeline_class"] = CalledCompiler

_njit: Any = numba.njit
_config: Any = numba.config
F = TypeVar("F", bound=Callable[..., object])

# No fastmath: results are the same on every machine that rounds alike. Dividing by nought gives inf or NaN, as in
# numpy: what cannot be decided ends as unresolved, not as a crash. No references are counted: the caller makes all
# arrays.
_OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy", "_nrt": False, "no_cfunc_wrapper": True}
_CALLED: dict[str, Any] = {**_OPTIONS, "no_cpython_wrapper": True}
KNOWN = (0, 68)  # the newest numba whose insides are known: with a newer one compiling takes twice as long


def how_called(numba_version: tuple[int, ...]) -> dict[str, Any]:
    """How what only compiled functions call is compiled by this numba."""
    return _CALLED if numba_version[:2] > KNOWN else {**_CALLED, **_linked}


_called = how_called(tuple(map(int, numba.__version__.split(".")[:2])))


def compiled(function: F) -> F:
    """Compile a function for other compiled ones to call; Python cannot, which spares most of the compiling."""
    return cast(F, _njit(**_called)(function))


def inlined(function: F) -> F:
    """The same, written into each function that calls it: for small ones that would be handed many arrays."""
    return cast(F, _njit(forceinline=True, **_called)(function))


def entry(function: F) -> F:
    """Compile a function for Python to call; what comes of it is kept in the engine's cache folder, if it can be."""
    return entry_in(cache.ENGINE)(function)


def entry_in(kept: cache.Kept) -> Callable[[F], F]:
    """Compile a function for Python to call; what comes of it is kept in this folder, if it can be."""

    def compile_it(function: F) -> F:
        if kept.folder is None or _config.DISABLE_JIT:
            return cast(F, _njit(**_OPTIONS)(function))
        # numba asks where to keep it while it decorates; the user's own NUMBA_CACHE_DIR is for the user's functions.
        users, _config.CACHE_DIR = _config.CACHE_DIR, str(kept.folder)
        try:
            return cast(F, _njit(cache=True, **_OPTIONS)(function))
        finally:
            _config.CACHE_DIR = users

    return compile_it


def place(number: int) -> int:
    """A number that the compiler does not know by its value: one compiled function then serves all places of a row."""
    return cast(int, np.int64(number))


NONE = place(-1)  # no part, no zone, no opening
