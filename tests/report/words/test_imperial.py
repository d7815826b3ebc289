"""Reasons of checks that were written in metric units, told to a reader of feet and inches."""

from __future__ import annotations

import pytest

from flightsim.report.words.imperial import told_in, value_in
from flightsim.scenario.reading.display import Display

FEET, METRES = Display("imperial"), Display("metric")


@pytest.mark.parametrize(("text", "in_feet"), [
    ("a board of 15 mm", "a board of 9/16 in"),
    ("3 ribs from front to back, 0.76 m apart", "3 ribs from front to back, 2 ft 5 15/16 in apart"),
    ("sag of frame top bar 4.7 of 15.2 mm", "sag of frame top bar 0.185 of 0.598 in"),
    ("stress of frame front bar 210.5 of 235.0 MPa", "stress of frame front bar 30.5 of 34.1 ksi"),
    ("an anchor for 0.8 kN by its maker's table", "an anchor for 180 lbf by its maker's table"),
    ("or 190 kg of ballast on the feet 0.80 m behind", "or 419 lb of ballast on the feet 2 ft 7 1/2 in behind"),
    ("bars on the floor (base_length: 0.8 m)", "bars on the floor (base_length: 2 ft 7 1/2 in)"),
    ("60x60x2 square tube", "60x60x2 square tube"),
    ("Both diagonals are equal to 3 mm", "Both diagonals are equal to 1/8 in"),
])  # fmt: skip
def test_measures_in_a_sentence_are_told_in_feet_and_inches(text: str, in_feet: str) -> None:
    assert told_in(text, FEET) == in_feet
    assert told_in(text, METRES) == text


def test_names_of_what_is_bought_stay_as_the_price_list_has_them() -> None:
    in_feet = told_in("larger than a sheet of foam 25 mm: 2000 mm the narrow way", FEET, ["foam 25 mm"])
    assert in_feet == "larger than a sheet of foam 25 mm: 6 ft 6 3/4 in the narrow way"


@pytest.mark.parametrize(("value", "unit", "imperial"), [
    (25.4, "mm", "1 in"), (0.3048, "m", "1 ft"), (6.894757, "MPa", "1 ksi"), (4.448222, "N", "1 lbf"),
    (1.5, "of what it can", "1.5 of what it can"), (2.0, "", "2"),
])  # fmt: skip
def test_a_value_is_told_with_its_imperial_unit_by_the_agreed_factors(value: float, unit: str, imperial: str) -> None:
    """Factors: NIST SP 811, table B.8 (from memory): 1 in 25.4 mm, 1 ksi 6.894757 MPa, 1 lbf 4.448222 N."""
    assert value_in(value, unit, FEET) == imperial
