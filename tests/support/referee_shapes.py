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
PAST_BOX, HAIR = 1e-3, 1e-9  # m past the room's box it has left it; m before that, carried by cloth
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
            time = first_below(gap, times, row, i)
            if time is None:
                return found
            begin = time
            i = int(np.searchsorted(times, time, side="right"))
        out = first_below(lambda t: -gap(t), np.concatenate([[begin + 1e-12], times[i:]]),
                          -np.concatenate([[-1e-15], row[i:]]))  # fmt: skip
        if out is None:
            found.append((begin, float(times[-1])))
            return found
        found.append((begin, out))
        i = int(np.searchsorted(times, out, side="right"))
        if i >= len(times) - 1:
            return found


def ways_out(bay) -> list[tuple[np.ndarray, float, int]]:
    """Planes that the room ends at: outward, how far out, m, and through which opening; one more for none."""
    ways = [(o.normal, float(o.normal @ o.corners[0]), k) for k, o in enumerate(bay.openings)]
    for axis in range(3):
        for sign, face in ((1.0, bay.upper[axis]), (-1.0, bay.lower[axis])):
            ways.append((sign * np.eye(3)[axis], sign * float(face) + PAST_BOX, len(bay.openings)))
    return ways


def carried_out(bay, point: np.ndarray, way: np.ndarray) -> float:
    """At which share of a straight way, a hair less, a ball's centre leaves the room; 1 for never."""
    first = 1.0
    for outward, offset, k in ways_out(bay):
        room, rate = offset - float(outward @ point), float(outward @ way)
        if not rate > room > 0.0:
            continue
        leaves_at = point + way * (room / rate)
        if k == len(bay.openings) or distance_to(bay.openings[k].shape)(leaves_at[:, None])[0] <= 1e-6:
            first = min(first, max(room - HAIR, 0.0) / rate)
    return first
