"""Scenarios and bays in Python: the same bay by whatever way it is given, and clear words where it is none."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import yaml

import flightsim
from flightsim.bay.parts import IN_CODE, Part, Role
from flightsim.bay.shapes import rectangle
from flightsim.scenario.reading.problems import ScenarioError

GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"
SHOTS = 200
EMPTY_HALL = {
    "name": "Empty hall",
    "room": {"length": "12 m", "width": "8 m", "roof": {"kind": "flat", "height": "5 m"}},
    "tee": {"from_end_wall": "4 m", "from_left_wall": "4 m"},
    "launches": {"use": ["driver"]},
}


class OddError(Exception):
    pass


def sheet(name="sail", role=Role.GUARD, facing="cloth"):
    shape = rectangle(np.array([3.0, -3.0, 0.0]), np.array([0.0, 6.0, 0.0]), np.array([0.0, 0.0, 4.0]))
    return Part(name, shape, role, facing, "anyone")


def test_a_file_its_text_and_its_data_are_the_same_bay():
    text = GARAGE.read_text(encoding="utf-8")
    runs = [flightsim.run(given, SHOTS) for given in (str(GARAGE), GARAGE, text, yaml.safe_load(text))]
    for other in runs[1:]:
        assert np.array_equal(runs[0].result.outcome, other.result.outcome)
        assert np.array_equal(runs[0].result.contacts.point, other.result.contacts.point, equal_nan=True)


def test_changes_are_those_of_the_command_line_whatever_they_hold():
    bay = flightsim.load(GARAGE)
    other = bay.with_changes(
        {"canopy.depth": "1.4 m", "name": "A: b # c", "plugins": [], "air.humidity": np.float64(0.4)}
    )
    opened = flightsim.open_bay(other).scenario
    assert opened.entries("canopy")[0].depth == pytest.approx(1.4)
    assert opened.name == "A: b # c"
    assert opened.air.humidity == 0.4
    assert bay.changes == ()
    assert flightsim.open_bay(bay.with_changes({"canopy": None})).scenario.entries("canopy") == ()
    assert flightsim.open_bay(bay.with_changes(None, "canopy.depth=1.3m")).scenario.entries("canopy")[0].depth == 1.3


def test_what_is_wrong_in_text_is_told_with_its_line():
    with pytest.raises(ScenarioError, match=r"\(in code\):2: .*nmae|nmae"):
        flightsim.load("# a bay\nnmae: x\n")


@pytest.mark.parametrize("given", [42, None, ["name"]])
def test_what_can_be_no_scenario_is_refused_with_a_way_out(given):
    with pytest.raises(flightsim.BadInputError, match="allowed: a path, the text"):
        flightsim.load(given)


def test_data_that_yaml_has_no_words_for_is_refused_with_a_way_out():
    with pytest.raises(flightsim.BadInputError, match="allowed: text, numbers"):
        flightsim.load({**EMPTY_HALL, "name": OddError})
    with pytest.raises(flightsim.BadInputError, match="allowed: text with a unit"):
        flightsim.load(GARAGE).with_changes({"name": OddError})


def test_a_bay_of_shapes_stops_the_balls_that_meet_them():
    bare = flightsim.run(EMPTY_HALL, SHOTS)
    bay = flightsim.open_bay(EMPTY_HALL, [sheet()])
    hung = flightsim.run(bay, SHOTS)
    met = [bay.bay.parts[k].name for k in hung.result.contacts.part if k >= 0]
    assert met.count("sail") > 0.5 * SHOTS
    assert bay.bay.owned_by(IN_CODE)[0].name == "sail"
    assert not any(part.role is Role.GUARD for part in bare.bay.bay.parts)


def test_parts_in_code_stay_when_the_bay_is_changed():
    bay = flightsim.open_bay(EMPTY_HALL, [sheet()])
    found = flightsim.compare(bay, changes={"room.width": "9 m", "tee.from_left_wall": "4.5 m"}, shots=SHOTS)
    assert all("sail" in {part.name for part in one.bay.parts} for one in found.bays)
    again = flightsim.open_bay(bay, [sheet("second sail", facing="net")])
    assert {"sail", "second sail"} <= {part.name for part in again.bay.parts}


def test_a_part_of_a_taken_name_a_strange_shape_or_an_unknown_facing_is_refused():
    with pytest.raises(flightsim.BadInputError, match="names that differ"):
        flightsim.open_bay(EMPTY_HALL, [sheet(), sheet()])
    with pytest.raises(flightsim.BadInputError, match="shape of its own"):
        flightsim.open_bay(EMPTY_HALL, [replace(sheet(), shape=OddError)])
    with pytest.raises(flightsim.BadInputError, match="bubble wrap"):
        flightsim.open_bay(EMPTY_HALL, [sheet(facing="bubble wrap")])
