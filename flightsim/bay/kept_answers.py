"""Answers about shapes that are kept: a bay that is opened again with one change asks the same of all else again."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import fields
from functools import cache, wraps
from typing import Any, ParamSpec, TypeVar, cast

import numpy as np

from flightsim.bay.shapes import Box, Capsule, ConvexPolygon, HalfSpace, RoundTube

P = ParamSpec("P")
T = TypeVar("T")
MOST = 20_000  # answers a question

_NONE = object()
_KNOWN: set[type] = {Box, Capsule, ConvexPolygon, HalfSpace, RoundTube}


def by_value(kind: type[T]) -> type[T]:
    """Mark a dataclass whose fields alone say what it answers, as ours of simple shapes do."""
    _KNOWN.add(kind)
    return kind


def kept_by_value(question: Callable[P, T]) -> Callable[P, T]:
    """A function of shapes and numbers, whose answers are kept by their values. Arrays in answers are read-only.

    A shape that is none of ours may answer otherwise next time: it is asked each time.
    """
    kept: OrderedDict[Hashable, Any] = OrderedDict()

    @wraps(question)
    def answered(*given: P.args, **named: P.kwargs) -> T:
        key = value_of((given, tuple(named.items())))
        if key is None:
            return question(*given, **named)
        answer: Any = kept.get(key, _NONE)
        if answer is _NONE:
            answer = question(*given, **named)
            for each in answer if isinstance(answer, tuple) else (answer,):
                if isinstance(each, np.ndarray):
                    each.flags.writeable = False
            kept[key] = answer
            if len(kept) > MOST:
                kept.popitem(last=False)
        return cast(T, answer)

    return answered


def value_of(value: Any) -> Hashable | None:
    """What two things of the same value share, through and through; None for what nobody knows through and through."""
    if isinstance(value, bool | int | float | str):
        return type(value), value
    if isinstance(value, np.ndarray):
        return value.shape, value.dtype.str, value.tobytes()
    if isinstance(value, tuple):
        inside = tuple(value_of(each) for each in value)
        return None if None in inside else inside
    kind = type(value)
    if kind not in _KNOWN:
        return None
    inside = tuple(value_of(getattr(value, name)) for name in _given(cast(Hashable, kind)))
    return None if None in inside else (kind, inside)


def says_all(kind: type) -> tuple[str, ...] | None:
    """The fields of a dataclass that alone say what it answers; None for one of which nobody knows that."""
    return _given(cast(Hashable, kind)) if kind in _KNOWN else None


@cache
def _given(kind: Any) -> tuple[str, ...]:
    """The names of the fields of a dataclass that its maker gives."""
    return tuple(each.name for each in fields(kind) if each.init)
