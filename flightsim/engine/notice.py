"""Whom the engine tells that it has to be compiled. Imports nothing of it: a command can ask before it needs it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

_told: list[Callable[[str], None]] = []


def tell_with(tell: Callable[[str], None]) -> None:
    """From now on the engine tells by this."""
    _told[:] = [tell]


@contextmanager
def telling_with(tell: Callable[[str], None]) -> Iterator[None]:
    """The engine tells by this for a while: a line of progress that is being redrawn has to make room first."""
    before = _told[:]
    tell_with(tell)
    try:
        yield
    finally:
        _told[:] = before


def tell(words: str) -> None:
    """Tell whoever listens."""
    for listener in _told:
        listener(words)
