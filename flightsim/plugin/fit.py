"""How parts fit into the room and past one another: warnings, as a builder would raise them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.build import is_sheet
from flightsim.bay.overlap import depth_of_overlap
from flightsim.bay.parts import Part, Role
from flightsim.scenario.errors import Problem, Severity
from flightsim.scenario.models import Scenario

Array = NDArray[np.float64]

SLACK = 5.0e-3  # m: less is within what a tape measure shows


def fit_problems(
    scenario: Scenario, parts: Sequence[Part], bounds: tuple[Array, Array], keys: Mapping[str, str]
) -> list[Problem]:
    """Warnings for parts that reach outside the room's box, and for parts that go through one another.

    keys: the section of each owner. The room's own sheets are left out of the second: what goes through them
    is outside the room.
    """
    problems = [p for part in parts for p in _outside(scenario, part, bounds, _key(scenario, part, keys))]
    solid = [part for part in parts if not (part.owner == "room" and is_sheet(part.shape))]
    for k, first in enumerate(solid):
        for second in solid[k + 1 :]:
            if first.owner == second.owner and (first.label == second.label or first.owner == "room"):
                continue
            depth = depth_of_overlap(first.shape, second.shape)
            if depth > SLACK:
                key = _key(scenario, first if second.owner == "room" else second, keys)
                found = f"{first.name} and {second.name} go {depth * 1000:.0f} mm into one another"
                fix = "move one of them, or leave it if it is so in the real room"
                problems.append(scenario.problem(key, found, "parts beside one another", fix, Severity.WARNING))
    return problems


def _outside(scenario: Scenario, part: Part, bounds: tuple[Array, Array], key: str) -> list[Problem]:
    lower, upper = part.shape.bounds()
    past = np.maximum(bounds[0] - lower, upper - bounds[1])
    if part.owner == "room" or not np.isfinite(past).all() or past.max() <= SLACK:
        return []
    axis = int(past.argmax())
    below = bounds[0][axis] - lower[axis] == past[axis]
    place = (("back", "end wall"), ("right wall", "left wall"), ("floor", "roof"))[axis][0 if below else 1]
    found = f"{part.name} reaches {past[axis] * 1000:.0f} mm beyond the {place}"
    kind = "protection" if part.role is Role.GUARD else "parts"
    return [scenario.problem(key, found, f"{kind} inside the room", "", Severity.WARNING)]


def _key(scenario: Scenario, part: Part, keys: Mapping[str, str]) -> str:
    """The dotted path of the thing that the part belongs to, as near as the file's lines allow."""
    section = keys.get(part.owner, part.owner)
    for k, entry in enumerate(scenario.entries(section)):
        if getattr(entry, "name", None) == part.label and f"{section}.{k}" in scenario.lines:
            return f"{section}.{k}"
    return section
