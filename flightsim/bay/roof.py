"""The underside of a roof over a rectangular floor: flat, single-slope or gable.

Places are given as a tape gives them: s from the end wall, t from the left wall, z above the floor, all in m.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.walls import SLIVER, area, clip

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Roof:
    """The lowest of its planes: height z = a + b s + c t, rows (a, b, c) of planes `(k, 3)`; one or two."""

    planes: Array

    def height(self, s: Array | float, t: Array | float) -> Array:
        """Height of the underside above the floor, m."""
        s, t = np.broadcast_arrays(np.asarray(s, dtype=np.float64), np.asarray(t, dtype=np.float64))
        return np.asarray(np.min([a + b * s + c * t for a, b, c in self.planes], axis=0))

    def faces(self, lower: tuple[float, float], upper: tuple[float, float]) -> list[Array]:
        """The roof over the rectangle lower..upper (s, t), as flat pieces `(k, 3)` (s, t, z), one a plane."""
        (s0, t0), (s1, t1) = lower, upper
        floor = np.array([[s0, t0], [s1, t0], [s1, t1], [s0, t1]])
        pieces = []
        for k, plane in enumerate(self.planes):
            outline = floor
            for other in np.delete(self.planes, k, axis=0):
                outline = clip(outline, (plane - other)[1:], float((other - plane)[0]))
            if len(outline) >= 3 and area(outline) > SLIVER:
                pieces.append(np.column_stack([outline, self.height(*outline.T)]))
        return pieces

    def wall(self, start: tuple[float, float], end: tuple[float, float]) -> Array:
        """Outline `(k, 2)` of the wall from start to end (s, t): distance from the start, and height."""
        line = np.subtract(end, start)
        length = float(np.hypot(*line))
        ends = [0.0, length, *self._breaks(np.asarray(start, dtype=np.float64), line / length, length)]
        top = [(u, float(self.height(*(start + line * (u / length))))) for u in sorted(ends, reverse=True)]
        return np.array([(0.0, 0.0), (length, 0.0), *top])

    def _breaks(self, start: Array, along: Array, length: float) -> list[float]:
        """Where the ridge meets the line."""
        if len(self.planes) < 2:
            return []
        a, b, c = self.planes[0] - self.planes[1]
        slope = b * along[0] + c * along[1]
        u = -(a + b * start[0] + c * start[1]) / slope if slope else -1.0
        return [float(u)] if 1e-9 < u < length - 1e-9 else []


def flat_roof(height: float) -> Roof:
    """A roof of one height everywhere, m."""
    return Roof(np.array([[height, 0.0, 0.0]]))


def sloping_roof(span: float, start_height: float, end_height: float, axis: int) -> Roof:
    """From one height to another, m, over a span, m, along s (axis 0) or t (axis 1)."""
    plane = np.array([start_height, 0.0, 0.0])
    plane[1 + axis] = (end_height - start_height) / span
    return Roof(plane[None])


def gable_roof(span: float, eaves_height: float, ridge_height: float, axis: int) -> Roof:
    """Up from both eaves to a ridge in the middle of the span, m, that lies along s (axis 0) or t (axis 1)."""
    slope = (ridge_height - eaves_height) / (span / 2.0)
    up, down = np.array([eaves_height, 0.0, 0.0]), np.array([eaves_height + slope * span, 0.0, 0.0])
    up[2 - axis], down[2 - axis] = slope, -slope
    return Roof(np.stack([up, down]))
