"""What may be changed is what fields declare, in their bounds, and `may_change` has the last word."""

from __future__ import annotations

import pytest
from shipped import AS_FOUND, FOLDER

from flightsim.cloth.fabric import Cloth
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.load import load_scenario
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.study.improve.space import Tier, choices, starter_sets, starters
from flightsim.study.run.open_bay import all_sections, open_bay
from flightsim_plugins.screen_give_starters import otherwise

GARAGE = FOLDER / "single_garage.yaml"


def of(path, *sets):
    return {choice.path: choice for choice in choices(open_bay(path, sets))}


def test_no_value_leaves_the_bounds_of_its_field_and_none_is_what_stands():
    found = of(GARAGE)
    assert max(found["canopy.depth"].values) == 1.5
    assert min(found["screen.gap_behind"].values) >= 0.3
    assert all(choice.present not in choice.values for choice in found.values())


def test_what_may_change_bounds_and_what_stays_is_not_there():
    bounds = "may_change={stays: [side_nets.left], sizes: {canopy.depth: {most: 1.3 m, step: 20 mm}}}"
    found = of(GARAGE, bounds)
    assert max(found["canopy.depth"].values) == pytest.approx(1.3)
    assert min(found["canopy.depth"].better) == pytest.approx(1.12)
    assert not any(path.startswith("side_nets.left") for path in found)
    assert any(path.startswith("side_nets.right") for path in found)


def test_the_tee_keeps_its_distances_from_the_screen_and_the_back():
    opened = open_bay(GARAGE)
    tee = {choice.path: choice for choice in choices(opened)}["tee"]
    gap = opened.scenario.entries("screen")[0].gap_behind
    assert min(tee.values) - gap >= 2.7 - 1e-9
    assert max(tee.values) - gap <= 4.0 + 1e-9
    assert opened.scenario.room.length - max(tee.values) >= 2.1 - 1e-9


def test_all_spots_move_with_the_tee():
    sets = of(FOLDER / "village_hall.yaml")["tee"].sets(4.0)
    assert len(sets) == 3
    assert all("from_end_wall=" in change for change in sets)


def test_what_is_hung_elsewhere_is_less_work_than_what_is_larger():
    found = of(GARAGE)
    assert found["screen.gap_behind"].tier is Tier.ADJUST
    assert found["canopy.depth"].tier is Tier.RESIZE


def test_guards_that_are_missing_may_be_added_as_their_plugins_begin_them():
    opened = open_bay(GARAGE, ("side_nets.left=null",))
    new = {starter.path: starter for starter in starters(opened)}
    assert "side_nets.left" in new
    assert "side_nets.right" not in new
    open_bay(GARAGE, ("side_nets.left=null", *starter_sets(new["side_nets.left"], opened.scenario)))


@pytest.mark.parametrize("path", AS_FOUND, ids=lambda path: path.stem)
def test_every_starter_of_a_demo_is_spelt_as_a_file_would_have_it(path):
    opened = open_bay(path)
    sections = all_sections(opened.plugins)
    for starter in starters(opened):
        load_scenario(path, sections, starter_sets(starter, opened.scenario))


def test_a_screen_may_be_had_of_heavier_cloth_and_no_lighter():
    new = {starter.words: starter for starter in starters(open_bay(GARAGE))}
    heavy = new["the screen of heavier cloth, 600 g/m2"]
    sets = starter_sets(heavy, open_bay(GARAGE).scenario)
    assert not heavy.adds
    assert heavy.bought
    assert open_bay(GARAGE, sets).scenario.entries("screen_give")[0].areal_mass == pytest.approx(0.6)
    again = [starter.words for starter in starters(open_bay(GARAGE, sets))]
    assert not any("heavier" in words for words in again)
    assert any("slacker" in words for words in again)


def test_what_is_drawn_otherwise_goes_to_the_entry_that_stands():
    opened = open_bay(GARAGE, ("screen_give={areal_mass: 600 g/m2}",))
    slack = next(starter for starter in starters(opened) if "slacker" in starter.words)
    entry = open_bay(GARAGE, (*opened.scenario.overrides, *starter_sets(slack, opened.scenario)))
    (give,) = entry.scenario.entries("screen_give")
    assert give.areal_mass == pytest.approx(0.6)
    assert give.pretension == pytest.approx(20.0)


def test_foam_goes_around_the_tubes_that_are_named_and_no_other():
    opened = open_bay(FOLDER / "lean_to.yaml")
    foam = next(starter for starter in starters(opened) if "the front bar" in starter.words)
    (frame,) = open_bay(FOLDER / "lean_to.yaml", starter_sets(foam, opened.scenario)).scenario.entries("frame")
    assert (frame.padding, frame.padded) == ("foam", ("front_bar",))


def test_nets_are_offered_before_what_stands_open_and_nobody_walks_through():
    hall = {starter.words for starter in starters(open_bay(FOLDER / "village_hall.yaml"))}
    assert {"a net before the kitchen hatch", "a net across the open back"} <= hall
    assert not any("fire exit" in words or "high window" in words for words in hall)


def test_no_guard_is_added_where_none_may_be():
    assert starters(open_bay(GARAGE, ("side_nets.left=null", "may_change.new_guards=false"))) == []
    only = starters(open_bay(GARAGE, ("side_nets.left=null", "may_change.new_guards=[ceiling]")))
    assert {starter.path.split(".")[0] for starter in only} == {"ceiling"}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("may_change.stay=[canopy]", "stays"),
        ("may_change.stays=[canpy]", "canopy"),
        ("may_change.sizes={canopy.dept: {most: 1 m}}", "canopy.depth"),
        ("may_change.sizes={canopy.depth: {least: 2 m, most: 1 m}}", "least is more than most"),
        ("may_change.new_guards=[nets]", "side_nets"),
        ("may_change.tee_nearest=5 m", "tee_nearest is more than tee_farthest"),
    ],
)
def test_a_wrong_may_change_is_refused_with_a_way_out(change, words):
    with pytest.raises(ScenarioError, match=words):
        open_bay(GARAGE, (change,))


def test_turf_is_offered_on_a_bare_slab_no_higher_than_the_mat_that_lies_in_it():
    def turf(*sets):
        opened = open_bay(GARAGE, sets)
        return [starter_sets(one, opened.scenario) for one in starters(opened) if "turf" in one.words]

    assert turf() == []  # it has turf
    assert turf("room.turf_height=0m") == [("room.turf_height=20 mm",)]
    assert turf("room.turf_height=0m", "tee.mat.height=15mm") == [("room.turf_height=10 mm",)]
    assert turf("room.turf_height=0m", "room.floor_facing=rubber") == []
    opened = open_bay(GARAGE, ("room.turf_height=0m", "tee.mat.height=15mm"))
    (sets,) = (starter_sets(one, opened.scenario) for one in starters(opened) if "turf" in one.words)
    open_bay(GARAGE, ("room.turf_height=0m", "tee.mat.height=15mm", *sets))


def test_another_cloth_is_told_in_the_units_of_the_reader():
    texts = [words for words, _, _ in otherwise(Cloth(pretension=50.0), Display("imperial"))]
    assert "of heavier cloth, 17.7 oz/yd2" in texts
    assert "drawn tighter, 6.9 lbf/ft" in texts
    assert not any("N/m" in words or "g/m2" in words for words in texts)
