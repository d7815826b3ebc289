"""Flat outlines and the holes in them: a wall with a door in it becomes convex pieces.

Outlines are convex, `(k, 2) float`, m, in the wall's own plane, corners in order around.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SLIVER = 1.0e-9  # m2: less is no piece


@dataclass(frozen=True)
class Hole:
    """A rectangle cut out of a wall: lower and upper corner in the wall's plane, m."""

    name: str
    lower: tuple[float, float]
    upper: tuple[float, float]


@dataclass(frozen=True)
class Piece:
    """What is left of a wall beside its holes. where: "above the side door", empty for the whole wall."""

    where: str
    outline: Array


def area(outline: Array) -> float:
    """Area of an outline, m2 (shoelace formula)."""
    u, v = outline.T
    return abs(float((u * np.roll(v, -1) - np.roll(u, -1) * v).sum())) / 2.0


def clip(outline: Array, normal: Array, offset: float) -> Array:
    """The part of a convex outline where normal . p <= offset (Sutherland, Hodgman 1974, CACM 17)."""
    depth = outline[:, : len(normal)] @ normal - offset
    kept: list[Array] = []
    for k, corner in enumerate(outline):
        before = k - 1
        if (depth[before] < 0.0 < depth[k]) or (depth[k] < 0.0 < depth[before]):
            share = depth[before] / (depth[before] - depth[k])
            kept.append(outline[before] + share * (corner - outline[before]))
        if depth[k] <= 0.0:
            kept.append(corner)
    return np.array(kept).reshape(-1, outline.shape[1])


def inside(outline: Array, hole: Hole) -> Array:
    """The part of a hole that lies in the outline: no corners where there is none."""
    for axis, sign, limit in _sides(hole):
        outline = clip(outline, sign * np.eye(2)[axis], sign * limit)
    return outline if len(outline) >= 3 and area(outline) > SLIVER else np.empty((0, 2))


def cut(outline: Array, holes: Sequence[Hole]) -> list[Piece]:
    """Convex pieces that fill the outline beside its holes, without overlaps.

    Walking along the first axis, a piece is before a hole, past it, below or above it. Holes may not overlap.
    """
    pieces = [Piece("", outline)]
    for hole in sorted(holes, key=lambda h: (h.lower, h.name)):
        pieces = [rest for piece in pieces for rest in _around(piece, hole)]
    return pieces


def _around(piece: Piece, hole: Hole) -> list[Piece]:
    if not len(inside(piece.outline, hole)):
        return [piece]
    rest, found = piece.outline, []
    for (axis, sign, limit), word in zip(_sides(hole), ("before", "past", "below", "above"), strict=True):
        outer = clip(rest, -sign * np.eye(2)[axis], -sign * limit)
        rest = clip(rest, sign * np.eye(2)[axis], sign * limit)
        if len(outer) >= 3 and area(outer) > SLIVER:
            where = f"{word} {hole.name}"
            found.append(Piece(f"{piece.where}, {where}" if piece.where else where, outer))
    return found


def _sides(hole: Hole) -> tuple[tuple[int, float, float], ...]:
    """Axis, sign and limit of the four half planes that make the hole: sign * p[axis] <= sign * limit."""
    return (
        (0, -1.0, hole.lower[0]),
        (0, 1.0, hole.upper[0]),
        (1, -1.0, hole.lower[1]),
        (1, 1.0, hole.upper[1]),
    )
