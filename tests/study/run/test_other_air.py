"""The headline under another published drag and lift model, on the same strikes."""

from dataclasses import replace
from pathlib import Path

import pytest

from flightsim.flight.aerodynamics import AERO_MODELS
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.other_air import other_air
from flightsim.study.run.walk import run

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"


def test_it_is_what_a_run_with_the_other_model_gives_on_the_same_shots():
    bay = open_bay(GARAGE)
    result = run(bay, 250)
    found = other_air(bay, result)
    theirs = run(replace(bay, physics=replace(bay.physics, aero=AERO_MODELS["ferguson2022"])), 250)
    assert found.model == "ferguson2022"
    assert (found.shots, found.before, found.after) == (
        250, result.fates.escaped.sum(), theirs.fates.escaped.sum()
    )  # fmt: skip
    assert found.rate == pytest.approx(theirs.rates.total["escape"].rate, rel=1e-12)
