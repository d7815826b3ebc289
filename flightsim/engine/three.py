"""Vectors of three numbers, as tuples: the compiler keeps them in registers."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from flightsim.engine.compiled import compiled

Vector: TypeAlias = tuple[float, float, float]


@compiled
def dot(a: Vector, b: Vector) -> float:
    """a . b."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@compiled
def cross(a: Vector, b: Vector) -> Vector:
    """a x b."""
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


@compiled
def plus(a: Vector, b: Vector) -> Vector:
    """a + b."""
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


@compiled
def minus(a: Vector, b: Vector) -> Vector:
    """a - b."""
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


@compiled
def times(a: Vector, factor: float) -> Vector:
    """a factor."""
    return a[0] * factor, a[1] * factor, a[2] * factor


@compiled
def length(a: Vector) -> float:
    """|a|."""
    return np.sqrt(a[0] * a[0] + a[1] * a[1] + a[2] * a[2])


@compiled
def three(numbers: np.ndarray, first: int) -> Vector:
    """The vector that begins at a place of a row."""
    return numbers[first], numbers[first + 1], numbers[first + 2]


@compiled
def put(numbers: np.ndarray, first: int, a: Vector) -> None:
    """Write a vector from a place of a row on."""
    numbers[first], numbers[first + 1], numbers[first + 2] = a[0], a[1], a[2]


@compiled
def fill(numbers: np.ndarray, value: float) -> None:
    """Write the same number all along a row."""
    for k in range(len(numbers)):
        numbers[k] = value


@compiled
def turned(numbers: np.ndarray, first: int, a: Vector) -> Vector:
    """The matrix whose rows begin at a place, times a."""
    return dot(three(numbers, first), a), dot(three(numbers, first + 3), a), dot(three(numbers, first + 6), a)


@compiled
def turned_back(numbers: np.ndarray, first: int, a: Vector) -> Vector:
    """The same matrix, transposed, times a."""
    x, y, z = three(numbers, first), three(numbers, first + 3), three(numbers, first + 6)
    return plus(plus(times(x, a[0]), times(y, a[1])), times(z, a[2]))
