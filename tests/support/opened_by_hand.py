"""A bay by hand as a run sees it: enough of an OpenBay to fly its shots again."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

from flightsim.contact.facings import shipped_facings
from flightsim.contact.surroundings import surround
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.result import RunResult


def opened_for(result: RunResult) -> OpenBay:
    """What was flown for a result made by hand."""
    facings, bay = shipped_facings(), result.bay
    around = surround(bay, (), facings, {}, result.harm_speed,
                      result.scenario.blunt_speed_of(result.physics.ball.mass))  # fmt: skip
    plan = SimpleNamespace(types=result.types)
    opened = SimpleNamespace(
        scenario=result.scenario, bay=bay, physics=result.physics, plan=plan, facings=facings,
        surroundings=lambda: around,
    )  # fmt: skip
    return cast(OpenBay, opened)
