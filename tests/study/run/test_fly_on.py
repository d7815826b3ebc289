"""Flying on: the first shots are kept, it stops where no target may yet be shown, and each look has its part."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from flightsim.scenario.reading.written import Written
from flightsim.study.run import fly_on
from flightsim.study.run.fly_on import undecided, walk_on
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.target_result import TargetResult
from flightsim.study.run.walk import run

BAY = """
name: Shed
room: {length: 6.4 m, width: 4.2 m, roof: {kind: flat, height: 2.9 m}, wall_facing: brick}
tee: {from_end_wall: 3.3 m, from_left_wall: 2.1 m}
screen: {left_gap: 700 mm, right_gap: 700 mm, height: 2.4 m, gap_behind: 400 mm}
launches: {use: [wedge]}
"""
ONLY_OUT = [f"targets.{key}=none" for key in ("hitter_head", "hitter_head_hard", "body", "broke_through", "fragile",
            "hit_unprotected", "past_edge", "struck_through", "comes_back")]  # fmt: skip


@pytest.fixture
def steps(monkeypatch):
    monkeypatch.setattr(fly_on, "STEPS", (150, 400))


def test_a_run_that_goes_on_is_the_longer_run():
    opened = open_bay(Written(BAY))
    whole = run(opened, 130, 4)
    gone_on = run(opened, 130, 4, begun=run(opened, 50, 4))
    for one, other in ((whole.shots, gone_on.shots), (whole.contacts, gone_on.contacts), (whole.fates, gone_on.fates)):
        for column in fields(one):
            assert np.array_equal(getattr(one, column.name), getattr(other, column.name), equal_nan=True), column.name


def test_it_flies_on_until_a_target_is_shown_and_says_so(steps):
    said: list[str] = []
    opened = open_bay(Written(BAY), (*ONLY_OUT, "targets.got_out=1 in 20"))
    found = walk_on(opened, 60, 1, say=said.append)
    assert len(found.shots) == 150
    assert said == ["flying on to 150 shots, for 1 targets"]
    assert found.looks == 3
    assert next(one for one in found.targets if one.name == "got_out").met


def test_it_stops_at_once_where_nothing_is_undecided(steps):
    opened = open_bay(Written(BAY), (*ONLY_OUT, "targets.got_out=none"))
    assert len(walk_on(opened, 60, 1).shots) == 60


def test_it_stops_at_the_last_step_whatever_is_undecided(steps):
    opened = open_bay(Written(BAY), (*ONLY_OUT, "targets.got_out=1 in 100000"))
    assert len(walk_on(opened, 60, 1).shots) == 400


def test_only_what_is_seen_below_its_limit_may_yet_be_shown():
    blank = TargetResult("a", "rate", 0.01, 0.0, 0.05, False, False)
    result = replace(run(open_bay(Written(BAY)), 30, 1), targets=(
        blank, replace(blank, name="b", rate=0.02), replace(blank, name="c", met=True),
        replace(blank, name="d", met=None), replace(blank, name="e", kind="length")))  # fmt: skip
    assert undecided(result) == ["a"]
