"""Changes that are set, set back, added and taken out again."""

from __future__ import annotations

from pathlib import Path

import pytest

from flightsim.study.improve.adding import added
from flightsim.study.improve.plan import Plan
from flightsim.study.improve.space import choices, starters
from flightsim.study.run.open_bay import open_bay

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"


def garage(plan=None):
    return open_bay(GARAGE, () if plan is None else plan.sets)


def choice(opened, path):
    return next(one for one in choices(opened) if one.path == path)


def test_what_is_had_otherwise_is_not_had_in_two_ways():
    opened = open_bay(GARAGE)
    new = {starter.words: starter for starter in starters(opened)}
    tight, heavy = (new[f"the screen {words}"] for words in ("drawn tighter, 100 N/m", "of heavier cloth, 600 g/m2"))
    plan = Plan().with_added(added(tight, opened)).with_added(added(heavy, opened))
    assert len(plan.added) == 2
    both = open_bay(GARAGE, plan.sets)
    slack = next(starter for starter in starters(both) if "slacker" in starter.words)
    then = plan.with_added(added(slack, both))
    assert [one.starter.words for one in then.added] == [heavy.words, slack.words]
    (give,) = open_bay(GARAGE, then.sets).scenario.entries("screen_give")
    assert (give.areal_mass, give.pretension) == pytest.approx((0.6, 20.0))


def test_a_size_set_back_to_where_it_was_is_no_change():
    depth = choice(garage(), "canopy.depth")
    plan = Plan().with_value(depth, 1.3)
    again = choice(garage(plan), "canopy.depth")
    assert plan.sets == ("canopy.depth=1.3 m",)
    assert plan.with_value(again, 1.1) == Plan()
    assert plan.with_value(again, 1.4).changed[0].choice.present == 1.1


def test_the_further_a_size_goes_the_more_it_is_worth_avoiding_and_less_than_a_guard_added():
    opened = garage()
    depth = choice(opened, "canopy.depth")
    near, far = (Plan().with_value(depth, x).effort for x in (1.2, 1.5))
    new = Plan().with_added(added(starters(opened)[0], opened)).effort
    moved = Plan().with_value(choice(opened, "screen.gap_behind"), 0.5).effort
    assert moved < near < far < new


def test_taking_out_one_of_two_new_guards_leaves_the_other_where_its_list_then_has_it():
    opened, plan = garage(), Plan()
    for _ in range(2):
        pad = next(one for one in starters(opened) if one.path == "ceiling.pads.+")
        plan = plan.with_added(added(pad, opened))
        opened = garage(plan)
    second = choice(opened, "ceiling.pads.2.length")
    plan = plan.with_value(second, second.better[0])
    left = plan.without(plan.added[0])
    assert [one.path for one in left.added] == ["ceiling.pads.1"]
    assert left.changed[0].choice.places[0][0] == "ceiling.pads.1.length"
    assert len(garage(left).scenario.entries("ceiling")[0].pads) == 2


def test_taking_out_a_guard_takes_out_what_was_set_of_it():
    opened = garage()
    pad = next(one for one in starters(opened) if one.path == "ceiling.pads.+")
    plan = Plan().with_added(added(pad, opened))
    length = choice(garage(plan), "ceiling.pads.1.length")
    plan = plan.with_value(length, length.better[0])
    assert plan.without(plan.added[0]) == Plan()
