"""Whether a frame's clear opening, its outer size and its screen agree, and which do not."""

from __future__ import annotations

from collections.abc import Iterator

from flightsim.plugin.places import TAPE
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem
from flightsim_plugins.frame_model import Frame
from flightsim_plugins.screen import Screen


def clear_opening(scenario: Scenario, frame: Frame, screen: Screen) -> tuple[float, float]:
    """Width between the uprights and height from the slab to the top bar, m, as drawn from the screen."""
    left, right = screen.edges(scenario)
    return right - left + 2.0 * frame.clearance, screen.above_floor + screen.height + frame.clearance


def outer_size(scenario: Scenario, frame: Frame, screen: Screen) -> tuple[float, float]:
    """Width over the uprights and height to the top bar's top, m, as drawn."""
    width, height = clear_opening(scenario, frame, screen)
    return width + 2.0 * frame.tube.size, height + frame.tube.size


def measures_that_disagree(scenario: Scenario, key: str, frame: Frame, screen: Screen) -> Iterator[Problem]:
    """Errors: a screen that does not fit its opening, and measures given that are not those of the drawing."""
    show = Display(scenario.units).length
    left, right = screen.edges(scenario)
    cloth = (right - left, screen.above_floor + screen.height)
    clear, outer = clear_opening(scenario, frame, screen), outer_size(scenario, frame, screen)
    for k, way in enumerate(("width", "height")):
        opening, over = getattr(frame, f"opening_{way}"), getattr(frame, f"outer_{way}")
        sides = 2.0 if way == "width" else 1.0
        if opening is not None and cloth[k] > opening - TAPE:
            found = f"the screen, {show(cloth[k])}, does not fit its opening of {show(opening)}"
            allowed = f"at most {show(opening - sides * frame.clearance)}, with {show(frame.clearance)} for the cords"
            yield scenario.problem(f"{key}.opening_{way}", found, allowed, "a smaller screen, or a larger frame")
        elif opening is not None and abs(opening - clear[k]) > TAPE:
            found = f"the opening is given as {show(opening)}; screen and clearance make it {show(clear[k])}"
            gap = (opening - cloth[k]) / sides
            fix = f"clearance: {show(gap)}, or a screen of {show(opening - sides * frame.clearance)}"
            yield scenario.problem(f"{key}.opening_{way}", found, show(clear[k]), fix)
        if over is not None and abs(over - outer[k]) > TAPE:
            found = f"the outer {way} is given as {show(over)}; opening and tube make it {show(outer[k])}"
            yield scenario.problem(f"{key}.outer_{way}", found, show(outer[k]), "measure both again, and the tube")
