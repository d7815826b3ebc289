"""Sleeves and bolts: EN 1993-1-8 table 3.3, and tubes that slide into tubes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from goals import QUIET, bracketed, goal, with_arms
from hypothesis import given
from hypothesis import strategies as st

from flightsim.making.strength.actions import actions
from flightsim.making.strength.analysis import solve
from flightsim.making.strength.bar_checks import bar_checks
from flightsim.making.strength.joint_checks import (
    bolt_places,
    corner_clears,
    fitting_sleeve,
    hole,
    joint_checks,
    play,
)
from flightsim.making.strength.model import model_of
from flightsim.making.strength.sizes import heavier, in_table, tabled, tube
from flightsim.making.structure import Sleeves

SLEEVES = Sleeves(0.040, 0.003, True, 0.100, 0.008, 2, 0.0005)


@pytest.mark.parametrize(("bolt", "diameter"), [(0.008, 0.009), (0.010, 0.011), (0.014, 0.015), (0.016, 0.018)])
def test_holes_are_as_en_1090_has_them(bolt: float, diameter: float) -> None:  # EN 1090-2:2008, table 11, from memory
    assert hole(bolt) == pytest.approx(diameter)


def test_bolt_distances_are_held_against_12_and_22_holes() -> None:
    structure = replace(bracketed(goal()), joining="sleeve", sleeves=replace(SLEEVES, bolt=0.012, overlap=0.050))
    found = {check.name: check for check in joint_checks(structure)}
    assert found["bolt to the end of its tube"].limit == pytest.approx(1.2 * 13)
    assert found["bolt to bolt"].limit == pytest.approx(2.2 * 13)
    assert not found["bolt to bolt"].ok


@given(overlap=st.floats(0.05, 0.4), bolts=st.integers(1, 5))
def test_bolts_lie_in_the_overlap_evenly_and_the_same_from_both_sides(overlap: float, bolts: int) -> None:
    places = bolt_places(replace(SLEEVES, overlap=overlap, bolts=bolts))
    assert len(places) == bolts
    assert all(0.0 < place < overlap for place in places)
    assert [overlap - place for place in reversed(places)] == pytest.approx(list(places))


@pytest.mark.parametrize(
    ("wall", "size", "room"), [(2.5, 40.0, 2.5), (3.0, 40.0, 2.0), (4.0, 40.0, 1.0), (5.0, 30.0, 5.0)]
)
def test_the_tabled_sleeve_with_the_least_play_is_chosen(wall: float, size: float, room: float) -> None:
    outer = tube("square", 0.050, wall / 1e3)
    found = fitting_sleeve(outer, 0.0005)
    assert found is not None
    assert found.size == pytest.approx(size / 1e3)
    assert play(outer, found, True) == pytest.approx(room / 1e3)


@given(index=st.integers(0, len(tabled("square")) - 1), clearance=st.floats(0.0, 0.003))
def test_a_chosen_sleeve_slides_in_with_the_clearance_and_clears_the_corners(index: int, clearance: float) -> None:
    outer = tabled("square")[index]
    found = fitting_sleeve(outer, clearance)
    if found is not None:
        assert found.size <= outer.size - 2 * outer.wall - 2 * clearance + 3e-9
        assert corner_clears(outer, found)


def test_a_sharp_cornered_sleeve_jams_in_rounded_corners() -> None:
    outer = tube("square", 0.060, 0.006)
    sharp = replace(tube("square", 0.0478, 0.002), corner_radius=0.0)
    assert play(outer, sharp, True) > 0.0
    assert not corner_clears(outer, sharp)


def test_sleeves_are_checked_for_what_the_joints_bring() -> None:
    structure = replace(bracketed(with_arms(goal(replace(QUIET, person=1000.0)))), joining="sleeve", sleeves=SLEEVES)
    found = {check.name: check for check in bar_checks(model_of(structure, "rigid"))}
    assert not found["stress of the sleeves"].ok  # 1.4 kN m on a tube of 4.7 cm3
    assert found["shear of the sleeves' bolts"].ok
    assert found["shear of the sleeves' bolts"].limit == pytest.approx(
        2 * 2 * 0.6 * 400e6 * 36.6e-6 / 1.25, rel=0.08
    )  # M8: 36.6 mm2 (ISO 898-1, memory)


def test_a_braces_bolt_carries_what_goes_along_it_in_one_plane() -> None:
    found = {
        check.name: check for check in bar_checks(model_of(bracketed(goal(replace(QUIET, sideways=500.0))), "pinned"))
    }
    check = found["shear of the braces' bolts"]
    assert check.limit == pytest.approx(0.6 * 400e6 * 36.6e-6 / 1.25, rel=0.08)
    # Half of a push of 750 N sideways to each of two slanting bars at 45 deg, or all of it: pinned heads share.
    assert 750.0 / 2**0.5 / 2 * 0.9 < (check.value or 0.0) < 750.0 * 2**0.5 * 1.1
    assert check.ok


def test_a_brace_passes_on_no_twist() -> None:
    structure = bracketed(with_arms(goal(replace(QUIET, person=1000.0, sideways=500.0))))
    model = model_of(structure, "rigid")
    for answer in solve(model.skeleton, actions(model).strength()):
        for name in ("left brace", "right brace"):
            assert abs(answer.of(model.pieces[name][0].name).forces[[3, 9]]).max() < 1e-6


def test_sleeves_longer_than_their_bar_are_told() -> None:
    short = replace(bracketed(goal()), joining="sleeve", sleeves=replace(SLEEVES, overlap=0.25))
    names = [check.name for check in joint_checks(short) if not check.ok]
    assert "sleeves in left wall bar" in names


def test_heavier_tubes_are_stiffer_and_no_smaller() -> None:
    now = tube("square", 0.05, 0.0025)
    found = heavier(now)
    assert found
    assert all(each.size >= now.size and each.mass_per_length > 0.0 for each in found)
    masses = [each.mass_per_length for each in found]
    assert masses == sorted(masses)
    assert all(in_table(each) for each in found)
