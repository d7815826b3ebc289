"""Whether the shots start where a ball can lie: told before any is flown."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, PartKind
from flightsim.contact.limits import INSIDE
from flightsim.plugin.manager import Plugins
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem
from flightsim.shots.shot_table import ShotTable
from flightsim.shots.typed_plan import Draw, Spot
from flightsim.study.run.streams import uniforms

Array = NDArray[np.float64]
TRIED = 2048  # shots whose starts are looked at; a run looks at all of its own, and counts the rest as failed


class Plan(Protocol):
    """What is asked of a plan of shots here."""

    @property
    def spots(self) -> Sequence[Spot]:
        """Name, share, x and y of each tee spot."""
        ...

    @property
    def grid_size(self) -> int:
        """Number of shots, where the plan has one of its own."""
        ...

    def draw(self, draw: Draw, first: int, count: int) -> ShotTable:
        """Draw these shots."""
        ...


def start_problems(
    scenario: Scenario, bay: Bay, plugins: Plugins, radius: float, plan: Plan, key: str
) -> list[Problem]:
    """Errors for tee spots, and for shots, that would have the ball start inside a part or outside the room.

    radius: of the ball, m; key: the section that the shots come from.
    """
    parts = bay.parts
    blocked = _blocked_spots(scenario, parts, radius, plan.spots)
    return blocked or _odd_starts(scenario, bay, parts, radius, plan, key)


def _blocked_spots(scenario: Scenario, parts: Sequence[Part], radius: float, spots: Sequence[Spot]) -> list[Problem]:
    key = "tee.spots" if scenario.tee.spots else "tee"
    problems = []
    for name, _, x, y in spots:
        ball = np.array([[x], [y], [scenario.ground_height + radius]])
        for part in parts:
            if _inside(part, ball, radius)[0]:
                found = f"at {name} the ball stands inside the {part.label}"
                problems.append(scenario.problem(key, found, "a free place for the ball", "move the tee, or the part"))
    return problems


def _odd_starts(
    scenario: Scenario, bay: Bay, parts: Sequence[Part], radius: float, plan: Plan, key: str
) -> list[Problem]:
    count = min(TRIED, plan.grid_size or TRIED)
    starts = _first_starts(plan, count)
    outside = ((starts < bay.lower[:, None]) | (starts > bay.upper[:, None])).any(axis=0)
    where = {"outside the room": outside, **_behind_screens(bay, starts)}
    for part in parts:
        inside = _inside(part, starts, radius)
        where[f"inside the {part.label}"] = where.get(f"inside the {part.label}", False) | inside
    fix = "check how far the ball lies forward and right of its spot, and how high it is teed"
    return [
        scenario.problem(key, f"{int(hit.sum()):,} of {count:,} shots start {words}", "a free place for the ball", fix)
        for words, hit in where.items()
        if hit.any()
    ]


_last: list[tuple[Plan, Array]] = []  # whose starts were drawn last: a bay's changes have its plan


def _first_starts(plan: Plan, count: int) -> Array:
    """Where a plan's first shots start `(3, count)`, m."""
    if not (_last and _last[0][0] is plan):
        drawn = plan.draw(lambda purpose, dims: uniforms(0, 0, count, purpose, dims), 0, count).start
        drawn.flags.writeable = False
        _last[:] = [(plan, drawn)]
    return _last[0][1]


def _inside(part: Part, balls: Array, radius: float) -> NDArray[np.bool_]:
    """Which balls `(3, n)` reach into a part; distances are asked for only near its bounds."""
    lower, upper = part.shape.bounds()
    near = ((balls > lower[:, None] - radius) & (balls < upper[:, None] + radius)).all(axis=0)
    inside = np.zeros(balls.shape[1], dtype=bool)
    inside[near] = part.shape.distance(balls[:, near])[0] < radius - INSIDE if near.any() else False
    return inside


def _behind_screens(bay: Bay, starts: Array) -> dict[str, Any]:
    """A ball behind a screen would meet it from the wrong side."""
    screens = bay.guards_of(PartKind.SCREEN)
    return {f"behind the {part.label}": starts[0] >= part.shape.bounds()[1][0] for part in screens}
