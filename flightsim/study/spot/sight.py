"""Straight lines through a bay: from which places everything that must be seen is seen."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import OF_THE_ROOM, Bay, Part
from flightsim.engine.follow import first_contacts
from flightsim.errors import Asked, BadInputError
from flightsim.flight.air import Air
from flightsim.flight.ball import Ball
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches
from flightsim.study.run.open_bay import OpenBay

Array = NDArray[np.float64]
BALL = "ball"
_LOOKED_AT = 512  # places whose view is looked at together
# A look is a small ball that flies straight, one second to what it looks at.
_SIGHT = Physics(Ball("a look", 1.0, 2.0e-4, 0.4, "no ball"), Air(0.0, 1.8e-5), gravity=0.0, spin_decay=0.0)
_NEARLY_THERE = 0.99  # s


def seen_points(opened: OpenBay, see: Sequence[str]) -> list[Array]:
    """Points `(3,)` that must be seen: of a part, a whole thing or a section its middle and its corners, drawn in a
    little; the ball at every tee spot. Raises BadInputError for what is not there.
    """
    return [point for name in see for point in _points_of(opened, name)]


def _points_of(opened: OpenBay, name: str) -> list[Array]:
    if name == BALL:
        height = opened.scenario.ground_height + opened.physics.ball.radius
        return [np.array([x, y, height]) for _, _, x, y in opened.plan.spots]
    parts = [part for part in opened.bay.parts if name in _called(part)]
    if not parts:
        known = [BALL, *dict.fromkeys(word for part in opened.bay.parts for word in _called(part))]
        near = (get_close_matches(name, known, 1) or [BALL])[0]
        raise BadInputError(
            f"there is no '{name}' to see in this bay\n  allowed: {', '.join(known)}\n  try: ",
            Asked("see", near),
        )
    corners = np.concatenate([outline for part in parts for outline in part.shape.outlines()])
    if len(parts) > 1:
        low, high = corners.min(axis=0), corners.max(axis=0)
        corners = np.array([np.where([i, j, k], high, low) for i in (0, 1) for j in (0, 1) for k in (0, 1)])
    middle = corners.mean(axis=0)
    return [middle, *(middle + 0.95 * (corner - middle) for corner in corners)]


def _called(part: Part) -> tuple[str, str, str]:
    """What a part is called: by its section, as its thing, and by itself. The room is what all else stands in."""
    section = part.label if part.kind in OF_THE_ROOM else part.owner.replace("_", " ")
    return section, part.label, part.name


class Sight:
    """From which places `(m, 3)` straight lines reach all targets, but for the last hundredth; looked at as asked."""

    def __init__(self, opened: OpenBay, places: Array, targets: Sequence[Array]) -> None:
        bay = opened.bay
        self.bay = Bay(bay.parts, (), bay.lower - 1.0, bay.upper + 1.0)
        self.tests = opened.plugins.touch_tests(self.bay)
        self.places, self.targets = places, np.array(targets).reshape(-1, 3)
        self.stopped: list[frozenset[str] | None] = []

    def clear(self, rank: int) -> bool:
        """Whether this place sees them all."""
        if not len(self.targets):
            return True
        while rank >= len(self.stopped):
            self.stopped += self._looked(self.places[len(self.stopped) : len(self.stopped) + _LOOKED_AT], self.targets)
        return self.stopped[rank] is None

    def stopped_by(self, rank: int) -> frozenset[str]:
        """The things that a place's lines meet, of one that was looked at; none where it lies in a part itself."""
        return self.stopped[rank] or frozenset()

    def clear_to(self, rank: int, targets: Array) -> bool:
        """Whether a place that sees all of its own targets sees these `(m, 3)` as well."""
        (self.stopped[rank],) = self._looked(self.places[rank : rank + 1], targets)
        return self.stopped[rank] is None

    def _looked(self, places: Array, targets: Array) -> list[frozenset[str] | None]:
        """Of each place what its lines meet, None where all are clear."""
        start = np.repeat(places, len(targets), axis=0).T
        way = np.tile(targets, (len(places), 1)).T - start
        met = first_contacts(_SIGHT, Launches(start, way, np.zeros_like(way)), self.bay, self.tests)
        shut = (met.failed | (met.time <= _NEARLY_THERE)).reshape(len(places), -1)
        part = np.where(met.failed, -1, met.part).reshape(shut.shape)
        labels = [bay_part.label for bay_part in self.bay.parts]
        return [
            frozenset(labels[k] for k in np.unique(parts[lines]) if k >= 0) if lines.any() else None
            for lines, parts in zip(shut, part, strict=True)
        ]
