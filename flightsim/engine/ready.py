"""The engine made ready: loaded from its cache, or compiled, which is announced."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numba

from flightsim.engine import notice
from flightsim.engine.cache import ENGINE, Kept
from flightsim.errors import compiling, stop_if_asked

_COST = "some 20 s of one processor in all"
COMPILING = f"Compiling the engine: {_COST}; once on this machine and for this version."
NOT_KEPT = (
    f"Compiling the engine: {_COST}; at every start, since the cache folder cannot be written. "
    "Set XDG_CACHE_HOME to a folder that can."
)
_config: Any = numba.config
_done: set[Kept] = set()


def make_ready(compile_it: Callable[[], object], kept: Kept = ENGINE, announced: bool = True) -> None:
    """Load or compile, once a process. compile_it: calls every entry once; kept: the folder of what they become.

    announced: compiling takes so long that it is said. A cache that does not load is cleared.
    """
    if kept in _done or _config.DISABLE_JIT:
        return
    if kept.is_sound():
        try:
            with compiling():
                compile_it()
        except Exception:  # noqa: BLE001 - whatever is wrong with it, it is compiled again
            kept.clear()
        else:
            _done.add(kept)
            return
    kept.clear()
    if announced:
        notice.tell(NOT_KEPT if kept.folder is None else COMPILING)
    with compiling():
        compile_it()
    stop_if_asked()
    kept.seal()
    _done.add(kept)
