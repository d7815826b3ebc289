"""What a change may not spoil."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from flightsim.study.improve.keeps import Keeps, measures_of, not_judged, swing_of
from flightsim.study.improve.kept_strength import loose_joints
from flightsim.study.improve.look import Flight, Look, goals_of
from flightsim.study.improve.plan import Plan
from flightsim.study.improve.space import choices, starter_sets, starters
from flightsim.study.improve.trials import Trials
from flightsim.study.run.open_bay import open_bay

SCENARIOS = Path(__file__).parents[3] / "scenarios"
COMMON, GARAGE, HALL = (SCENARIOS / f"{name}.yaml" for name in ("common_bay", "single_garage", "village_hall"))


def broken(*sets, first=()):
    found, changed = open_bay(GARAGE, first), open_bay(GARAGE, (*first, *sets))
    return Keeps.of(found).broken(changed, measures_of(changed))


def test_a_change_that_spoils_nothing_is_kept():
    assert broken("canopy.depth=1.11m") == ""


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("screen.height=2.1m", "smaller"),
        ("screen.right_gap=300mm", "smaller"),
        ("canopy.front_lip=500mm", "where people walk"),
        ("side_nets.right={depth: 4.8 m, height: 2.2 m, offset: 60 mm}", "side door"),
        (
            "ceiling.baffles.+={name: low net, from_end_wall: 6.2 m, from_left_wall: 50 mm, width: 3 m, drop: 2.3 m}",
            "garage door",
        ),
        ("side_nets.left.depth=2.9m", "clear of the left side net"),
    ],
)
def test_what_spoils_the_picture_headroom_or_a_door_is_told(change, words):
    assert words in broken(change)


@pytest.mark.parametrize("what", ["kitchen hatch", "open back"])
def test_a_net_may_hang_before_what_nobody_walks_through(what):
    opened = open_bay(HALL)
    net = next(each for each in starters(opened) if what in each.words)
    changed = open_bay(HALL, starter_sets(net, opened.scenario))
    assert Keeps.of(opened).broken(changed, measures_of(changed)) == ""


def test_a_swing_that_is_clear_stays_clear():
    opened = open_bay(GARAGE)
    keeps = Keeps.of(opened)
    swing = dict.fromkeys(swing_of(opened), 0.16)
    assert swing
    assert replace(keeps, swing=swing).broken(opened, dict.fromkeys(swing, 0.155)) == ""
    assert "swing" in replace(keeps, swing=swing).broken(opened, dict.fromkeys(swing, 0.14))


def test_nothing_that_is_hung_comes_nearer_to_a_swing_that_hits_something_else_already():
    assert swing_of(open_bay(GARAGE))["swing_room"] < 0.0
    assert "mm clear of the frame legs" in broken("canopy.depth=1.2m")


PICTURE = ("screen.picture_width=2.7m", "screen.picture_height=1.52m")  # of cloth of 2.88 by 2.3 m


@pytest.mark.parametrize(
    ("strip", "whole"),
    [
        ("{side: right, overlap: 60 mm, reach: 10 mm, facing: cloth}", True),
        ("{side: right, overlap: 250 mm, reach: 10 mm, facing: cloth}", False),
        ("{side: top, overlap: 700 mm, reach: 10 mm, facing: cloth}", True),
        ("{side: top, overlap: 800 mm, reach: 10 mm, facing: cloth}", False),
    ],
)
def test_a_picture_that_is_said_stays_whole_behind_strips(strip, whole):
    breaks = broken(f"screen.covers.+={strip}", first=PICTURE)
    assert (breaks == "") is whole
    assert ("picture" in breaks) is not whole


def test_a_lip_that_hides_the_top_of_the_picture_from_the_tee_is_no_change():
    tall = ("screen.picture_width=2.7m", "screen.picture_height=2.28m")
    assert broken("canopy.front_lip=120mm", first=tall) == ""
    measured = measures_of(open_bay(GARAGE, (*tall, "canopy.front_lip=600mm")))
    assert measured["screen.picture_screen"] < 0.0 < measures_of(open_bay(GARAGE, tall))["screen.picture_screen"]


def test_new_strips_leave_a_picture_whole_or_are_not_offered():
    def overlaps(*sets):
        given = [one for one in starters(open_bay(GARAGE, sets)) if ".covers." in one.path]
        return {one.entry["side"]: one.entry["overlap"] for one in given}

    assert overlaps() == dict.fromkeys(("left", "right", "top"), 0.2)
    assert overlaps(*PICTURE) == pytest.approx({"left": 0.09, "right": 0.09, "top": 0.2})
    assert "left" not in overlaps("screen.picture_width=2.85m", "screen.picture_height=1.6m")


def test_what_cannot_be_judged_is_said():
    assert [words for words in not_judged(open_bay(GARAGE)) if "picture" in words]
    assert not_judged(open_bay(GARAGE, PICTURE)) == ()
    assert [words for words in not_judged(open_bay(GARAGE, ("frame=null",))) if "no frame" in words]


def trials_of(opened):
    goals = goals_of(opened)
    look = Look.of(Flight.of(opened, 256, 1, False), goals, np.ones(len(goals)), 1)
    return Trials(opened, Keeps.of(opened), look)


def test_a_canopy_that_is_raised_above_the_posts_brings_posts_that_go_up_to_it():
    opened = open_bay(COMMON, ("frame.post_top=top_bar",))
    higher = next(one for one in choices(opened) if one.path == "canopy.height")
    plan = Plan().with_value(higher, 2.8)
    raised = open_bay(COMMON, (*opened.scenario.overrides, *plan.sets))
    assert loose_joints(raised)
    assert "would not meet" in Keeps.of(opened).loosened(raised)
    fitted, bay, why, _ = trials_of(opened).bay(plan)
    assert bay is not None, why
    assert not loose_joints(bay)
    assert "uprights of the frame that go up" in fitted.added[0].in_words


def test_a_change_that_leaves_the_frame_apart_is_refused():
    opened = open_bay(COMMON, ("may_change={stays: [frame]}", "frame.post_top=top_bar"))
    higher = next(one for one in choices(opened) if one.path == "canopy.height")
    _, bay, why, _ = trials_of(opened).bay(Plan().with_value(higher, 2.8))
    assert bay is None
    assert "the frame would not meet any more: the start of the frame left side bar lies on no bar" in why


def test_what_is_as_bad_as_it_was_found_is_no_reason():
    assert broken("canopy.depth=1.11m", first=("canopy.front_lip=500mm",)) == ""
