"""The ways of balls to their first contact, many at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Role
from flightsim.report.draw.choose import pick_from
from flightsim.report.draw.style import ESCAPES
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]
Index = NDArray[np.intp]

POINTS = 24  # points a way: at most a room long, it bends little
MOST_FOLLOWED = 600  # balls that met no guard first, an outcome, looked at beside the guards


@dataclass(frozen=True)
class FirstArcs:
    """Which shots `(n,)`, and their ball centres `(n, POINTS, 3)`, m, from the strike to the first contact."""

    shots: Index
    points: Array


def first_arcs(result: RunResult, shots: Index) -> FirstArcs:
    """The first arcs of these shots: cubics that have place and velocity at the strike and at the contact.

    Shots that could not be followed so far are left out.
    """
    met = result.contacts
    shots = shots[~met.failed[shots]]
    launches = result.shots.take(shots).launches()
    t = np.linspace(0.0, 1.0, POINTS)[:, None, None]
    start, a, b = launches.start, launches.velocity * met.time[shots], met.velocity[:, shots] * met.time[shots]
    way = met.point[:, shots] - start
    points = start + t * (a + t * (3.0 * way - 2.0 * a - b + t * (a + b - 2.0 * way)))
    return FirstArcs(shots, np.moveaxis(points, 2, 0))


def without_a_guard(result: RunResult) -> FirstArcs:
    """A sample of the balls that got past the protection and met no guard first."""
    guard = np.array([part.role is Role.GUARD for part in result.bay.parts] + [False])[result.contacts.part]
    by_outcome = [np.flatnonzero((result.outcome == outcome) & ~guard) for outcome in ESCAPES]
    return first_arcs(
        result, np.sort(np.concatenate([pick_from(result, shots, MOST_FOLLOWED) for shots in by_outcome]))
    )
