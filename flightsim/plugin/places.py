"""From tape measures to parts: what the bundled plugins share, and any other may use.

Places are (s, t, z): from the end wall, from the left wall, above the floor, m.
"""

from __future__ import annotations

from math import degrees
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray
from pydantic import AfterValidator

from flightsim.bay.parts import Part
from flightsim.flight.ball import BALLS
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem, Severity
from flightsim.scenario.reading.quantities import Angle

Array = NDArray[np.float64]

STEEPEST = 80.0  # deg
WIDE_MESH = 0.7  # of a ball's diameter: a net's mesh wider than this may open to it (judgement)
TAPE = 1.0e-3  # m: the least that a tape shows


def in_axes(scenario: Scenario, places: Any) -> Array:
    """Points `(..., 3)`, m, in our axes (x from the tee to the screen, y left, z up)."""
    places = np.asarray(places, dtype=np.float64)
    tee = np.array([scenario.tee.from_end_wall, scenario.tee.from_left_wall, 0.0])
    return np.asarray((tee - places) * (1.0, 1.0, -1.0) + 0.0)  # no minus noughts


def direction(ds: float, dt: float, dz: float) -> Array:
    """A step `(3,)`, m, away from the end wall, away from the left wall and up, in our axes."""
    return np.array([-ds, -dt, dz])


def entry_key(scenario: Scenario, section: str, index: int) -> str:
    """The dotted path of a section's entry, whether the file gave one or a list."""
    listed = f"{section}.{index}"
    return listed if listed in scenario.lines or index > 0 else section


def above_roof(
    scenario: Scenario,
    key: str,
    part: Part,
    severity: Severity = Severity.ERROR,
    fix: str = "lower it, or make it smaller",
) -> list[Problem]:
    """A problem where a part goes through the roof. fix: the way out, `{}` where it says by how much."""
    corners = np.concatenate(part.shape.outlines())
    s, t = scenario.tee.from_end_wall - corners[:, 0], scenario.tee.from_left_wall - corners[:, 1]
    past = corners[:, 2] - scenario.room.roof_shape().height(s, t)
    worst = int(past.argmax())
    if past[worst] <= TAPE:
        return []
    show = Display(scenario.units).length
    found = f"{part.name} reaches {show(past[worst])} above the roof's underside"
    allowed = f"at most {show(corners[worst, 2] - past[worst])} above the floor there"
    return [scenario.problem(key, found, allowed, fix.format(show(past[worst])), severity)]


def mesh_problems(scenario: Scenario, key: str, mesh: float | None) -> list[Problem]:
    """An error for a net whose square mesh lets the ball through; a warning where it nearly does.

    A square mesh must be narrower, bar to bar, than the ball. Practice is 25 mm, 20 mm near people (common practice,
    no source): a stretched mesh opens.
    """
    ball = scenario.ball.diameter or BALLS[scenario.ball.preset].diameter
    show = Display(scenario.units).length
    if mesh is None or mesh <= WIDE_MESH * ball:
        return []
    if mesh >= ball:
        found = f"a ball of {show(ball)} goes through a mesh of {show(mesh)}"
        return [scenario.problem(key, found, f"less than {show(ball)}", "25 mm, or 20 mm near people")]
    found = f"a mesh of {show(mesh)} opens to a ball of {show(ball)} when a hit stretches it"
    allowed = f"at most {show(WIDE_MESH * ball)}"
    return [scenario.problem(key, found, allowed, "25 mm, or 20 mm near people", Severity.WARNING)]


def _not_upright(angle: float) -> float:
    if abs(degrees(angle)) > STEEPEST:
        raise ValueError(f"{degrees(angle):g} deg is too steep; allowed: from -{STEEPEST:g} deg to {STEEPEST:g} deg")
    return angle


Lean = Annotated[Angle, AfterValidator(_not_upright)]  # an angle that is far from upright
