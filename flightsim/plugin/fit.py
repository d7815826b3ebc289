"""How parts fit into the room and past one another: warnings, as a builder would raise them."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.build import is_sheet
from flightsim.bay.overlap import depth_of_overlap
from flightsim.bay.parts import OF_THE_ROOM, Opening, Part, PartKind, Role
from flightsim.bay.people import Zone
from flightsim.contact.facings import Facing
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem, Severity

Array = NDArray[np.float64]

SLACK = 5.0e-3  # m: less is within what a tape measure shows
FACES = (("back", "right wall", "floor"), ("end wall", "left wall", "roof"))  # lower and upper, along x, y, z


def name_problems(scenario: Scenario, named: Sequence[Part | Opening | Zone], keys: Mapping[str, str]) -> list[Problem]:
    """An error for each name that two things bear: ties between touches go by name, and so do all tables.

    keys: the section of each owner.
    """
    taken: dict[str, str] = {}
    wholes = {
        item.group: item.owner for item in named if isinstance(item, Part) and item.group not in ("", item.name)
    }  # of pieces with names of their own
    problems = []
    for item in sorted(named, key=lambda t: (t.name, getattr(t, "kind", None) is PartKind.THING)):
        if item.name in wholes and getattr(item, "group", "") != item.name:
            taken.setdefault(item.name, wholes[item.name])
        if item.name in taken:
            key = keys.get(item.owner, item.owner)
            key = _key(scenario, key, item.name)
            found = f"'{item.name}' is already the name of something of plugin '{taken[item.name]}'"
            problems.append(scenario.problem(key, found, "names that differ", f"{item.name} 2"))
        taken[item.name] = item.owner
    return problems


def fit_problems(
    scenario: Scenario,
    parts: Sequence[Part],
    bounds: tuple[Array, Array],
    keys: Mapping[str, str],
    facings: Mapping[str, Facing],
    earlier: Sequence[Problem] = (),
) -> list[Problem]:
    """Warnings for parts that reach outside the room's box, and for parts that go through one another.

    keys: the section of each owner; facings: by name; earlier: problems that the plugins gave, a part above the
    roof among them. The room's own sheets are left out of the second: what goes through them is outside the room. Foam
    around a tube gives way to what its owner fixes to the tube.
    """

    def key(part: Part) -> str:
        return _key(scenario, keys.get(part.owner, part.owner), part.label)

    where = {problem.key for problem in earlier}
    problems = [p for part in parts for p in _outside(scenario, part, bounds, key(part), where)]
    solid = [part for part in parts if not (_of_the_room(part) and is_sheet(part.shape))]
    for first, second in _that_may_meet(solid):
        if first.owner == second.owner and (_of_the_room(first) or first.label == second.label):
            continue
        depth = depth_of_overlap(first.shape, second.shape)
        if depth > SLACK + (_foam(facings, first, second) if first.owner == second.owner else 0.0):
            found = f"{first.name} and {second.name} go through one another"
            fix = f"move one by {Display(scenario.units).length(depth)}, or leave it if it is so in the real room"
            entry = key(first if _of_the_room(second) else second)
            problems.append(scenario.problem(entry, found, "parts beside one another", fix, Severity.WARNING))
    return problems


def _foam(facings: Mapping[str, Facing], *parts: Part) -> float:
    """The thickest foam on them, m."""
    found = (facings[part.facing].foam for part in parts if part.facing in facings)
    return max((foam.thickness for foam in found if foam is not None), default=0.0)


def _that_may_meet(parts: Sequence[Part]) -> Iterator[tuple[Part, Part]]:
    """Pairs of parts whose boxes go further into one another than SLACK: the others cannot themselves."""
    corners = np.array([np.concatenate(part.shape.bounds()) for part in parts]).reshape(-1, 6)
    low, high = corners[:, :3], corners[:, 3:]
    depth = np.minimum(high[:, None] - low[None], high[None] - low[:, None]).min(axis=2)
    for k, m in np.argwhere(np.triu(depth > SLACK, 1)):
        yield parts[k], parts[m]


def _of_the_room(part: Part) -> bool:
    return part.kind in OF_THE_ROOM


def _outside(
    scenario: Scenario, part: Part, bounds: tuple[Array, Array], key: str, warned: Collection[str]
) -> list[Problem]:
    """Parts past the room's box; not above the roof where something was told of that entry already."""
    lower, upper = part.shape.bounds()
    past = np.stack([bounds[0] - lower, upper - bounds[1]])
    if _of_the_room(part) or not np.isfinite(past).all():
        return []
    if any(other == key or other.startswith(f"{key}.") for other in warned):
        past[1, 2] = -np.inf
    if past.max() > SLACK:
        side, axis = np.unravel_index(past.argmax(), past.shape)
        far = Display(scenario.units).length(float(past.max()))
        found, fix = (
            f"{part.name} reaches {far} beyond the {FACES[side][axis]}",
            f"move it {far} in, or make it smaller",
        )
        return [scenario.problem(key, found, "parts inside the room", fix, Severity.WARNING)]
    if part.role is not Role.GUARD or not is_sheet(part.shape):
        return []
    flat = np.argwhere((past > -SLACK) & (upper - lower <= SLACK))
    found = f"{part.name} lies flat on the {{}}: what strikes the one strikes the other"
    return [
        scenario.problem(key, found.format(FACES[side][axis]), "protection off the wall", "a gap", Severity.WARNING)
        for side, axis in flat
    ]


def _key(scenario: Scenario, section: str, name: str) -> str:
    """The dotted path of the entry of this name, as near as the file's lines allow."""
    for k, entry in enumerate(scenario.entries(section)):
        if getattr(entry, "name", None) == name and f"{section}.{k}" in scenario.lines:
            return f"{section}.{k}"
    return section
