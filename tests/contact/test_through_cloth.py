"""Balls into cloth that gives: what is within its reach, past its edges, and through two of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bare_parts import bench, box_of, wall
from bays import STRAIGHT, around, follow, shots, vector
from own_tests import compiled_when_asked

from flightsim.bay.parts import Opening, Role
from flightsim.cloth.closed_form import speed_left
from flightsim.contact.arc_test import ArcTest
from flightsim.contact.facings import Facing, shipped_facings
from flightsim.contact.fates import Flag, Outcome
from flightsim.contact.rebound import Hits, Rebounds, by_facing, off_cloth
from flightsim.flight.ball import LEGAL_BALL

MASS = LEGAL_BALL.mass


def giving(depth: float, back: float = 0.15):
    """A law: every hit sinks so deep, whatever its speed."""

    def law(hits: Hits) -> Rebounds:
        after = off_cloth(hits, np.full(hits.point.shape[1], back))
        return replace(after, sink=np.full(hits.point.shape[1], depth))

    return law


SCREEN, GAP = 1.0, 0.3  # the cloth hangs at x = 1 m, and what is behind it begins 0.3 m further


def behind_cloth(*things, zones=(), openings=()):
    cloth = wall("cloth", SCREEN, Role.GUARD, "cloth")
    return box_of(cloth, *things, zones=zones, openings=openings)


def test_a_wall_within_the_reach_of_the_cloth_is_struck_with_the_speed_that_is_left():
    made = behind_cloth(wall("brick", SCREEN + GAP, facing="brick"))
    for depth, struck in ((0.4, True), (0.25, False)):
        fates = follow(around(made, {"cloth": giving(depth)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
        assert fates.flags[Flag.STRUCK_THROUGH, 0] is np.bool_(struck)
        if struck:
            # V (1 - (z/d)^1.5), the cloth d deep, the wall met after the gap [cloth-form].
            assert fates.worst[Flag.STRUCK_THROUGH, 0] == pytest.approx(50.0 * (1 - (GAP / depth) ** 1.5), rel=1e-6)
            assert made.parts[fates.place[Flag.STRUCK_THROUGH, 0]].name == "brick"
        assert fates.contacts[0] >= 1


@pytest.mark.parametrize(("energy", "struck"), [(2.25, False), (2.35, True)])
def test_a_wall_is_struck_through_from_the_energy_that_marks_something_on(energy, struck):
    """2.3 J, 10 m/s, not the .57 J of an eye: no wall minds that."""
    left = np.sqrt(2.0 * energy / LEGAL_BALL.mass)
    depth = GAP / (1.0 - left / 50.0) ** (2.0 / 3.0)  # V (1 - (z/d)^1.5) at the wall
    made = behind_cloth(brick_behind())
    fates = follow(around(made, {"cloth": giving(depth)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert fates.flags[Flag.STRUCK_THROUGH, 0] is np.bool_(struck)


def test_what_less_damages_is_struck_through_from_there_on():
    left = np.sqrt(2.0 * 1.2 / LEGAL_BALL.mass)
    depth = GAP / (1.0 - left / 50.0) ** (2.0 / 3.0)
    for damage, struck in ((1.1, True), (1.3, False)):
        made = behind_cloth(wall("pane", SCREEN + GAP, facing="pane"))
        place = around(made, {"cloth": giving(depth)}, pane=Facing("pane", own=0.9, damage=damage))
        fates = follow(place, shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
        assert fates.flags[Flag.STRUCK_THROUGH, 0] is np.bool_(struck)


def test_another_guard_within_reach_is_not_struck_but_what_is_behind_both_is():
    liner = wall("liner", SCREEN + 0.1, Role.GUARD, "foam on plywood")
    brick = wall("brick", SCREEN + GAP, facing="brick")
    made = behind_cloth(liner, brick)
    fates = follow(around(made, {"cloth": giving(0.4)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert made.parts[fates.place[Flag.STRUCK_THROUGH, 0]].name == "brick"


def test_a_person_behind_the_cloth_within_its_reach_is_hit_and_beyond_it_is_not():
    made = behind_cloth(zones=(bench((SCREEN + GAP, SCREEN + 1.0), "door"),))
    for depth, hurt in ((0.5, True), (0.25, False)):
        fates = follow(around(made, {"cloth": giving(depth)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
        assert fates.flags[Flag.PERSON_HIT, 0] is np.bool_(hurt)
        if hurt:
            assert fates.worst[Flag.PERSON_HIT, 0] == pytest.approx(50.0 * (1 - (GAP / depth) ** 1.5), rel=0.02)


def test_a_ball_comes_back_off_the_wall_through_the_cloth_harder_than_off_the_cloth_alone():
    made = behind_cloth(wall("brick", SCREEN + GAP, facing="brick"))
    ball = shots(((0, 0, 0), (50.0, 0, 0)))
    through, alone = (follow(around(made, {"cloth": giving(d)}), ball, STRAIGHT).contacts.leaving[0, 0]
                      for d in (0.6, 0.2))  # fmt: skip
    assert alone == pytest.approx(-0.15 * 50.0)
    left = float(speed_left(50.0, GAP, 0.6))
    brick = shipped_facings()["brick"]
    assert through == pytest.approx(-left * float(brick.restitution(np.array([left]), LEGAL_BALL)[0]), rel=1e-6)


def past_edge(share: float, sink: float = 0.0):
    """A law: every fast ball gets past once the cloth has sunk so far, with a share of its speed."""

    def law(hits: Hits) -> Rebounds:
        k, comes = hits.point.shape[1], (hits.velocity**2).sum(axis=0) > 38.0**2
        after = by_facing(hits)
        velocity = np.where(comes, share * hits.velocity, after.velocity)
        return replace(after, velocity=velocity, past=comes, sink=np.full(k, sink), held=after.held & ~comes)

    return law


def brick_behind(gap: float = GAP):
    return wall("brick", SCREEN + gap, facing="brick")


def test_a_ball_past_an_edge_flies_on_with_the_speed_it_has_left_and_strikes_what_is_behind():
    made = behind_cloth(brick_behind())
    ended = follow(around(made, {"cloth": past_edge(0.8)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT)
    assert ended.fates.worst[Flag.PAST_EDGE, 0] == pytest.approx(40.0)
    assert made.parts[ended.fates.place[Flag.PAST_EDGE, 0]].name == "cloth"
    assert ended.fates.worst[Flag.HIT_UNPROTECTED, 0] == pytest.approx(40.0)
    assert made.parts[ended.fates.place[Flag.HIT_UNPROTECTED, 0]].name == "brick"


def test_a_guard_behind_the_edge_keeps_a_ball_in_that_slipped_past():
    made = behind_cloth(wall("liner", SCREEN + 0.15, Role.GUARD, "cloth"), brick_behind())
    fates = follow(around(made, {"cloth": past_edge(0.8)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert not fates.flags.any()
    assert fates.contacts[0] >= 2


@pytest.mark.parametrize("apart", [0.0, 0.01, 0.04])
def test_a_second_cloth_close_behind_hides_no_ball_that_gets_past_both(apart):
    second = wall("second", SCREEN + apart, Role.GUARD, "cloth")
    made = behind_cloth(second, brick_behind())
    laws = {"cloth": past_edge(0.8), "second": past_edge(0.7)}
    fates = follow(around(made, laws), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert not fates.flags[Flag.UNRESOLVED].any()
    assert fates.worst[Flag.HIT_UNPROTECTED, 0] == pytest.approx(0.56 * 50.0)
    assert fates.worst[Flag.PAST_EDGE, 0] == pytest.approx(0.56 * 50.0)
    assert made.parts[fates.place[Flag.PAST_EDGE, 0]].name == "second"


def test_a_ball_that_a_close_second_cloth_sends_back_passes_the_opened_edge_again():
    made = behind_cloth(wall("second", SCREEN + 0.01, Role.GUARD, "cloth"))
    ended = follow(around(made, {"cloth": past_edge(0.8)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT)
    assert not ended.fates.flags[[Flag.UNRESOLVED, Flag.PAST_EDGE]].any()
    assert [made.parts[k].name for k in ended.contacts.part] == ["cloth", "second"]


def test_past_an_edge_and_out_is_both():
    way_out = np.array([[3, -3, -3], [3, 3, -3], [3, 3, 3], [3, -3, 3]], dtype=float)
    made = behind_cloth(openings=(Opening("open end", way_out, vector(1, 0, 0), "test"),))
    fates = follow(around(made, {"cloth": past_edge(0.5)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert fates.worst[[Flag.GOT_OUT, Flag.PAST_EDGE], 0] == pytest.approx([25.0, 25.0])


def test_a_person_behind_an_opened_edge_is_hit_by_what_slips_past():
    made = behind_cloth(brick_behind(1.5), zones=(bench((SCREEN + GAP, SCREEN + 1.0), "door"),))
    fates = follow(around(made, {"cloth": past_edge(0.5)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT).fates
    assert fates.worst[Flag.PERSON_HIT, 0] == pytest.approx(25.0)


def test_a_wall_nearer_than_the_depth_at_which_the_edge_lets_go_is_struck_through_the_cloth():
    made = behind_cloth(brick_behind(0.1))
    ended = follow(around(made, {"cloth": past_edge(0.4, sink=0.25)}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT)
    left = 50.0 * (1.0 - 0.6 * (0.1 / 0.25) ** 1.5)
    assert ended.fates.worst[Flag.STRUCK_THROUGH, 0] == pytest.approx(left, rel=1e-6)
    assert made.parts[ended.fates.place[Flag.STRUCK_THROUGH, 0]].name == "brick"
    assert ended.contacts.leaving[0, 0] < 0.0


def test_a_ball_that_the_law_has_no_answer_for_is_unresolved_and_not_followed_further():
    def unknown(hits: Hits) -> Rebounds:
        return replace(by_facing(hits), unresolved=np.ones(hits.point.shape[1], dtype=bool))

    ended = follow(around(behind_cloth(), {"cloth": unknown}), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT)
    assert ended.outcomes == [Outcome.UNRESOLVED]
    assert ended.fates.worst[Flag.UNRESOLVED, 0] == pytest.approx(50.0)
    assert ended.fates.contacts[0] == 1


def test_a_ball_of_which_nobody_knows_what_it_strikes_behind_the_cloth_is_unresolved():
    """The search gave no answer for its way into the cloth: that it strikes nothing was not shown."""
    made = behind_cloth(wall("brick", SCREEN + GAP, facing="brick"))
    plain = around(made, {"cloth": giving(0.4)})
    fates = follow(
        replace(plain, tests=(ArcTest("brick", unsure()),)), shots(((0, 0, 0), (50.0, 0, 0))), STRAIGHT
    ).fates
    assert fates.flags[Flag.UNRESOLVED].all()
    assert fates.worst[Flag.UNRESOLVED, 0] == pytest.approx(50.0)


@compiled_when_asked
def unsure(path, terms, duration, radius, tau, until, normal):
    """Ways into cloth alone take a second; to all others the part is not there."""
    return np.nan if duration == 1.0 else np.inf
