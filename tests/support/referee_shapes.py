"""Distances to single shapes, for the referee: those of scipy_loop, one shape at a time, and where a path meets one."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace

import numpy as np
from scipy.optimize import brentq, minimize_scalar
from scipy_loop import Surfaces
from scipy_rebounds import Faces

from flightsim.bay.shapes import block

Distance = Callable[[np.ndarray], np.ndarray]
Path = Callable[[np.ndarray], np.ndarray]
_FAR = SimpleNamespace(name="", shape=block(np.full(3, 1e6), np.full(3, 1e6 + 1.0)))  # Surfaces want a box


def distance_to(shape) -> Distance:
    """Distances `(n,)`, m, of points `(3, n)` to this shape."""
    if type(shape).__name__ == "Box":
        faces = Faces(SimpleNamespace(parts=(SimpleNamespace(name="", shape=shape),)))
        return lambda points: faces.of(0, points)
    return lambda points: Surfaces._other(type(shape).__name__, shape, points)


def all_of(parts) -> Faces:
    """Distances to all of these parts; the last box is one that nothing reaches."""
    return Faces(SimpleNamespace(parts=(*parts, _FAR)))


def normal_of(distance: Distance, point: np.ndarray, h: float = 2e-6) -> np.ndarray:
    """From the shape toward the point: the numerical gradient of the distance."""
    around = point[:, None] + h * np.hstack([np.eye(3), -np.eye(3)])
    d = distance(around)
    n = d[:3] - d[3:]
    return n / np.linalg.norm(n)


def first_below(gap: Callable[[float], float], times: np.ndarray, row: np.ndarray, first: int = 0) -> float | None:
    """When a sampled gap first closes, dips between samples included; None for never."""
    for i in range(first, len(row) - 1):
        if row[i] > 0 >= row[i + 1]:
            return float(brentq(gap, times[i], times[i + 1], xtol=1e-14))
        if i > first and row[i - 1] > row[i] < row[i + 1]:
            low = minimize_scalar(gap, bounds=(times[i - 1], times[i + 1]), method="bounded", options={"xatol": 1e-12})
            if low.fun < 0:
                return float(brentq(gap, times[i - 1], low.x, xtol=1e-14))
    return None


def inside(distance: Distance, path: Path, times: np.ndarray, radius: float) -> list[tuple[float, float]]:
    """From when to when the path comes within a radius of a shape, passage by passage."""

    def gap(t: float) -> float:
        return float(distance(path(t)[:3, None])[0]) - radius

    row = distance(path(times)[:3]) - radius
    found, i, begin = [], 0, 0.0
    while True:
        if row[i] <= 0.0:
            begin = float(times[i])
        else:
            at = first_below(gap, times, row, i)
            if at is None:
                return found
            begin = at
            i = int(np.searchsorted(times, at, side="right"))
        out = first_below(lambda t: -gap(t), np.concatenate([[begin + 1e-12], times[i:]]),
                          -np.concatenate([[-1e-15], row[i:]]))  # fmt: skip
        if out is None:
            found.append((begin, float(times[-1])))
            return found
        found.append((begin, out))
        i = int(np.searchsorted(times, out, side="right"))
        if i >= len(times) - 1:
            return found
