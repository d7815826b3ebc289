"""A folder that a run is at work in: held while it is, where the system can hold a folder."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

fcntl: Any
try:
    import fcntl
except ImportError:  # Windows has none
    fcntl = None

LEFT_BEHIND = 60.0  # s: what nobody holds and is older than this was left by a run that was killed
UNTOLD = 86_400.0  # s: the same, where no system says what is held; writing a result takes minutes


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold a folder, so that no other run takes it for a leftover. Raises OSError."""
    if fcntl is None:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def left_behind(folder: Path) -> bool:
    """Whether no run is at work in it any more. Raises OSError."""
    age = time.time() - folder.stat().st_mtime
    if fcntl is None:
        return age > UNTOLD
    if age <= LEFT_BEHIND:
        return False
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    finally:
        os.close(handle)
    return True
