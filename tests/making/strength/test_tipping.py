"""Tipping by hand: moments about the feet."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from goals import ARM, QUIET, TUBE, WIDTH, bar, goal, with_arms
from hypothesis import given
from hypothesis import strategies as st

from flightsim.making.strength.actions import G
from flightsim.making.strength.model import model_of
from flightsim.making.strength.tipping import edges, tipping_check, tips
from flightsim.making.structure import Hold, Loads, Structure

BASE = 1.2


def based(structure: Structure, anchored: bool = False) -> Structure:
    """With bars on the floor from each post, 1.2 m back toward the wall."""
    backs = [bar(f"{side} base bar", (0.025, way * WIDTH / 2, 0.025), (BASE, way * WIDTH / 2, 0.025))
             for side, way in (("left", 1.0), ("right", -1.0))]  # fmt: skip
    holds = [Hold(f"{b.name} end", b.name, "end", "floor", anchored) for b in backs]
    first = tuple(replace(hold, anchored=anchored) for hold in structure.holds)
    return replace(structure, bars=(*structure.bars, *backs), holds=(*first, *holds))


def test_a_person_at_the_front_tips_the_frame_about_its_posts() -> None:
    """Behind: two base bars; ahead: a person at the arms' tips, two arms and the front bar; posts on the line."""
    structure = based(with_arms(goal(replace(QUIET, person=500.0), anchored=False)))
    own = TUBE.mass_per_length * G
    behind = 2 * own * BASE * BASE / 2
    ahead = 500.0 * ARM + 2 * own * ARM * ARM / 2 + own * WIDTH * ARM
    found = tips(model_of(structure, "rigid"))
    assert found.factor == pytest.approx(behind / ahead, rel=0.03)
    assert found.case.startswith("a person hanging on the")
    assert found.ballast == pytest.approx((1.5 * ahead - behind) / (G * BASE), rel=0.03)


def test_the_ballast_that_is_asked_for_is_enough() -> None:
    structure = based(with_arms(goal(replace(QUIET, person=500.0), anchored=False)))
    short = tips(model_of(structure, "rigid"))
    weight = short.ballast * G * short.behind
    own = TUBE.mass_per_length * G
    ahead = 500.0 * ARM + 2 * own * ARM * ARM / 2 + own * WIDTH * ARM
    assert (2 * own * BASE * BASE / 2 + weight) / ahead == pytest.approx(1.5, rel=0.03)


def test_below_15_it_must_be_anchored_and_anchored_feet_pass() -> None:
    loads = replace(QUIET, person=500.0)
    (standing,) = tipping_check(model_of(based(with_arms(goal(loads, anchored=False))), "rigid"))
    assert not standing.ok
    assert standing.passes.startswith("anchored feet, or ")
    json.dumps(standing.as_data(), allow_nan=False)
    (firm,) = tipping_check(model_of(based(with_arms(goal(loads)), anchored=True), "rigid"))
    assert firm.ok
    assert firm.value == pytest.approx(standing.value)
    assert "its anchors hold it" in firm.why


def test_feet_in_one_line_hold_nothing_across_it() -> None:
    found = tips(model_of(goal(Loads(sideways=500.0), anchored=False), "rigid"))
    assert found.factor == 0.0
    assert found.ballast == float("inf")


def test_a_frame_that_nothing_pushes_does_not_tip() -> None:
    (check,) = tipping_check(model_of(based(goal(anchored=False)), "rigid"))
    assert check.ok


def test_edges_of_a_rectangle_look_outward_and_reach_across_it() -> None:
    found = edges([(0, 0, 0), (2, 0, 0), (2, 1, 0), (0, 1, 0)])
    assert sorted(round(edge.behind, 9) for edge in found) == [1.0, 1.0, 2.0, 2.0]
    middle = (1.0, 0.5)
    assert all((middle - edge.place) @ edge.outward < 0.0 for edge in found)


@given(push=st.floats(50.0, 2000.0))
def test_twice_the_push_is_half_the_factor_where_its_own_weight_tips_nothing(push: float) -> None:
    def factor(size: float) -> float:
        return tips(model_of(based(goal(replace(QUIET, sideways=size), anchored=False)), "rigid")).factor

    assert factor(2.0 * push) == pytest.approx(factor(push) / 2.0, rel=1e-6)
