"""Whether the tee stands where a ball can be hit: checks on numbers alone, before any part is built."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem, Severity


def check_places(scenario: Scenario, screens: Mapping[str, float] = MappingProxyType({})) -> list[Problem]:
    """Errors for a tee or spot outside the room or behind a screen; warnings for a mat that does not fit.

    screens: how far each hangs off the end wall, m, by name.
    """
    tee = scenario.tee
    spots = [(f"tee.spots.{k}", spot.from_end_wall, spot.from_left_wall) for k, spot in enumerate(tee.spots)]
    problems = []
    for path, from_end, from_left in [("tee", tee.from_end_wall, tee.from_left_wall), *spots]:
        problems += _in_the_room(scenario, path, from_end, from_left)
        problems += _before_the_screens(scenario, screens, path, from_end)
        problems += _on_the_mat(scenario, path, from_end, from_left)
    return problems + _mat_in_the_room(scenario)


def _size(scenario: Scenario, name: str) -> float | None:
    """A size of the room, m, or None where the room's plugin gives none."""
    room = next(iter(scenario.entries(scenario.room_key)), None)
    value = getattr(room, name, None)
    return float(value) if isinstance(value, (int, float)) else None


def _in_the_room(scenario: Scenario, path: str, from_end: float, from_left: float) -> list[Problem]:
    show = Display(scenario.units).length
    problems = []
    for key, value, size in (("from_end_wall", from_end, "length"), ("from_left_wall", from_left, "width")):
        most = _size(scenario, size)
        if most is not None and value >= most:
            found = f"{show(value)} lies outside the room, whose {size} is {show(most)}"
            fix = "measure again, from inside the room; left is the player's, facing the screen"
            problems.append(scenario.problem(f"{path}.{key}", found, f"less than {show(most)}", fix))
    return problems


def _before_the_screens(scenario: Scenario, screens: Mapping[str, float], path: str, from_end: float) -> list[Problem]:
    show = Display(scenario.units).length
    problems = []
    for name, gap in screens.items():
        if from_end <= gap:
            found = f"{show(from_end)} from the end wall is behind the {name}, which hangs {show(gap)} off it"
            problems.append(
                scenario.problem(f"{path}.from_end_wall", found, f"more than {show(gap)}", "move the tee back")
            )
    return problems


def _on_the_mat(scenario: Scenario, path: str, from_end: float, from_left: float) -> list[Problem]:
    tee, mat = scenario.tee, scenario.tee.mat
    if mat is None or path == "tee":
        return []
    off = abs(from_end - tee.from_end_wall) > mat.length / 2 or abs(from_left - tee.from_left_wall) > mat.width / 2
    found = "the spot is off the mat, yet its ball is flown from the mat's height"
    fix = "a larger mat, or a spot on it"
    return [scenario.problem(path, found, "a spot on the mat", fix, Severity.WARNING)] if off else []


def _mat_in_the_room(scenario: Scenario) -> list[Problem]:
    tee, mat = scenario.tee, scenario.tee.mat
    if mat is None:
        return []
    problems = []
    for name, centre, half in (
        ("length", tee.from_end_wall, mat.length / 2),
        ("width", tee.from_left_wall, mat.width / 2),
    ):
        most = _size(scenario, name)
        if most is not None and centre < most and (centre < half or centre + half > most):
            found = f"the mat, centred on the tee, reaches out of the room's {name}"
            problems.append(scenario.problem(f"tee.mat.{name}", found, "a mat in the room", "", Severity.WARNING))
    return problems
