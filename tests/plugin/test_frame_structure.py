"""A frame's steel is that of the parts that were flown, and its new bars stand where they should."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from flightsim.bay.overlap import depth_of_overlap
from flightsim.making.frame_pieces import PLATE
from flightsim.making.pieces import Pieces
from flightsim.making.strength.check import checked, tube_checks
from flightsim.making.strength.joint_checks import END_DISTANCE, PITCH, joint_checks
from flightsim.making.structure import Structure
from flightsim.plugin.hookspecs import BayPieces, BaySetup
from flightsim.plugin.testing import scenario_of, with_plugins
from flightsim.scenario.reading.problems import ScenarioError
from flightsim_plugins.frame import flightsim_parts, flightsim_pieces, flightsim_structures

PLUGINS = with_plugins()
BAY = """\
name: Test
units: metric
room: {length: 6 m, width: 3.4 m, roof: {kind: flat, height: 2.8 m}}
tee: {from_end_wall: 3.6 m, from_left_wall: 1.7 m}
screen: {width: 2.8 m, height: 2.2 m, gap_behind: 400 mm, above_floor: 50 mm}
canopy: {depth: 1 m, height: 2.3 m}
"""
FULL = ("{wall_bars: braced, front_support: legs, braces: [canopy, front, base, plan], base_length: 600 mm, "
        "post_top: canopy}")  # fmt: skip
FRAMES = [
    "{}", "{wall_bars: straight}", "{wall_bars: braced, front_support: legs, braces: [front]}", FULL,
    "{front_support: hangers, wall_bars: braced}", "{base_length: 800 mm, braces: [canopy, base, head]}",
    "{tube: {section: round, size: 48.3 mm, wall: 3 mm}, wall_bars: braced, post_top: canopy}",
]  # fmt: skip


def setup(frame: str, bay: str = BAY) -> BaySetup:
    scenario = scenario_of(f"{bay}frame: {frame}\n", PLUGINS)
    return BaySetup(scenario.entries("frame"), scenario)


def parts(frame: str, bay: str = BAY) -> BayPieces:
    return flightsim_parts(setup(frame, bay))


def structure(frame: str, bay: str = BAY) -> Structure:
    (found,) = flightsim_structures(setup(frame, bay))
    found.check()
    return found


def pieces(frame: str, bay: str = BAY) -> Pieces:
    return flightsim_pieces(setup(frame, bay))


def loose(frame: str, bay: str = BAY) -> list[str]:
    return [check.name for check in joint_checks(structure(frame, bay)) if check.name.startswith("joint of")]


@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("slope", [0, 4])
def test_what_is_listed_is_what_was_flown(frame: str, slope: int) -> None:
    """The same names, and each bar with its plates as long as its part, where no foam hides it."""
    bay = BAY.replace("height: 2.3 m", f"height: 2.3 m, slope: {slope} deg")
    flown = {part.name: part for part in parts(frame, bay).parts}
    made = {bar.name: bar for bar in structure(frame, bay).bars}
    assert set(made) == set(flown)
    listed = [bar for bar in pieces(frame, bay).bars if bar.role != "sleeve"]
    assert sorted(bar.name for bar in listed) == sorted(flown)
    for bar in listed:
        points = np.concatenate(flown[bar.name].shape.outlines())
        along = (np.array(bar.end) - np.array(bar.start)) / bar.span
        reach = points @ along
        plates = sum(end.fitting.startswith(("foot plate", "wall bracket", "roof bracket")) for end in bar.ends)
        assert bar.length + plates * PLATE == pytest.approx(np.ptp(reach), abs=1e-9)
        assert reach.min() == pytest.approx(np.array(bar.start) @ along, abs=1e-9)


def test_steel_goes_on_beneath_the_foam_of_the_bar_that_it_meets() -> None:
    bare, padded = structure(FULL), structure(FULL[:-1] + ", padding: foam, padding_thickness: 20 mm}")
    for name in ("frame top bar", "frame left wall bar", "frame left leg"):
        assert padded.bar(name).span == pytest.approx(bare.bar(name).span)
    flown = {part.name: part for part in parts("{padding: foam, padding_thickness: 20 mm}").parts}
    lower, upper = flown["frame top bar"].shape.bounds()
    assert upper[1] - lower[1] == pytest.approx(padded.bar("frame top bar").span - 0.04)


@pytest.mark.parametrize("frame", FRAMES)
def test_new_bars_go_through_no_other(frame: str) -> None:
    found = parts(frame)
    assert not found.problems
    for first, second in combinations(found.parts, 2):
        assert depth_of_overlap(first.shape, second.shape) < 5e-3, (first.name, second.name)


@pytest.mark.parametrize("frame", FRAMES)
def test_every_end_meets_a_bar_the_floor_a_wall_or_the_roof(frame: str) -> None:
    assert not loose(frame)


def test_uprights_reach_up_to_the_canopys_side_bars_where_asked() -> None:
    bay = BAY.replace("height: 2.3 m", "height: 2.5 m")
    assert set(loose("{}", bay)) == {"joint of frame left side bar", "joint of frame right side bar"}
    assert structure("{post_top: canopy}", bay).bar("frame left upright").span == pytest.approx(2.525)
    assert not loose("{post_top: canopy}", bay)


def test_ribs_and_a_back_bar_lie_on_the_canopy() -> None:
    bay = BAY.replace("height: 2.3 m", "height: 2.28 m, thickness: 12 mm, side_overhang: 100 mm")
    frame = "{canopy_bars: above, back_bar: true, ribs: 2, post_top: canopy}"
    names = {bar.name for bar in structure(frame, bay).bars}
    assert {"frame back bar", "frame rib 1", "frame rib 2"} <= names
    (canopy,) = structure(frame, bay).canopies
    assert (canopy.ribs, canopy.back) == (2, True)
    assert not loose(frame, bay)


@pytest.mark.parametrize("frame", [
    "{ribs: 2}", "{back_bar: true}", "{braces: [front]}", "{braces: [base]}", "{joint: {size: 40 mm}}", "{ribs: 21}",
    "{wall_bars: braced, braces: [head]}",
    "{feet: glued}", "{tube: {grade: S999}}", "{joint: {bolts: 0}}",
])  # fmt: skip
def test_what_cannot_be_made_is_refused(frame: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        setup(frame)
    assert all(problem.key.startswith("frame") and problem.line is not None for problem in caught.value.problems)


@pytest.mark.parametrize(("frame", "key", "words"), [
    ("{opening_width: 2.79 m}", "frame.opening_width", "the screen, 2.80 m, does not fit its opening of 2.79 m"),
    ("{opening_width: 2.95 m}", "frame.opening_width",
     "the opening is given as 2.95 m; screen and clearance make it 2.90 m"),
    ("{opening_height: 2.2 m}", "frame.opening_height", "the screen, 2.25 m, does not fit its opening of 2.20 m"),
    ("{outer_width: 3.1 m}", "frame.outer_width", "the outer width is given as 3.10 m; opening and tube make it"),
    ("{outer_height: 2.4 m}", "frame.outer_height", "the outer height is given as 2.40 m; opening and tube make it"),
])  # fmt: skip
def test_opening_outer_size_and_screen_agree_or_it_says_which_do_not(frame: str, key: str, words: str) -> None:
    (problem,) = parts(frame).problems
    assert problem.key == key
    assert problem.found.startswith(words)
    assert problem.allowed
    assert problem.fix


def test_measures_that_agree_are_no_problem() -> None:
    frame = "{opening_width: 2.9 m, opening_height: 2.3 m, outer_width: 3 m, outer_height: 2350 mm}"
    assert not parts(frame).problems


def test_with_legs_bars_to_the_wall_and_plan_braces_both_kinds_of_joints_stand_and_pass() -> None:
    found = checked([structure("{wall_bars: braced, front_support: legs, braces: [plan]}")])
    names = ("stress", "buckling", "sag", "drop", "sway", "frame stands", "shear of")
    assert all(check.ok for check in found.checks if check.name.startswith(names))
    assert {anchor.to for anchor in found.anchors} == {"wall"}
    assert not found.ok  # its anchors are not known


def test_anchors_whose_makers_figures_are_given_pass() -> None:
    anchors = ("anchors: {pull_capacity: 5 kN, shear_capacity: 6 kN, base_thickness: 150 mm, base_needed: 100 mm, "
               "edge_distance: 120 mm, edge_needed: 80 mm}")  # fmt: skip
    frame = "{wall_bars: braced, front_support: legs, braces: [plan], feet: anchored, " + anchors + "}"
    found = checked([structure(frame)])
    assert found.ok, [check for check in found.checks if not check.ok]
    assert {anchor.to for anchor in found.anchors} == {"wall", "floor"}


def test_a_frame_that_only_stands_is_told_what_would_make_it_pass() -> None:
    found = checked([structure("{}")])
    assert not found.ok
    assert any("stands and its bars pass with" in words for words in found.advice)


def test_sleeves_are_one_for_each_end_that_slides_and_holes_keep_their_distances() -> None:
    found = pieces("{wall_bars: straight}")
    sleeves = [bar for bar in found.bars if bar.role == "sleeve"]
    assert len(sleeves) == 2 + 2 + 2 + 2  # top bar, wall bars, side bars, front bar
    assert {bar.section.size for bar in sleeves} == {0.040}
    (top,) = [bar for bar in found.bars if bar.name == "frame top bar"]
    along = [hole.along for hole in top.holes]
    assert len(along) == 4
    assert along[0] >= END_DISTANCE * 0.009
    assert along[1] - along[0] >= PITCH * 0.009
    assert along[-1] == pytest.approx(top.length - along[0])
    bolts = next(f for f in found.fittings if f.material == "bolt M8")
    assert bolts.count == 2 * len(sleeves)


def test_welded_frames_have_no_sleeves_and_say_so() -> None:
    found = pieces("{joint: {kind: welded}}")
    assert not [bar for bar in found.bars if bar.role == "sleeve"]
    (top,) = [bar for bar in found.bars if bar.name == "frame top bar"]
    assert top.ends[0].fitting == "welded to frame left upright"


@pytest.mark.parametrize(("frame", "name", "way_out"), [
    ("{joint: {size: 46 mm, wall: 2 mm}}", "sleeve goes in", "a sleeve of 40x40x4 square tube"),
    ("{joint: {size: 30 mm, wall: 2 mm}}", "play of the sleeve", "a sleeve of 40x40x4 square tube, or shims"),
    ("{joint: {overlap: 40 mm, bolts: 3}}", "bolt to bolt", "a thinner or single bolt, or a longer overlap"),
    ("{joint: {overlap: 60 mm}}", "overlap of the sleeve", "75 mm"),
    ("{tube: {size: 20 mm, wall: 2.5 mm}, joint: {overlap: 60 mm}}", "sleeve goes in", "joint: {kind: welded}"),
    ("{tube: {size: 52 mm}}", "tube 52x52x2.5 square tube", "one of 50x50x2.5 square tube"),
])  # fmt: skip
def test_joints_that_cannot_be_put_together_are_told_with_a_way_out(frame: str, name: str, way_out: str) -> None:
    check = next(c for c in (*tube_checks(structure(frame)), *joint_checks(structure(frame))) if c.name == name)
    assert not check.ok
    assert check.passes.startswith(way_out)


def test_corners_are_named_as_fittings_are() -> None:
    notes = " / ".join(pieces("{wall_bars: straight, front_support: legs}").notes)
    assert "three-way on frame left side bar: frame left leg, frame front bar" in notes
    assert "frame left upright: frame top bar" in notes


@pytest.mark.parametrize(("frame", "name"), [
    ("{front_support: legs, braces: [plan]}", "frame left plan brace"), ("{braces: [head]}", "frame right head brace"),
])  # fmt: skip
def test_bolts_of_braces_that_lie_on_bars_go_through_the_middle_of_those_bars(frame: str, name: str) -> None:
    found = {bar.name: bar for bar in pieces(frame).bars}
    brace = found[name]
    along = (np.array(brace.end) - np.array(brace.start)) / brace.span
    for hole, end in zip(brace.holes, brace.ends, strict=True):
        on = found[end.fitting.removeprefix("bolted to ")]
        line = (np.array(on.end) - np.array(on.start)) / on.span
        off = np.array(brace.start) + hole.along * along - np.array(on.start)
        off -= (off @ line) * line
        assert np.linalg.norm(off) == pytest.approx(on.section.size, rel=1e-6)  # one tube above it, and not beside it
        assert min(hole.along, brace.length - hole.along) >= END_DISTANCE * hole.diameter


def test_bars_beside_a_board_lie_outside_it_and_level_with_the_ribs_on_it() -> None:
    bay = BAY.replace("height: 2.3 m", "height: 2.28 m, thickness: 12 mm, slope: 4 deg")
    frame = "{canopy_bars: beside, back_bar: true, ribs: 2, post_top: canopy, front_support: legs, wall_bars: braced}"
    assert not parts(frame, bay).problems
    assert not loose(frame, bay)
    found = {part.name: part.shape for part in parts(frame, bay).parts}
    low, _ = found["frame left leg"].bounds()
    assert low[1] == pytest.approx(1.4)  # the board's edge: a leg cuts nothing out of it
    made = structure(frame, bay)
    for name in ("frame rib 1", "frame front bar", "frame back bar"):
        bar, arm = made.bar(name), made.bar("frame left side bar")
        up = np.cross(np.array(arm.end) - np.array(arm.start), [0.0, 1.0, 0.0])
        assert (np.array(bar.start) - np.array(arm.start)) @ up / np.linalg.norm(up) == pytest.approx(0.0, abs=1e-9)


def test_ribs_on_a_back_bar_close_to_the_uprights_are_no_mechanism() -> None:
    """The back bar's ends were led on past the arms' own ends to the uprights: its ribs then seemed to swing."""
    bay = BAY.replace("height: 2.3 m", "height: 2.28 m, thickness: 12 mm")
    frame = ("{canopy_bars: beside, canopy_clearance: 50 mm, back_bar: true, ribs: 3, post_top: canopy, "
             "wall_bars: braced, front_support: legs, braces: [plan], feet: anchored}")  # fmt: skip
    stands = [check for check in checked([structure(frame, bay)]).checks if check.name.startswith("frame stands")]
    assert stands
    assert all(check.ok for check in stands), stands
