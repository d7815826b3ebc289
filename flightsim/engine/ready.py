"""The engine made ready: loaded from its cache, or compiled and told so."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numba

from flightsim.engine import cache, notice

COMPILING = "Compiling the engine, which takes some 20 s, once on this machine and for this version."
NOT_KEPT = (
    "Compiling the engine, which takes some 20 s: at every start, since the cache folder cannot be written. "
    "Set XDG_CACHE_HOME to a folder that can."
)
_config: Any = numba.config
_done: list[bool] = []


def make_ready(compile_it: Callable[[], object]) -> None:
    """Load or compile, once a process. compile_it: calls every entry once. A cache that does not load is cleared."""
    if _done or _config.DISABLE_JIT:
        return
    if cache.is_sound():
        try:
            compile_it()
        except Exception:  # noqa: BLE001 - whatever is wrong with it, it is compiled again
            cache.clear()
        else:
            _done.append(True)
            return
    cache.clear()
    notice.tell(NOT_KEPT if cache.FOLDER is None else COMPILING)
    compile_it()
    cache.seal()
    _done.append(True)
