"""The verdicts of five bays of our own: each says what a builder of it has to hear first."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from flightsim.library.fly_bay import fly_bay
from flightsim.report.words.verdict import MOST_LINES, WIDE, verdict
from flightsim.study.run.open_bay import open_bay

DATA = Path(__file__).parents[2] / "data"
BAYS = ("basement", "double_garage", "open_hall", "shed_wedges", "barn")


@cache
def verdict_lines(name: str):
    """Word and text of each line."""
    found = verdict(fly_bay(open_bay(DATA / f"{name}.yaml"), 600, 1, quick=True).result, "report.html")
    return [(line.word, line.text) for line in found.lines], str(found)


def text(name: str, word: str) -> str:
    return next((text for label, text in verdict_lines(name)[0] if label == word), "")


@pytest.mark.parametrize("name", BAYS)
def test_each_verdict_fits_and_calls_nothing_safe(name):
    lines = verdict_lines(name)[1].splitlines()
    assert len(lines) <= MOST_LINES
    assert max(map(len, lines)) <= WIDE
    assert "safe" not in verdict_lines(name)[1].lower()


def test_in_a_low_basement_the_swing_does_not_fit_and_no_place_of_the_tee_is_proposed():
    (_, _), (word, words) = verdict_lines("basement")[0][:2]
    assert word == "swing"
    assert words.startswith("does not fit: ")
    assert "hits roof" in words
    assert text("basement", "do first").startswith("give the roof 540 mm more height")


def test_in_a_double_garage_the_child_at_the_door_and_the_couch_are_asked_for():
    assert text("double_garage", "not asked") == "fragile things: ask"
    assert any(word == "not met" and "a child" in words for word, words in verdict_lines("double_garage")[0])


def test_a_hall_that_is_open_toward_a_path_is_judged_by_the_stricter_target():
    assert "left toward people" in verdict_lines("open_hall")[1]
    assert " ft " in text("open_hall", "swing")
    assert "+-4 in" in text("open_hall", "swing")


def test_a_good_bay_says_that_the_worst_case_is_what_a_quick_run_left_out():
    assert "swing" not in [word for word, _ in verdict_lines("barn")[0]]
    assert "worst cloth and build" in verdict_lines("barn")[1] or "shots" in text("barn", "do first")
