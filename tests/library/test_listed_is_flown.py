"""Every list of a bay holds what was flown, by its name and its size, and nothing that was not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from flightsim.bay.parts import PartKind, Role
from flightsim.bay.shapes import Shape
from flightsim.library.list_bay import list_bay
from flightsim.study.run.open_bay import OpenBay, open_bay

ROOT = Path(__file__).parents[2]
BAYS = ["single_garage", "lean_to", "village_hall", "common_bay"]
ALL_KINDS = """\
name: All kinds
units: metric
room: {length: 6 m, width: 3.6 m, roof: {kind: flat, height: 2.9 m}, turf_height: 20 mm}
tee: {from_end_wall: 3.6 m, from_left_wall: 1.8 m, mat: {height: 45 mm, length: 1.5 m, width: 1.5 m}}
screen: {width: 2.8 m, height: 2.2 m, gap_behind: 400 mm, above_floor: 50 mm, bottom_flap: 200 mm,
  covers: [{side: left, reach: 60 mm}, {side: right, reach: 60 mm, facing: cloth}, {side: top, reach: 50 mm}]}
canopy: {depth: 1 m, height: 2.3 m, thickness: 12 mm, slope: 3 deg, front_lip: 90 mm}
side_nets:
  left: {depth: 1.6 m, height: 2.1 m, angle: 6 deg}
  right: {depth: 1.4 m, height: 2.0 m, kind: panel, thickness: 18 mm, facing: foam on plywood}
ceiling:
  pads: [{name: pad, from_end_wall: 1.7 m, from_left_wall: 800 mm, length: 1 m, width: 2 m, thickness: 50 mm}]
  baffles: [{name: baffle, from_end_wall: 3 m, from_left_wall: 500 mm, width: 2.6 m, drop: 400 mm}]
frame: {wall_bars: braced, front_support: legs, braces: [plan], canopy_bars: beside, back_bar: true, ribs: 2,
  padding: foam, padded: [front_bar, legs]}
launches: {hand: right, use: [driver]}
"""


@pytest.fixture(params=[*BAYS, "all kinds"])
def opened(request: pytest.FixtureRequest, tmp_path: Path) -> OpenBay:
    if request.param in BAYS:
        return open_bay(ROOT / "scenarios" / f"{request.param}.yaml")
    (tmp_path / "bay.yaml").write_text(ALL_KINDS, encoding="utf-8")
    return open_bay(tmp_path / "bay.yaml")


def largest_face(shape: Shape) -> float:
    """m2, of the flat faces that are drawn of it."""
    faces = [np.asarray(outline) for outline in shape.outlines()]
    fans = (sum(np.cross(face[k] - face[0], face[k + 1] - face[0]) for k in range(1, len(face) - 1)) for face in faces)
    return max(float(np.linalg.norm(fan)) / 2.0 for fan in fans)


def test_every_guard_tube_and_mat_that_was_flown_is_listed_and_all_that_is_listed_was_flown(opened: OpenBay) -> None:
    flown = {
        part.name
        for part in opened.bay.parts
        if part.role is Role.GUARD or part.owner == "frame" or part.name in ("turf", "mat")
    }
    every = opened.plugins.pieces(opened.scenario)
    flat = [piece.name for each in every for piece in (*each.cloths, *each.boards, *each.lengths, *each.floor)]
    bars = [bar.name for each in every for bar in each.bars if bar.role != "sleeve"]
    assert len(flat) == len(set(flat))
    listed = {name.removesuffix(", foam").removeprefix("foam on ") for name in flat}
    assert listed | set(bars) == flown
    assert sorted(bars) == sorted(part.name for part in opened.bay.parts if part.owner == "frame")


def test_cloth_boards_strips_and_floor_are_as_large_as_they_were_flown(opened: OpenBay) -> None:
    parts = {part.name: part for part in opened.bay.parts}
    for each in opened.plugins.pieces(opened.scenario):
        for cloth in each.cloths:
            assert cloth.width * cloth.height == pytest.approx(largest_face(parts[cloth.name].shape), rel=1e-9)
        for board in each.boards:
            flown = parts[board.name.removesuffix(", foam")]
            assert board.width * board.height == pytest.approx(largest_face(flown.shape), rel=1e-9)
        for strip in each.lengths:
            flown = parts[strip.name.removeprefix("foam on ")]
            low, high = flown.shape.bounds()
            assert strip.length == pytest.approx(
                float((high - low).max()), abs=0.2 if "foam on" in strip.name else 1e-9
            )
        for piece in each.floor:
            low, high = parts[piece.name].shape.bounds()
            assert [piece.x, piece.y] == pytest.approx(low[:2])
            assert [piece.length, piece.width] == pytest.approx((high - low)[:2])


def test_pipe_foam_is_listed_for_each_padded_bar_and_for_no_other(opened: OpenBay) -> None:
    foamed = {part.name for part in opened.bay.parts if part.owner == "frame" and "foam" in part.facing}
    lengths = [each for pieces in opened.plugins.pieces(opened.scenario) for each in pieces.lengths]
    assert {each.name.removeprefix("foam on ") for each in lengths if "foam on" in each.name} == foamed


def test_an_order_is_never_smaller_than_what_was_flown(opened: OpenBay) -> None:
    """A net is fuller, a screen has its foot fold, boards are the same in parts."""
    made, parts = list_bay(opened), {part.name: part for part in opened.bay.parts}
    screens = {part.name for part in opened.bay.parts if part.kind is PartKind.SCREEN}
    assert {cloth.name for cloth in made.cloths if cloth.kind == "screen"} == screens
    for cloth in made.cloths:
        flown = largest_face(parts[cloth.name].shape)
        assert cloth.finished_width * cloth.finished_height >= flown - 1e-9
        assert cloth.cut_width * cloth.cut_height >= cloth.finished_width * cloth.finished_height - 1e-9
    drawn = sum(b.width * b.height for each in opened.plugins.pieces(opened.scenario) for b in each.boards)
    assert sum(board.width * board.height for board in made.boards) == pytest.approx(drawn)


def test_cloth_is_ordered_of_the_weight_that_was_flown(tmp_path: Path) -> None:
    """How a ball comes back rests on it: the order of a bay of heavier cloth asks for heavier cloth."""
    opened = open_bay(ROOT / "scenarios" / "common_bay.yaml", ("screen_give.areal_mass=600 g/m2",))
    orders = {cloth.name: cloth for cloth in list_bay(opened).cloths}
    assert {name: cloth.areal_mass for name, cloth in orders.items()} == pytest.approx(
        {"screen": 0.600, "canopy": 0.090, "left side net": 0.090, "right side net": 0.090}
    )
    assert orders["screen"].notes[0].startswith("600 g/m2, as flown")
    hall = list_bay(open_bay(ROOT / "scenarios" / "village_hall.yaml")).cloths
    assert any(note.startswith("10.3 oz/yd2, as flown") for cloth in hall for note in cloth.notes)
