"""The headline under another published drag and lift model: the honest error of the flight."""

from __future__ import annotations

from dataclasses import replace

from flightsim.flight.aerodynamics import AERO_MODELS
from flightsim.study.run.find_troubles import rate_of_first
from flightsim.study.run.fly import follow_all
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.reflown import MOST_SHOTS
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import OtherAir

MODELS = ("naruo2004", "ferguson2022")


def other_air(opened: OpenBay, result: RunResult, most: int = MOST_SHOTS) -> OtherAir:
    """The run's shots, as they were struck, flown by the other of two models: any ball may go another way."""
    name = next(model for model in MODELS if model != opened.scenario.aero)
    n = min(len(result.shots), most)
    bay = replace(opened, physics=replace(opened.physics, aero=AERO_MODELS[name]))
    _, fates = follow_all(bay, result.shots.take(slice(0, n)), result.seed)
    before, after = result.fates.escaped[:n], fates.escaped
    rates = [rate_of_first(result, case) for case in (after, before)]
    return OtherAir(name, n, int(before.sum()), int(after.sum()), *rates[0], *rates[1])
