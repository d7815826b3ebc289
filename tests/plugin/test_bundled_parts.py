"""What the bundled plugins make of tape measures. All numbers worked out by hand from the scenario's text."""

from __future__ import annotations

from math import cos, radians, sin

import pytest
from parts_in_room import PLUGINS, ROOM, SCREEN, bounds, errors, named, pieces_of, warnings

from flightsim.bay.parts import Role
from flightsim.plugin.testing import bay_of, scenario_of
from flightsim.scenario.reading.problems import ScenarioError


@pytest.mark.parametrize(
    ("place", "left", "right"),
    [
        ("width: 2 m", -1.0, 1.0),
        ("width: 2 m, centred_on: tee", -1.0, 1.0),
        ("width: 2 m, centred_on: room", -1.2, 0.8),
        ("width: 2 m, from_left_wall: 300 mm", -0.8, 1.2),
        ("left_gap: 200 mm, right_gap: 300 mm", -1.6, 1.3),
    ],
)
def test_a_screen_is_placed_by_its_centre_its_edge_or_its_gaps(place: str, left: float, right: float) -> None:
    pieces = pieces_of(f"{ROOM}screen: {{{place}, height: 2.2 m, gap_behind: 350 mm}}\n")
    assert bounds(pieces, "screen") == pytest.approx([3.25, left, 0, 3.25, right, 2.2])
    assert named(pieces, "screen").role is Role.GUARD


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("left_gap: 200 mm", "needs its width, or both left_gap and right_gap"),
        ("width: 2 m, left_gap: 200 mm", "not both"),
        ("left_gap: 0 m, right_gap: 0 m, centred_on: room", "already place the screen"),
        ("width: 2 m, from_left_wall: 1 m, centred_on: tee", "not both"),
    ],
)
def test_a_screen_placed_two_ways_or_none_is_an_error(place: str, words: str) -> None:
    with pytest.raises(ScenarioError, match=words):
        scenario_of(f"{ROOM}screen: {{{place}, height: 2.2 m, gap_behind: 350 mm}}\n", PLUGINS)


def test_a_flap_leans_from_the_foot_to_the_floor_toward_the_tee() -> None:
    pieces = pieces_of(ROOM + SCREEN.replace("50 mm}", "30 mm, bottom_flap: 50 mm}"))
    # 50 mm of cloth that drop 30 mm reach 40 mm out.
    assert bounds(pieces, "screen flap") == pytest.approx([3.21, -1.4, 0.0, 3.25, 1.4, 0.03])
    assert named(pieces, "screen flap").role is Role.GUARD


def test_a_flap_flat_on_the_floor_counts_as_floor() -> None:
    pieces = pieces_of(ROOM + SCREEN.replace("50 mm}", "0 mm, bottom_flap: 250 mm}"))
    assert bounds(pieces, "screen flap") == pytest.approx([3.0, -1.4, 0, 3.25, 1.4, 0])
    assert named(pieces, "screen flap").role is Role.FLOOR


def test_a_flap_that_ends_above_the_floor_is_a_warning() -> None:
    pieces = pieces_of(ROOM + SCREEN.replace("50 mm}", "90 mm, bottom_flap: 50 mm}"))
    assert warnings(pieces) == ["screen.bottom_flap: the flap ends 40 mm above the floor"]


def test_gaps_that_leave_no_screen_are_an_error() -> None:
    pieces = pieces_of(f"{ROOM}screen: {{left_gap: 2 m, right_gap: 1.4 m, height: 2 m, gap_behind: 300 mm}}\n")
    assert errors(pieces) == ["screen.right_gap: the gaps leave no width for the screen"]
    assert "screen" not in {part.name for part in pieces.parts}


def test_a_screen_higher_than_the_roof_is_an_error() -> None:
    pieces = pieces_of(ROOM + SCREEN.replace("2.2 m", "2.8 m"))
    assert errors(pieces) == ["screen: screen reaches 150 mm above the roof's underside"]


def test_a_canopy_starts_at_the_screen_and_rises_toward_the_tee() -> None:
    canopy = "canopy: {depth: 1 m, height: 2.3 m, slope: 10 deg, side_overhang: 100 mm, front_lip: 80 mm}\n"
    pieces = pieces_of(ROOM + SCREEN + canopy)
    front, rise = 3.25 - cos(radians(10)), 2.3 + sin(radians(10))
    assert bounds(pieces, "canopy") == pytest.approx([front, -1.5, 2.3, 3.25, 1.5, rise])
    assert bounds(pieces, "canopy lip") == pytest.approx([front, -1.5, rise - 0.08, front, 1.5, rise])
    assert named(pieces, "canopy lip").label == "canopy"
    assert named(pieces, "canopy").role is Role.GUARD


def test_a_canopys_board_lies_above_its_underside() -> None:
    canopy = "canopy: {depth: 1 m, height: 2.3 m, thickness: 18 mm, gap: 50 mm}\n"
    pieces = pieces_of(ROOM + SCREEN + canopy)
    assert bounds(pieces, "canopy") == pytest.approx([2.2, -1.4, 2.3, 3.2, 1.4, 2.318])


def test_a_canopy_through_the_roof_is_an_error() -> None:
    pieces = pieces_of(f"{ROOM}{SCREEN}canopy: {{depth: 1 m, height: 2.6 m, slope: 12 deg}}\n")
    assert errors(pieces) == ["canopy: canopy reaches 108 mm above the roof's underside"]


def test_a_lip_down_to_the_floor_is_an_error() -> None:
    pieces = pieces_of(f"{ROOM}{SCREEN}canopy: {{depth: 1 m, height: 2.3 m, front_lip: 2.3 m}}\n")
    assert errors(pieces) == ["canopy.front_lip: the lip hangs down to the floor"]


def test_a_guard_needs_a_screen_to_hang_from() -> None:
    pieces = pieces_of(
        f"{ROOM}canopy: {{depth: 1 m, height: 2.3 m}}\nside_nets: {{left: {{depth: 1 m, height: 2 m}}}}\n"
    )
    assert errors(pieces) == [
        "canopy: it hangs from a screen, and there is none",
        "side_nets: it hangs from a screen, and there is none",
    ]


def test_with_several_screens_a_guard_must_say_which() -> None:
    screens = """\
screen:
  - {name: left cloth, width: 1.5 m, from_left_wall: 0 m, height: 2.2 m, gap_behind: 300 mm}
  - {name: right cloth, width: 1.5 m, from_left_wall: 1.6 m, height: 2.2 m, gap_behind: 300 mm}
"""
    unclear = pieces_of(f"{ROOM}{screens}canopy: {{depth: 1 m, height: 2.3 m}}\n")
    assert errors(unclear) == ["canopy: there are several screens"]
    wrong = pieces_of(f"{ROOM}{screens}canopy: {{depth: 1 m, height: 2.3 m, screen: cloth}}\n")
    assert errors(wrong) == ["canopy.screen: no screen is called 'cloth'"]
    clear = pieces_of(f"{ROOM}{screens}canopy: {{depth: 1 m, height: 2.3 m, screen: right cloth}}\n")
    assert bounds(clear, "canopy")[1] == pytest.approx(-1.6)
    assert not clear.problems


def test_two_canopies_are_two_things() -> None:
    pieces = pieces_of(
        ROOM
        + SCREEN
        + """\
canopy:
  - {name: board, depth: 1 m, height: 2.3 m}
  - {name: net, depth: 1 m, height: 2.5 m, gap: 900 mm, underside: net}
"""
    )
    assert bounds(pieces, "net")[3] == pytest.approx(2.35)
    assert {"board", "net"} <= {part.name for part in pieces.parts}


def test_side_nets_start_at_the_screens_edge_and_open_toward_the_tee() -> None:
    nets = "side_nets: {left: {depth: 2 m, height: 2.1 m, offset: 50 mm, angle: 6 deg}}\n"
    pieces = pieces_of(ROOM + SCREEN.replace("2.8 m", "2.4 m") + nets)
    out = 1.2 + 0.05 + 2 * sin(radians(6))
    assert bounds(pieces, "left side net") == pytest.approx([3.25 - 2 * cos(radians(6)), 1.25, 0, 3.25, out, 2.1])
    assert named(pieces, "left side net").facing == "net"
    assert "right side net" not in {part.name for part in pieces.parts}


def test_a_side_panels_body_lies_outside_its_face() -> None:
    panel = "depth: 1.5 m, height: 2 m, from_wall: 100 mm, kind: panel, thickness: 18 mm, above_floor: 20 mm"
    nets = f"side_nets: {{right: {{{panel}}}}}\n"
    pieces = pieces_of(ROOM + SCREEN + nets)
    assert bounds(pieces, "right side panel") == pytest.approx([1.75, -1.818, 0.02, 3.25, -1.8, 2.02])
    assert named(pieces, "right side panel").facing == "plywood"


@pytest.mark.parametrize(
    ("net", "words"),
    [
        ("depth: 1 m, height: 2 m, offset: 0 m, from_wall: 0 m", "not both"),
        ("depth: 1 m, height: 2 m, thickness: 10 mm", "a net has no thickness"),
        ("depth: 1 m, height: 2 m, angle: 85 deg", "85 deg is too steep"),
        ("depth: -1 m, height: 2 m", "out of range"),
    ],
)
def test_a_side_net_that_cannot_be_is_an_error_in_plain_words(net: str, words: str) -> None:
    with pytest.raises(ScenarioError, match=words):
        scenario_of(f"{ROOM}{SCREEN}side_nets: {{left: {{{net}}}}}\n", PLUGINS)


def test_a_pad_hangs_under_a_flat_roof() -> None:
    pad = "{name: pad, from_end_wall: 1 m, from_left_wall: 400 mm, length: 1.5 m, width: 2 m, thickness: 50 mm}"
    pieces = pieces_of(f"{ROOM}ceiling: {{pads: [{pad}]}}\n")
    assert bounds(pieces, "pad") == pytest.approx([1.1, -0.9, 2.65, 2.6, 1.1, 2.7])
    assert named(pieces, "pad").role is Role.GUARD


def test_a_pad_across_a_ridge_is_one_pad_on_two_slopes() -> None:
    gable = "{kind: gable, ridge: along, eaves_height: 2.4 m, ridge_height: 3 m}"
    pad = "{name: pad, from_end_wall: 1 m, from_left_wall: 1 m, length: 1.5 m, width: 1.2 m, thickness: 50 mm}"
    pieces = pieces_of(ROOM.replace("{kind: flat, height: 2.7 m}", gable) + f"ceiling: {{pads: [{pad}]}}\n")
    slopes = [part for part in pieces.parts if part.label == "pad"]
    assert [part.name for part in slopes] == ["pad, slope 1", "pad, slope 2"]
    for part in slopes:
        lower, upper = part.shape.bounds()
        assert upper[2] <= 3.0 + 1e-9
        assert lower[2] < 2.9
    assert not pieces.problems


def test_a_baffle_hangs_across_the_line_from_the_roof() -> None:
    baffle = "{name: baffle, from_end_wall: 2 m, from_left_wall: 500 mm, width: 2 m, drop: 400 mm, thickness: 20 mm}"
    pieces = pieces_of(f"{ROOM}ceiling: {{baffles: [{baffle}]}}\n")
    assert bounds(pieces, "baffle") == pytest.approx([1.6, -1.0, 2.3, 1.62, 1.0, 2.7])


def test_a_baffle_leans_with_its_foot_toward_the_tee_and_turns_its_right_end_to_it() -> None:
    leaning = "{name: a, from_end_wall: 2 m, from_left_wall: 500 mm, width: 2 m, drop: 400 mm, angle: 30 deg}"
    turned = "{name: b, from_end_wall: 2 m, from_left_wall: 500 mm, width: 2 m, drop: 400 mm, turn: 90 deg, top: 2.5 m}"
    pieces = pieces_of(f"{ROOM}ceiling: {{baffles: [{leaning}, {turned}]}}\n")
    assert bounds(pieces, "a") == pytest.approx([1.4, -1.0, 2.7 - 0.4 * cos(radians(30)), 1.6, 1.0, 2.7])
    assert bounds(pieces, "b") == pytest.approx([-0.4, 1.0, 2.1, 1.6, 1.0, 2.5])


def test_a_baffle_above_the_roof_is_an_error() -> None:
    baffle = "{name: baffle, from_end_wall: 2 m, from_left_wall: 500 mm, width: 2 m, drop: 400 mm, top: 2.9 m}"
    (error,) = errors(pieces_of(f"{ROOM}ceiling: {{baffles: [{baffle}]}}\n"))
    assert error == "ceiling.baffles.0: baffle reaches 200 mm above the roof's underside"


def test_a_part_outside_the_room_is_a_warning() -> None:
    size = "length: 1 m, width: 1 m, height: 1 m"
    box = f"{{name: crate, kind: box, from_end_wall: 5.2 m, from_left_wall: 1 m, above_floor: 0 m, {size}}}"
    pieces = pieces_of(f"{ROOM}obstacles: [{box}]\n")
    assert warnings(pieces) == ["obstacles.0: crate reaches 200 mm beyond the back"]
    assert [one.fix for one in pieces.problems if "beyond" in one.found] == ["move it 200 mm in, or make it smaller"]


def test_an_obstacle_above_a_sloping_roof_is_a_warning() -> None:
    slope = "{kind: single_slope, left_height: 3 m, right_height: 2.4 m}"
    size = "length: 200 mm, width: 200 mm, height: 200 mm"
    box = f"{{name: lamp, kind: box, from_end_wall: 2 m, from_left_wall: 3.2 m, above_floor: 2.4 m, {size}}}"
    pieces = pieces_of(ROOM.replace("{kind: flat, height: 2.7 m}", slope) + f"obstacles: [{box}]\n")
    assert warnings(pieces) == ["obstacles.0: lamp reaches 200 mm above the roof's underside"]


def test_cloth_flat_on_a_wall_is_a_warning() -> None:
    flat = pieces_of(ROOM + SCREEN.replace("350 mm", "0 mm"))
    assert warnings(flat) == ["screen: screen lies flat on the end wall: what strikes the one strikes the other"]
    nets = "side_nets: {left: {depth: 1 m, height: 2 m, from_wall: 0 m}}\n"
    net = pieces_of(ROOM + SCREEN + nets)
    assert warnings(net) == [
        "side_nets: left side net lies flat on the left wall: what strikes the one strikes the other"
    ]


def test_parts_through_one_another_are_a_warning_at_the_entry() -> None:
    pipe = """\
obstacles:
  - {name: lamp, kind: box, from_end_wall: 5 m, from_left_wall: 1 m, above_floor: 2.5 m,
     length: 90 mm, width: 90 mm, height: 50 mm}
  - {name: pipe, kind: tube, diameter: 60 mm, from: {from_end_wall: 600 mm, from_left_wall: 1 m, above_floor: 2 m},
     to: {from_end_wall: 600 mm, from_left_wall: 1 m, above_floor: 2.6 m}}
"""
    pieces = pieces_of(f"{ROOM}{pipe}{SCREEN}canopy: {{depth: 1 m, height: 2.3 m}}\n")
    assert warnings(pieces) == ["obstacles.1: canopy and pipe go through one another"]


def test_foam_around_a_tube_gives_way_to_its_own_frames_braces_and_to_nothing_else() -> None:
    frame = "frame: {wall_bars: braced, front_support: legs, braces: [plan], post_top: canopy, padding: foam}\n"
    bay = f"{ROOM}{SCREEN}canopy: {{depth: 1 m, height: 2.2 m}}\n{frame}"
    assert not [warning for warning in warnings(pieces_of(bay)) if "through one another" in warning]
    nets = "side_nets: {left: {depth: 1.5 m, height: 2.19 m, above_floor: 10 mm, offset: 0 mm}}\n"
    (warning,) = [warning for warning in warnings(pieces_of(bay + nets)) if "through one another" in warning]
    assert "front bar" in warning
    assert "left side net" in warning


def test_a_name_that_two_plugins_things_bear_is_an_error_of_the_file() -> None:
    start, end = (f"{{from_end_wall: {s} m, from_left_wall: 1 m, above_floor: 1 m}}" for s in (1, 2))
    tube = f"from: {start}, to: {end}"
    pieces = pieces_of(f"{ROOM}obstacles: [{{name: roof, kind: tube, diameter: 50 mm, {tube}}}]\n")
    assert errors(pieces) == ["obstacles.0: 'roof' is already the name of something of plugin 'room'"]


def test_every_part_says_who_gave_it_and_what_it_is_made_of() -> None:
    bay, _ = bay_of(ROOM + SCREEN + "canopy: {depth: 1 m, height: 2.3 m}\n", PLUGINS)
    assert {part.owner for part in bay.parts} == {"room", "screen", "canopy"}
    assert all(part.facing for part in bay.parts)


def test_every_key_of_every_section_is_described_for_editors() -> None:
    undescribed = []
    for section in PLUGINS.sections():
        schema = section.model.model_json_schema(by_alias=True)
        for model in (schema, *schema.get("$defs", {}).values()):
            for key, value in model.get("properties", {}).items():
                text = str(value)
                if "description" not in text and "$ref" not in text and "enum" not in text and "const" not in text:
                    undescribed.append(f"{model['title']}.{key}")
    assert undescribed == []
