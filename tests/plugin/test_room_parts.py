"""Room, openings and obstacles: each part stands where the tape says, and what cannot be is told."""

from __future__ import annotations

import numpy as np
import pytest
from parts_in_room import PLUGINS, ROOM, bounds, errors, named, pieces_of

from flightsim.bay.parts import Role
from flightsim.plugin.testing import scenario_of
from flightsim.scenario.reading.problems import ScenarioError


def test_a_closed_flat_room_is_six_sheets_around_the_tee() -> None:
    pieces = pieces_of(ROOM)
    assert [part.name for part in pieces.parts] == [
        "back wall", "end wall", "left wall", "right wall", "roof", "slab",
    ]  # fmt: skip
    assert bounds(pieces, "end wall") == pytest.approx([3.6, -1.9, 0, 3.6, 1.5, 2.7])
    assert bounds(pieces, "back wall") == pytest.approx([-2.4, -1.9, 0, -2.4, 1.5, 2.7])
    assert bounds(pieces, "left wall") == pytest.approx([-2.4, 1.5, 0, 3.6, 1.5, 2.7])
    assert bounds(pieces, "right wall") == pytest.approx([-2.4, -1.9, 0, 3.6, -1.9, 2.7])
    assert pieces.bounds is not None
    assert np.concatenate(pieces.bounds) == pytest.approx([-2.4, -1.9, 0, 3.6, 1.5, 2.7])
    assert named(pieces, "slab").role is Role.FLOOR
    assert {part.role for part in pieces.parts if part.name != "slab"} == {Role.UNPROTECTED}
    assert not pieces.problems


def test_a_doorway_is_a_hole_and_a_closed_window_a_part() -> None:
    text = ROOM.replace("2.7 m}}", "2.7 m}, openings: [" + (
        "{name: door, wall: right, from_end_wall: 4 m, width: 1 m, height: 2 m},"
        "{name: window, wall: left, from_end_wall: 1 m, width: 1 m, height: 1 m, sill: 1 m, closed: true,"
        " facing: glass}]}"
    ))  # fmt: skip
    pieces = pieces_of(text)
    (door,) = pieces.openings
    assert door.name == "door"
    assert door.corners.min(axis=0) == pytest.approx([-1.4, -1.9, 0])
    assert door.corners.max(axis=0) == pytest.approx([-0.4, -1.9, 2])
    assert door.normal == pytest.approx([0, -1, 0])
    window = named(pieces, "window")
    assert bounds(pieces, "window") == pytest.approx([1.6, 1.5, 1, 2.6, 1.5, 2])
    assert window.fragile
    assert window.facing == "glass"
    assert bounds(pieces, "right wall above door") == pytest.approx([-1.4, -1.9, 2, -0.4, -1.9, 2.7])
    assert {part.group for part in pieces.parts if part.name.startswith("right wall")} == {"right wall"}


def test_an_open_back_is_one_opening_that_points_out() -> None:
    pieces = pieces_of(ROOM.replace("2.7 m}}", "2.7 m}, back: open}"))
    (back,) = pieces.openings
    assert back.normal == pytest.approx([-1, 0, 0])
    assert back.corners[:, 0] == pytest.approx([-2.4] * 4)
    assert "back wall" not in {part.name for part in pieces.parts}


def test_turf_takes_the_slabs_place_and_the_mat_stands_on_the_slab() -> None:
    text = ROOM.replace("2.7 m}}", "2.7 m}, turf_height: 20 mm}")
    text = text.replace("1.5 m}", "1.5 m, mat: {height: 50 mm, length: 1.4 m, width: 1.2 m}}")
    pieces = pieces_of(text)
    assert "slab" not in {part.name for part in pieces.parts}
    assert bounds(pieces, "turf")[2] == pytest.approx(0.02)
    assert bounds(pieces, "mat") == pytest.approx([-0.7, -0.6, 0, 0.7, 0.6, 0.05])
    assert named(pieces, "mat").role is Role.FLOOR


def test_a_mat_whose_top_lies_below_the_turf_is_an_error() -> None:
    text = ROOM.replace("2.7 m}}", "2.7 m}, turf_height: 40 mm}")
    pieces = pieces_of(text.replace("1.5 m}", "1.5 m, mat: {height: 35 mm}}"))
    assert errors(pieces) == ["tee.mat.height: the mat's top (35 mm) lies below the turf's (40 mm)"]


@pytest.mark.parametrize(
    ("roof", "left", "right", "end", "back"),
    [
        ("{kind: single_slope, left_height: 3 m, right_height: 2.4 m}", 3.0, 2.4, 2.7, 2.7),
        ("{kind: single_slope, end_height: 3 m, back_height: 2.4 m}", 2.7, 2.7, 3.0, 2.4),
        ("{kind: gable, ridge: along, eaves_height: 2.4 m, ridge_height: 3 m}", 2.4, 2.4, 3.0, 3.0),
        ("{kind: gable, ridge: across, eaves_height: 2.4 m, ridge_height: 3 m}", 3.0, 3.0, 2.4, 2.4),
    ],
)
def test_each_roof_has_its_height_at_the_middle_of_each_wall(
    roof: str, left: float, right: float, end: float, back: float
) -> None:
    scenario = scenario_of(ROOM.replace("{kind: flat, height: 2.7 m}", roof), PLUGINS)
    shape = scenario.room.roof_shape()
    assert shape.height(3.0, 0.0) == pytest.approx(left)
    assert shape.height(3.0, 3.4) == pytest.approx(right)
    assert shape.height(0.0, 1.7) == pytest.approx(end)
    assert shape.height(6.0, 1.7) == pytest.approx(back)


def test_tie_beams_lie_across_the_ridge_from_wall_to_wall() -> None:
    gable = "{kind: gable, ridge: along, eaves_height: 2.4 m, ridge_height: 3 m, tie_beams: "
    beams = "{height: 2.3 m, width: 80 mm, depth: 150 mm, from_end_wall: [2 m, 4 m]}}"
    pieces = pieces_of(ROOM.replace("{kind: flat, height: 2.7 m}", gable + beams))
    assert bounds(pieces, "tie beam 1") == pytest.approx([1.56, -1.9, 2.3, 1.64, 1.5, 2.45])
    assert bounds(pieces, "tie beam 2") == pytest.approx([-0.44, -1.9, 2.3, -0.36, 1.5, 2.45])
    assert named(pieces, "tie beam 1").group == "tie beams"


def test_tie_beams_above_the_eaves_end_where_the_roof_comes_down() -> None:
    gable = "{kind: gable, ridge: across, eaves_height: 2.4 m, ridge_height: 3 m, tie_beams: "
    beams = "{height: 2.7 m, width: 80 mm, depth: 150 mm, from_left_wall: [1.7 m]}}"
    pieces = pieces_of(ROOM.replace("{kind: flat, height: 2.7 m}", gable + beams))
    # Halfway up to the ridge, so the beam spans the middle half of the 6 m length.
    assert bounds(pieces, "tie beam 1") == pytest.approx([-0.9, -0.24, 2.7, 2.1, -0.16, 2.85])


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("{kind: single_slope, left_height: 3 m}", "left_height and right_height, or end_height"),
        ("{kind: single_slope, left_height: 3 m, back_height: 2 m}", "left_height and right_height, or end_height"),
        ("{kind: gable, ridge: along, eaves_height: 3 m, ridge_height: 3 m}", "ridge_height must be more"),
        ("{kind: gable, ridge: up, eaves_height: 2 m, ridge_height: 3 m}", "along, across"),
    ],
)
def test_a_roof_that_cannot_be_is_an_error_in_plain_words(given: str, words: str) -> None:
    with pytest.raises(ScenarioError, match=words):
        scenario_of(ROOM.replace("{kind: flat, height: 2.7 m}", given), PLUGINS)


@pytest.mark.parametrize(
    ("opening", "found"),
    [
        ("{name: door, wall: left, from_end_wall: 5.5 m, width: 1 m, height: 2 m}", "reaches past the left wall"),
        ("{name: door, wall: end, from_left_wall: 1 m, width: 1 m, height: 3 m}", "reaches past the end wall"),
    ],
)
def test_an_opening_that_reaches_past_its_wall_is_an_error(opening: str, found: str) -> None:
    pieces = pieces_of(ROOM.replace("2.7 m}}", f"2.7 m}}, openings: [{opening}]}}"))
    (error,) = errors(pieces)
    assert error.startswith("room.openings.0: door")
    assert found in error


def test_openings_that_overlap_are_an_error() -> None:
    door = "{name: %s, wall: left, from_end_wall: %s m, width: 1 m, height: 2 m}"
    both = ", ".join((door % ("door", 2), door % ("hatch", 2.5)))
    assert errors(pieces_of(ROOM.replace("2.7 m}}", f"2.7 m}}, openings: [{both}]}}"))) == [
        "room.openings.1: hatch and door overlap"
    ]


def test_an_opening_in_the_back_of_an_open_room_is_an_error() -> None:
    door = "{name: door, wall: back, from_left_wall: 1 m, width: 1 m, height: 2 m}"
    (error,) = errors(pieces_of(ROOM.replace("2.7 m}}", f"2.7 m}}, back: open, openings: [{door}]}}")))
    assert error.startswith("room.openings.0.wall: the back is open")


def test_an_opening_is_placed_along_its_own_wall() -> None:
    door = "{name: door, wall: end, from_end_wall: 1 m, width: 1 m, height: 2 m}"
    with pytest.raises(ScenarioError, match="an opening in the end wall needs from_left_wall"):
        scenario_of(ROOM.replace("2.7 m}}", f"2.7 m}}, openings: [{door}]}}"), PLUGINS)


def test_boxes_and_tubes_hang_where_the_tape_says() -> None:
    pieces = pieces_of(ROOM + """\
obstacles:
  - {name: opener, kind: box, from_end_wall: 3 m, from_left_wall: 1.4 m, above_floor: 2.3 m,
     length: 400 mm, width: 300 mm, height: 100 mm, fragile: true}
  - {name: pipe, kind: tube, diameter: 60 mm, from: {from_end_wall: 1 m, from_left_wall: 100 mm, above_floor: 2 m},
     to: {from_end_wall: 5 m, from_left_wall: 100 mm, above_floor: 2 m}}
  - {name: rail, kind: tube, section: square, diameter: 40 mm,
     from: {from_end_wall: 1 m, from_left_wall: 3 m, above_floor: 2 m},
     to: {from_end_wall: 1 m, from_left_wall: 3 m, above_floor: 2.5 m}}
""")  # fmt: skip
    assert bounds(pieces, "opener") == pytest.approx([0.2, -0.2, 2.3, 0.6, 0.1, 2.4])
    assert bounds(pieces, "pipe") == pytest.approx([-1.4, 1.37, 1.97, 2.6, 1.43, 2.03])
    assert bounds(pieces, "rail") == pytest.approx([2.58, -1.52, 2.0, 2.62, -1.48, 2.5])
    assert named(pieces, "opener").fragile
    assert not named(pieces, "pipe").fragile
    assert {named(pieces, name).role for name in ("opener", "pipe", "rail")} == {Role.UNPROTECTED}


@pytest.mark.parametrize(
    ("obstacle", "words"),
    [
        ("{name: a, kind: box, from_end_wall: 1 m}", "a box also needs from_left_wall, above_floor, length"),
        ("{name: a, kind: tube, diameter: 50 mm}", "a tube also needs from, to"),
    ],
)
def test_an_obstacle_that_lacks_a_measure_says_which(obstacle: str, words: str) -> None:
    with pytest.raises(ScenarioError, match=words):
        scenario_of(f"{ROOM}obstacles: [{obstacle}]\n", PLUGINS)
