"""A tuple handed on by where it stands is the tuple: every field, also of a tuple in it, and what is written to it."""

from typing import NamedTuple

import numpy as np

from flightsim.engine.by_reference import by_reference
from flightsim.engine.compiled import _OPTIONS, _njit, compiled


class Inner(NamedTuple):
    """A row of whole numbers."""

    marks: np.ndarray


class Outer(NamedTuple):
    """A table, a tuple, and one number."""

    rows: np.ndarray
    inner: Inner
    scale: float


@compiled
def _last_mark(inner: Inner) -> int:
    """The last of the marks; it becomes 7."""
    found = inner.marks[len(inner.marks) - 1]
    inner.marks[len(inner.marks) - 1] = 7
    return found


@compiled
def _weighed(outer: Outer, k: int) -> float:
    """A row's sum times the scale, and its mark; its first number is doubled."""
    total = outer.scale * outer.rows[k].sum() + _last_mark(outer.inner)
    outer.rows[k, 0] *= 2.0
    return total


def _both(outer: Outer, k: int) -> tuple[float, float]:
    """By where it stands, and by value."""
    place = by_reference(outer)
    return _weighed(place, k), _weighed(outer, k)


def test_what_is_handed_on_by_reference_reads_and_writes_the_same_arrays() -> None:
    outer = Outer(np.arange(6.0).reshape(2, 3), Inner(np.array([1, 2, 30])), 0.5)
    by_place, by_value = _njit(**_OPTIONS)(_both)(outer, 1)
    assert by_place == 0.5 * (3 + 4 + 5) + 30
    assert by_value == 0.5 * (6 + 4 + 5) + 7  # it sees what the first has written
    assert outer.rows[1, 0] == 12.0
    assert outer.inner.marks.tolist() == [1, 2, 7]
