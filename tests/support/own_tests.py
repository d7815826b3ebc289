"""Tests of arcs as a plugin compiles them, compiled where a test first asks for one: not while tests are collected."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from flightsim.contact.arc_test import CompiledTest, arc_test


def compiled_when_asked(function: Callable[..., float]) -> Callable[[], CompiledTest]:
    """What gives the compiled function, the same each time."""
    return cache(lambda: arc_test(function, cache=False))
