"""Pulls and shears of anchors by hand; what is not known is not passed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from goals import HEIGHT, QUIET, TUBE, WIDTH, bracketed, goal

from flightsim.making.strength.anchors import FRICTION, anchor_checks, anchor_forces, lift_checks, slide_checks
from flightsim.making.strength.model import model_of
from flightsim.making.structure import Anchors, Structure

PUSHED = replace(QUIET, sideways=500.0)
KNOWN = Anchors(2, 3000.0, 4000.0, 0.12, 0.10, 0.10, 0.08)


def forces_of(structure: Structure) -> dict[str, float]:
    return {each.name: each.pull for each in anchor_forces((model_of(structure, "pinned"),))}


def test_a_push_toward_the_tee_pulls_its_wall_bracket_by_15_times_as_much() -> None:
    """With pinned joints and pinned feet the head's push goes along the wall bar alone."""
    (each,) = [a for a in anchor_forces((model_of(bracketed(goal(PUSHED)), "pinned"),)) if a.name == "left bracket"]
    assert each.pull == pytest.approx(1.5 * 500.0, rel=1e-3)  # the slanting bar takes a little
    assert each.pull_each == pytest.approx(each.pull)  # one of two is taken to carry it
    assert each.case == "a push toward the tee at the top of left upright, pinned joints"


def test_capacity_that_is_not_known_is_not_passed_and_what_to_ask_for_is_said() -> None:
    model = model_of(bracketed(goal(PUSHED)), "pinned")
    checks = anchor_checks(model, anchor_forces((model,)))
    pull = next(check for check in checks if check.name == "pull on each anchor of left bracket")
    assert (pull.limit, pull.ok) == (None, False)
    assert pull.passes == "an anchor for 0.8 kN by its maker's table, in this base"
    for name in ("base under the anchors", "anchors to the edge"):
        assert not next(check for check in checks if check.name == name).ok


@pytest.mark.parametrize(("anchors", "ok"), [
    (KNOWN, True), (replace(KNOWN, pull_capacity=700.0), False), (replace(KNOWN, base=0.09), False),
    (replace(KNOWN, edge=0.07), False), (replace(KNOWN, shear_capacity=10.0), False),
    (replace(KNOWN, base_needed=None), False),
])  # fmt: skip
def test_known_anchors_pass_only_with_all_their_makers_figures_kept(anchors: Anchors, ok: bool) -> None:
    model = model_of(replace(bracketed(goal(PUSHED)), anchors=anchors), "pinned")
    assert all(check.ok for check in anchor_checks(model, anchor_forces((model,)))) is ok


def test_pull_and_shear_that_pass_alone_may_fail_together() -> None:
    model = model_of(bracketed(goal(PUSHED)), "pinned")
    (slant,) = [each for each in anchor_forces((model,)) if each.name == "left brace bracket"]
    tight = Anchors(2, slant.pull_each * 1.1, slant.shear_each * 1.1, 1.0, 0.1, 1.0, 0.1)
    model = replace(model, structure=replace(model.structure, anchors=tight))
    found = {check.name: check.ok for check in anchor_checks(model, (slant,))}
    assert found["pull on each anchor of left brace bracket"]
    assert found["shear on each anchor of left brace bracket"]
    assert not found["pull and shear together on left brace bracket"]


def test_a_foot_that_only_stands_and_would_lift_is_told() -> None:
    structure = bracketed(goal(replace(QUIET, sideways=500.0), anchored=False))
    found = {check.name: check for check in lift_checks(model_of(structure, "rigid"))}
    assert set(found) == {"lift of left upright foot", "lift of right upright foot"}
    quiet = bracketed(goal(anchored=False))
    assert all(check.ok for check in lift_checks(model_of(quiet, "rigid")))


def test_both_kinds_of_joints_count_and_the_worse_is_given() -> None:
    structure = bracketed(goal(PUSHED))
    both = anchor_forces((model_of(structure, "rigid"), model_of(structure, "pinned")))
    one = forces_of(structure)
    assert all(each.pull >= one[each.name] - 1e-9 for each in both)


def test_cords_pull_standing_feet_inward_and_friction_must_hold_them() -> None:
    """With pinned joints half of a post's cord pull comes to its foot; half the steel of the goal stands on it."""
    structure = bracketed(goal(replace(QUIET, cord_pull=100.0), anchored=False))
    found = {check.name: check for check in slide_checks(model_of(structure, "pinned"))}
    check = found["slide of left upright foot"]
    assert check.value == pytest.approx(100.0 * HEIGHT / 2, rel=0.01)
    on_foot = 9.80665 * TUBE.mass_per_length * (HEIGHT + WIDTH / 2) + 100.0 * WIDTH / 2
    assert check.limit == pytest.approx(FRICTION * on_foot, rel=0.12)  # and a little of the bars to the wall
    assert not check.ok
    assert check.passes == "anchor it, or a bar on the floor between the feet"


def test_anchored_feet_need_no_friction() -> None:
    assert slide_checks(model_of(bracketed(goal(replace(QUIET, cord_pull=100.0))), "pinned")) == ()
