"""Beside what is likely stands adverse cloth, each end by name; where it was not flown, that is said."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from flightsim.report.words.adverse_words import adverse_words
from flightsim.report.words.common_words import at_worst, seen_in_all, verdict
from flightsim.study.run.adverse import with_adverse
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.walk import run

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"


@pytest.fixture(scope="module")
def opened():
    return open_bay(GARAGE)


@pytest.fixture(scope="module")
def flown(opened):
    return run(opened, 200)


def test_each_adverse_cloth_is_told_with_its_rate_and_bound(opened, flown):
    adverse = with_adverse(opened, flown)
    text = adverse_words(adverse)
    for one in adverse.adverse:
        rate = one.rates.total["escape"]
        assert f"{one.words}, {seen_in_all(rate)}, at worst {at_worst(rate.upper)}" in text


def test_the_headline_names_the_worst_adverse_cloth(opened, flown):
    adverse = with_adverse(opened, flown)
    rate, whose = adverse.worst("escape")
    assert f"with adverse cloth at worst {at_worst(rate.upper)}, {whose.words}" in verdict(adverse)
    assert "adverse" not in verdict(flown)


def test_where_adverse_cloth_was_not_flown_that_is_said(flown):
    assert "left out" in adverse_words(flown)


def test_a_bay_without_soft_protection_says_nothing_of_cloth(flown):
    hard = tuple(replace(part, facing="plywood") for part in flown.bay.parts)
    assert adverse_words(replace(flown, bay=replace(flown.bay, parts=hard))) == ""
