"""Whom the engine tells that it has to be compiled. Imports nothing of it: a command can ask before it needs it."""

from __future__ import annotations

from collections.abc import Callable

_told: list[Callable[[str], None]] = []


def tell_with(tell: Callable[[str], None]) -> None:
    """From now on the engine tells by this."""
    _told[:] = [tell]


def tell(words: str) -> None:
    """Tell whoever listens."""
    for listener in _told:
        listener(words)
