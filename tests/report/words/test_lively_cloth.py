"""Beside what is likely stands the worst end of how lively cloth may be; where it was not tried, that is said."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from flightsim.cloth.closed_form import AS_LIVELY
from flightsim.report.words.common_words import at_worst, one_in
from flightsim.report.words.lively_cloth import lively_words
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.troubles import WhatIf
from flightsim.study.run.walk import run

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"


@pytest.fixture(scope="module")
def flown():
    return run(open_bay(GARAGE), 100)


def test_the_worst_of_the_lively_cloths_is_told_with_its_bound(flown):
    rows = (
        WhatIf("screen", AS_LIVELY, 1000, 50, 120, 0.12, 0.2, {}),
        WhatIf("left side net", AS_LIVELY, 1000, 50, 60, 0.05, 0.1, {}),
        WhatIf("canopy", "taken away", 1000, 50, 500, 0.5, 0.6, {}),
    )
    told = lively_words(replace(flown, what_if=rows))
    assert f"Were the screen as lively as any cloth, {one_in(0.12)} balls" in told
    assert f"at worst {at_worst(0.2)}" in told
    assert "50 of these do as it is, 120 then" in told


def test_where_lively_cloth_was_not_tried_that_is_said(flown):
    assert "left open" in lively_words(flown)


def test_a_bay_without_soft_protection_says_nothing_of_cloth(flown):
    hard = tuple(replace(part, facing="plywood") for part in flown.bay.parts)
    assert lively_words(replace(flown, bay=replace(flown.bay, parts=hard))) == ""
