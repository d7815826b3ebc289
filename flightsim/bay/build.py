"""Shapes as a builder says them: a flat sheet from its corners, a board from its face and thickness."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.shapes import Box, ConvexPolygon, rectangle

Array = NDArray[np.float64]


def sheet(corners: Array) -> Box | ConvexPolygon:
    """A flat sheet with these corners `(k, 3)`, m, in order: a rectangle where it is one, which is faster."""
    if len(corners) == 4:
        a, b = corners[1] - corners[0], corners[3] - corners[0]
        closes = np.abs(corners[0] + a + b - corners[2]).max() < 1e-12
        if closes and abs(float(a @ b)) < 1e-12:
            return rectangle(corners[0], a, b)
    return ConvexPolygon(corners)


def board(corner: Array, side_a: Array, side_b: Array, away: Array, thickness: float) -> Box:
    """A board whose face has this corner and these two sides `(3,)`, m; its body lies behind the face, on the
    side that `away` `(3,)` points to. A sheet when the thickness, m, is nought.
    """
    face = rectangle(corner, side_a, side_b)
    if thickness == 0.0:
        return face
    lengths = np.linalg.norm(side_a), np.linalg.norm(side_b)
    a, b = side_a / lengths[0], side_b / lengths[1]
    normal = np.cross(a, b)
    normal *= np.copysign(1.0, normal @ away)
    axes, half = np.stack([a, b, np.cross(a, b)]), np.array([*lengths, thickness]) / 2.0
    straight = np.abs(axes)
    if np.isin(straight, (0.0, 1.0)).all():  # along the room's axes: spare the rotation
        axes, half = np.eye(3), straight.T @ half
    return Box(face.centre + normal * (thickness / 2.0), axes, half)


def is_sheet(shape: object) -> bool:
    """Whether the shape has no thickness."""
    return isinstance(shape, ConvexPolygon) or (isinstance(shape, Box) and bool((shape.half == 0.0).any()))
