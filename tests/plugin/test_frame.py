"""The frame's tubes, worked out by hand from the scenario's text."""

from __future__ import annotations

import numpy as np
import pytest

from flightsim.bay.overlap import depth_of_overlap
from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import Box, RoundTube
from flightsim.plugin.hookspecs import BayPieces, BaySetup
from flightsim.plugin.testing import scenario_of, with_plugins
from flightsim.scenario.reading.problems import ScenarioError
from flightsim_plugins.frame import flightsim_facings, flightsim_parts

PLUGINS = with_plugins()
ROOM = """\
name: Test
units: metric
room: {length: 6 m, width: 3.4 m, roof: {kind: flat, height: 2.8 m}}
tee: {from_end_wall: 3.6 m, from_left_wall: 1.7 m}
"""
SCREEN = "screen: {width: 2.8 m, height: 2.2 m, gap_behind: 400 mm, above_floor: 50 mm}\n"
CANOPY = "canopy: {depth: 1 m, height: 2.4 m}\n"
BAY = ROOM + SCREEN + CANOPY


def setup(frame: str, bay: str = BAY) -> BaySetup:
    scenario = scenario_of(bay + (f"frame: {frame}\n" if frame else ""), PLUGINS)
    return BaySetup(scenario.entries("frame"), scenario)


def pieces(frame: str, bay: str = BAY) -> BayPieces:
    return flightsim_parts(setup(frame, bay))


def named(found: BayPieces, name: str) -> Part:
    (part,) = [part for part in found.parts if part.name == name]
    return part


def bounds(found: BayPieces, name: str) -> list[float]:
    lower, upper = named(found, name).shape.bounds()
    return [*lower, *upper]


def problems_of(frame: str, bay: str = BAY) -> list[tuple[str, str]]:
    return [(p.key, p.found) for p in pieces(frame, bay).problems]


def test_without_the_section_there_are_no_tubes() -> None:
    assert pieces("").parts == ()


def test_uprights_and_top_bar_stand_a_clearance_outside_the_cloth() -> None:
    found = pieces("{}")
    assert bounds(found, "frame left upright") == pytest.approx([3.175, 1.45, 0, 3.225, 1.5, 2.35])
    assert bounds(found, "frame right upright") == pytest.approx([3.175, -1.5, 0, 3.225, -1.45, 2.35])
    assert bounds(found, "frame top bar") == pytest.approx([3.175, -1.45, 2.3, 3.225, 1.45, 2.35])
    assert not found.problems


def test_a_cloth_canopy_hangs_between_side_bars_and_a_front_bar_at_its_own_height() -> None:
    found = pieces("{}")
    assert bounds(found, "frame front bar") == pytest.approx([2.1, -1.45, 2.375, 2.15, 1.45, 2.425])
    assert bounds(found, "frame left side bar") == pytest.approx([2.1, 1.45, 2.375, 3.175, 1.5, 2.425])


def test_a_board_touches_the_bars_around_it() -> None:
    found = pieces("{}", BAY.replace("height: 2.4 m", "height: 2.4 m, thickness: 20 mm"))
    assert bounds(found, "frame front bar")[0::3] == pytest.approx([2.15, 2.2])
    assert bounds(found, "frame front bar")[2::3] == pytest.approx([2.385, 2.435])


def test_bars_above_a_board_lie_on_it_within_its_edges() -> None:
    found = pieces("{canopy_bars: above}", BAY.replace("height: 2.4 m", "height: 2.4 m, thickness: 20 mm"))
    assert bounds(found, "frame front bar") == pytest.approx([2.2, -1.35, 2.42, 2.25, 1.35, 2.47])
    assert bounds(found, "frame left side bar")[1::3] == pytest.approx([1.35, 1.4])


def test_bars_follow_the_canopys_slope() -> None:
    found = pieces("{}", BAY.replace("height: 2.4 m", "height: 2.4 m, slope: 10 deg"))
    front = named(found, "frame front bar").shape
    assert isinstance(front, Box)
    rise = 1.075 * np.sin(np.radians(10.0))
    assert front.centre == pytest.approx([3.2 - 1.075 * np.cos(np.radians(10.0)), 0, 2.4 + rise])
    up = np.array([np.sin(np.radians(10.0)), 0.0, np.cos(np.radians(10.0))])
    assert np.abs(front.axes @ up).max() == pytest.approx(1.0)


def test_all_tubes_are_unprotected_parts_of_this_plugin_with_names_of_their_own() -> None:
    found = pieces("{front_support: legs, base_length: 800 mm}")
    assert {part.role for part in found.parts} == {Role.UNPROTECTED}
    assert {part.owner for part in found.parts} == {"frame"}
    assert {part.facing for part in found.parts} == {"steel"}
    assert {part.label for part in found.parts} == {
        "frame uprights", "frame top bar", "frame side bars", "frame front bar", "frame legs", "frame base bars",
    }  # fmt: skip
    names = [part.name for part in found.parts]
    assert len(names) == len(set(names)) == 10


@pytest.mark.parametrize("frame", [
    "{}", "{canopy_bars: above}", "{front_support: legs, base_length: 2 m}", "{front_support: hangers}",
    "{padding: foam}", "{padding: foam, padded: [front_bar], front_support: legs}",
    "{padding: foam, padded: [uprights, legs], front_support: legs, base_length: 2 m}",
    "{padding: foam, front_support: legs, base_length: 2 m, canopy_bars: above}",
])  # fmt: skip
@pytest.mark.parametrize("slope", [-8, 0, 8])
def test_no_two_tubes_go_through_one_another(frame: str, slope: int) -> None:
    bay = BAY.replace("height: 2.4 m", f"height: 2.4 m, slope: {slope} deg").replace("2.8 m}}", "3.5 m}}")
    found = pieces(frame, bay)
    assert not found.problems
    for k, first in enumerate(found.parts):
        for second in found.parts[:k]:
            assert depth_of_overlap(first.shape, second.shape) < 5e-3, (first.name, second.name)


def test_legs_reach_from_the_floor_and_hangers_to_the_roof() -> None:
    assert bounds(pieces("{front_support: legs}"), "frame left leg")[2::3] == pytest.approx([0, 2.375])
    assert bounds(pieces("{front_support: hangers}"), "frame left hanger")[2::3] == pytest.approx([2.425, 2.8])


def test_hangers_end_under_a_sloping_roof() -> None:
    bay = BAY.replace("{kind: flat, height: 2.8 m}", "{kind: single_slope, left_height: 3.4 m, right_height: 2.7 m}")
    found = pieces("{front_support: hangers}", bay)
    assert not found.problems
    left, right = (bounds(found, f"frame {side} hanger")[5] for side in ("left", "right"))
    assert right < left < 3.4


def test_bars_on_the_floor_run_toward_the_tee_and_end_at_the_legs() -> None:
    assert bounds(pieces("{base_length: 500 mm}"), "frame left base bar") == pytest.approx(
        [2.675, 1.45, 0, 3.175, 1.5, 0.05]
    )
    found = pieces("{base_length: 3 m, front_support: legs}")
    assert bounds(found, "frame left base bar")[0] == pytest.approx(bounds(found, "frame left leg")[3])


def test_a_square_tube_has_corners_of_twice_its_wall_unless_it_says_otherwise() -> None:
    for words, radius in (("", 0.005), ("wall: 3 mm", 0.006), ("wall: 3 mm, corner_radius: 10 mm", 0.010)):
        shape = named(pieces(f"{{tube: {{{words}}}}}"), "frame front bar").shape
        assert isinstance(shape, Box)
        assert shape.corner_radius == pytest.approx(radius)


def test_a_round_tube_is_round_and_as_thick_as_it_says() -> None:
    shape = named(pieces("{tube: {section: round, size: 48 mm}}"), "frame front bar").shape
    assert isinstance(shape, RoundTube)
    assert shape.radius == pytest.approx(0.024)


def test_padding_makes_a_tube_thicker_and_rounder_and_changes_its_face() -> None:
    found = pieces("{padding: foam, padding_thickness: 30 mm, padded: [front_bar]}")
    front, side = named(found, "frame front bar"), named(found, "frame left side bar")
    assert (front.facing, side.facing) == ("30 mm foam on steel", "steel")
    assert isinstance(front.shape, Box)
    assert front.shape.corner_radius == pytest.approx(0.035)
    lower, upper = front.shape.bounds()
    assert (upper - lower)[[0, 2]] == pytest.approx([0.11, 0.11])


def test_padding_is_on_all_tubes_unless_some_are_named() -> None:
    assert {part.facing for part in pieces("{padding: foam}").parts} == {"foam on steel"}
    assert {part.facing for part in pieces("{padding: none, padded: [legs]}").parts} == {"steel"}


def test_foam_of_another_thickness_brings_its_own_facing() -> None:
    assert flightsim_facings(setup("{padding: foam}")) == ()
    assert flightsim_facings(setup("{padding_thickness: 25 mm}")) == ()
    (facing,) = flightsim_facings(setup("{padding: foam, padding_thickness: 25 mm}"))
    assert facing.name == "25 mm foam on steel"
    assert facing.foam is not None
    assert facing.foam.thickness == pytest.approx(0.025)
    parts = pieces("{padding: foam, padding_thickness: 25 mm}").parts
    assert {part.facing for part in parts} == {facing.name}


def test_a_frame_carries_the_canopies_of_its_screen_or_those_it_names() -> None:
    two = ROOM + SCREEN + "canopy: [{depth: 1 m, height: 2.4 m}, {name: upper, depth: 1.5 m, height: 2.6 m}]\n"
    names = {part.name for part in pieces("{}", two).parts}
    assert {"frame front bar, canopy", "frame front bar, upper", "frame left side bar, upper"} <= names
    names = {part.name for part in pieces("{canopies: [upper]}", two).parts}
    assert "frame front bar" in names
    assert not any("canopy" in name for name in names)
    assert "frame front bar" not in {part.name for part in pieces("{canopies: []}", two).parts}


def test_several_frames_carry_several_screens_by_name() -> None:
    bay = (ROOM + "screen: [{name: left, width: 1.2 m, height: 2 m, gap_behind: 400 mm, from_left_wall: 200 mm},"
           " {name: right, width: 1.2 m, height: 2 m, gap_behind: 400 mm, from_left_wall: 1.9 m}]\n")  # fmt: skip
    bay += "frame: [{name: one, screen: left}, {name: two, screen: right}]\n"
    found = pieces("", bay)
    assert bounds(found, "one right upright")[4] == pytest.approx(1.7 - 1.45)
    assert bounds(found, "two left upright")[1] == pytest.approx(1.7 - 1.85)


@pytest.mark.parametrize(
    ("frame", "bay", "key", "words"),
    [
        ("{}", ROOM, "frame", "it hangs from a screen, and there is none"),
        ("{screen: other}", BAY, "frame.screen", "no screen is called 'other'"),
        ("{canopies: [other]}", BAY, "frame.canopies.0", "no canopy of this screen is called 'other'"),
        ("{clearance: 300 mm}", BAY, "frame", "frame left upright reaches 50 mm into or past the left wall"),
        ("{}", BAY.replace("height: 2.2 m", "height: 2.7 m"), "frame",
         "frame left upright reaches 50 mm above the roof's underside"),
        ("{}", BAY.replace("gap_behind: 400 mm", "gap_behind: 10 mm"), "frame",
         "frame left upright reaches 15 mm into or past the end wall"),
        ("{base_length: 5.6 m}", BAY, "frame", "frame left base bar reaches 25 mm into or past the back"),
    ],
)  # fmt: skip
def test_a_frame_that_cannot_stand_there_is_an_error(frame: str, bay: str, key: str, words: str) -> None:
    problems = pieces(frame, bay).problems
    assert (key, words) in [(p.key, p.found) for p in problems]
    assert all(p.allowed for p in problems)


def test_foam_may_be_squeezed_against_a_wall_where_the_tube_itself_may_not_reach() -> None:
    assert not problems_of("{clearance: 230 mm, padding: foam}")
    assert problems_of("{clearance: 255 mm}")
    assert problems_of("{clearance: 255 mm, padding: foam}") == problems_of("{clearance: 255 mm}")


@pytest.mark.parametrize("frame", [
    "{tube: {wall: 25 mm}}", "{tube: {corner_radius: 30 mm}}", "{tube: {section: round, corner_radius: 5 mm}}",
    "{tube: {wall: 15 mm}}", "{tube: {size: -50 mm}}", "{clearance: -1 mm}", "{padded: [lamp]}", "{padding: wool}",
])  # fmt: skip
def test_tubes_that_cannot_be_made_are_refused(frame: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        pieces(frame)
    (problem,) = caught.value.problems
    assert problem.key.startswith("frame")
    assert problem.line is not None
