"""A canopy's board by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from goals import ARM, QUIET, WIDTH, bracketed, goal, with_arms

from flightsim.making.strength.plywood import board_checks, board_sag, board_stress, span_of
from flightsim.making.structure import Overhead

CANOPY = Overhead("canopy", "front bar", ("left side bar", "right side bar"), WIDTH, ARM, 9.0, board=0.012)


def test_stress_and_sag_are_those_of_a_strip_on_two_supports() -> None:
    """12 mm, 1 m, 9 kg/m2 and 10 kg/m2 stored: q 266.2 N/m at strength, W 24 cm3 a metre: 1.387 MPa."""
    q = 9.80665 * (1.35 * 9.0 + 1.5 * 10.0)
    assert board_stress(9.0, 10.0, 1.0, 0.012) == pytest.approx(q * 1.0**2 / 8 / (0.012**2 / 6))
    assert board_stress(9.0, 10.0, 1.0, 0.012) == pytest.approx(1.387e6, rel=1e-3)
    stiff = 6e9 * 0.012**3 / 12
    assert board_sag(9.0, 10.0, 1.0, 0.012) == pytest.approx(2 * 5 * 9.80665 * 19 / (384 * stiff))


def test_a_board_that_sags_is_told_how_many_ribs_or_how_thick_and_that_does_pass() -> None:
    structure = replace(bracketed(with_arms(goal(replace(QUIET, stored=10.0)))), canopies=(CANOPY,))
    _, sag = board_checks(structure)
    assert not sag.ok
    ribs = int(sag.passes.split()[0])
    enough = replace(structure, canopies=(replace(CANOPY, ribs=ribs),))
    assert all(check.ok for check in board_checks(enough))
    one_less = replace(structure, canopies=(replace(CANOPY, ribs=ribs - 1),))
    assert not all(check.ok for check in board_checks(one_less))


def test_with_a_back_bar_the_board_spans_the_shorter_way() -> None:
    assert span_of(CANOPY, 0) == pytest.approx(WIDTH)
    assert span_of(replace(CANOPY, back=True), 0) == pytest.approx(ARM)
    assert span_of(replace(CANOPY, back=True), 4) == pytest.approx(WIDTH / 5)


def test_cloth_and_net_have_no_board_to_check() -> None:
    structure = replace(bracketed(with_arms(goal())), canopies=(replace(CANOPY, board=0.0),))
    assert board_checks(structure) == ()
