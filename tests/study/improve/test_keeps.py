"""What a change may not spoil."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from flightsim.study.improve.keeps import Keeps, swing_of
from flightsim.study.improve.space import starter_sets, starters
from flightsim.study.run.open_bay import open_bay

SCENARIOS = Path(__file__).parents[3] / "scenarios"
GARAGE, HALL = SCENARIOS / "single_garage.yaml", SCENARIOS / "village_hall.yaml"


def broken(*sets, first=()):
    found, changed = open_bay(GARAGE, first), open_bay(GARAGE, (*first, *sets))
    return Keeps.of(found).broken(changed, swing_of(changed))


def test_a_change_that_spoils_nothing_is_kept():
    assert broken("canopy.depth=1.15m") == ""


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("screen.height=2.1m", "smaller"),
        ("screen.left_gap=300mm", "smaller"),
        ("canopy.front_lip=500mm", "where people walk"),
        ("side_nets.right={depth: 4.8 m, height: 2.2 m, offset: 60 mm}", "side door"),
    ],
)
def test_what_spoils_the_picture_headroom_or_a_door_is_told(change, words):
    assert words in broken(change)


@pytest.mark.parametrize("what", ["kitchen hatch", "open back"])
def test_a_net_may_hang_before_what_nobody_walks_through(what):
    opened = open_bay(HALL)
    net = next(each for each in starters(opened) if what in each.words)
    changed = open_bay(HALL, starter_sets(net, opened.scenario))
    assert Keeps.of(opened).broken(changed, swing_of(changed)) == ""


def test_a_swing_that_is_clear_stays_clear():
    opened = open_bay(GARAGE)
    keeps = Keeps.of(opened)
    swing = dict.fromkeys(swing_of(opened), 0.16)
    assert swing
    assert replace(keeps, swing=swing).broken(opened, dict.fromkeys(swing, 0.155)) == ""
    assert "swing" in replace(keeps, swing=swing).broken(opened, dict.fromkeys(swing, 0.14))


def test_what_is_as_bad_as_it_was_found_is_no_reason():
    assert broken("canopy.depth=1.15m", first=("canopy.front_lip=500mm",)) == ""
