"""Many boxes at once: the search for touches over pairs of a ball and a box, for batches too small to fill a core.

The arithmetic is that of one box after the other, number by number, so what is found is the same to the last digit;
only the calls are fewer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Part
from flightsim.bay.shapes import Box, Shape, core_distance
from flightsim.contact.arcs import PIECE_STARTS, PIECES, ArcBatch

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]


class Named(Protocol):
    """A part, or a zone where people are."""

    @property
    def name(self) -> str:
        """Its name."""
        ...

    @property
    def shape(self) -> Shape:
        """Its shape."""
        ...


def is_straight(shape: Shape) -> bool:
    """Whether it is a box or rectangle along the room's axes."""
    return type(shape) is Box and bool(np.array_equal(shape.axes, np.eye(3)))


@dataclass(frozen=True)
class PairBoxes:
    """One straight box for each of k pairs: centre and core (half sizes less the corner's radius) `(3, k)`, corner
    `(k,)`, m.
    """

    centre: Array
    core: Array
    corner: Array
    convex: bool = True

    @classmethod
    def of(cls, boxes: Sequence[Shape], which: Index) -> PairBoxes:
        """These boxes, by pair."""
        assert all(isinstance(box, Box) for box in boxes)
        centre = np.stack([box.centre for box in boxes if isinstance(box, Box)], axis=1)
        core = np.stack([box.half - box.corner_radius for box in boxes if isinstance(box, Box)], axis=1)
        corner = np.array([box.corner_radius for box in boxes if isinstance(box, Box)])
        return cls(centre[:, which], core[:, which], corner[which])

    def take(self, place: Index) -> PairBoxes:
        """The pairs at these places."""
        return PairBoxes(self.centre.take(place, axis=1), self.core.take(place, axis=1), self.corner[place])

    def distance(self, points: Array) -> tuple[Array, Array]:
        """As Box.distance, each point to its own box."""
        distance, normal = core_distance(points - self.centre, self.core)
        return distance - self.corner, normal


def near_pairs(parts: Sequence[Named], arcs: ArcBatch) -> tuple[Index, Index, Array]:
    """Pairs of part or zone and ball that may meet, by part, then by ball, and the tau before which they cannot."""
    bounds = [part.shape.bounds() for part in parts]
    lower, upper = (np.stack([bound[k] for bound in bounds])[:, :, None] for k in (0, 1))
    whole_low, whole_high = arcs.whole_boxes
    meets = np.ones((len(parts), len(arcs)), dtype=bool)
    for axis in range(3):
        meets &= whole_low[axis] <= upper[:, axis]
        meets &= whole_high[axis] >= lower[:, axis]
    for name, ignored in arcs.ignored.items():
        for k, part in enumerate(parts):
            if part.name == name:
                meets[k] &= ~ignored
    which, balls = np.nonzero(meets)
    low, high = arcs.boxes
    pieces = arcs.until[balls] >= PIECE_STARTS
    for axis in range(3):
        pieces &= low[axis].take(balls, axis=1) <= upper[which, axis, 0]
        pieces &= high[axis].take(balls, axis=1) >= lower[which, axis, 0]
    some = pieces.any(axis=0)
    return which[some], balls[some], pieces[:, some].argmax(axis=0) / PIECES


def sheet_planes(parts: Sequence[Part]) -> tuple[Index, Array, Mask]:
    """Axis, offset and whether there is one, of the plane of each part that is a sheet."""
    planes = [part.shape.plane() if isinstance(part.shape, Box) else None for part in parts]
    axis = np.array([int(np.flatnonzero(plane[0])[0]) if plane is not None else 0 for plane in planes], dtype=np.intp)
    offset = np.array([plane[1] if plane is not None else 0.0 for plane in planes])
    return axis, offset, np.array([plane is not None for plane in planes])
