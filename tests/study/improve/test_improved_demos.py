"""The demos as improved meet the targets that they were improved for, on shots that no search has seen."""

from __future__ import annotations

from pathlib import Path

import pytest

from flightsim.study.improve.confirm import judged
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.targets import all_good
from flightsim.study.run.walk import run

SCENARIOS = Path(__file__).parents[3] / "scenarios"
IMPROVED = ["common_bay"]
FRESH = 2_026  # a seed of no search


@pytest.mark.parametrize("name", IMPROVED)
def test_an_improved_demo_has_the_room_of_the_demo_and_fewer_balls_past_its_protection(name):
    found, improved = (open_bay(SCENARIOS / f"{name}{end}.yaml") for end in ("", "_improved"))
    assert improved.scenario.room == found.scenario.room
    assert improved.warnings == ()
    before, after = (run(bay, 10_000, FRESH).rates.total["escape"].rate for bay in (found, improved))
    assert after < before / 4.0


@pytest.mark.slow
@pytest.mark.parametrize("name", IMPROVED)
def test_an_improved_demo_meets_all_its_targets_on_fresh_shots(name):
    result = judged(open_bay(SCENARIOS / f"{name}_improved.yaml"), FRESH, 90_000, 1)
    assert [target.name for target in result.targets if not target.good] == []
    assert all_good(result.targets)
