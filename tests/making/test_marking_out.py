"""Where stubs, lugs and holes go on a bar, by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from goals import bar, goal, with_arms

from flightsim.making.frame_pieces import frame_pieces
from flightsim.making.marking_out import across_face, clear_walls, end_names
from flightsim.making.pieces import Marking, Pieces
from flightsim.making.structure import Sleeves, Structure
from flightsim.plugin.hookspecs import BaySetup
from flightsim.study.run.open_bay import open_bay
from flightsim_plugins.frame import flightsim_pieces, flightsim_structures

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SLEEVES = Sleeves(0.040, 0.004, True, 0.100, 0.008, 2, 0.0005)


def marking(found: Pieces, on: str, joins: str) -> Marking:
    (one,) = [each for each in found.markings if (each.bar, each.joins) == (on, joins)]
    return one


def test_ends_are_called_as_a_builder_calls_them() -> None:
    tube = goal().bars[0].section
    assert end_names(bar("post", (0, 0, 0), (0, 0, 2), tube)) == ("foot", "top")
    assert end_names(bar("across", (0, 1, 2), (0, -1, 2), tube)) == ("left end", "right end")
    assert end_names(bar("arm", (3, 0, 2), (2, 0, 2.2), tube)) == ("wall end", "tee end")


def test_a_bar_that_is_welded_on_is_marked_at_its_middle_on_the_face_that_it_meets() -> None:
    structure = with_arms(goal())
    found = frame_pieces(structure)
    top, upright = structure.bar("top bar"), structure.bar("left upright")
    mark = marking(found, "left upright", "top bar")
    plate = 0.006 * any(hold.bar == "left upright" for hold in structure.holds)
    assert mark.along == pytest.approx(top.start[2] - upright.start[2] - plate)
    assert (mark.measured_from, mark.face, mark.what) == ("foot", "to the right", "weld it")
    assert marking(found, "right upright", "top bar").face == "to the left"
    assert marking(found, "left upright", "left side bar").face == "toward the tee"


def test_bolts_go_through_walls_on_which_nothing_is_welded() -> None:
    arm = bar("arm", (3.0, 0.0, 2.0), (2.0, 0.0, 2.0), goal().bars[0].section)
    beside, under = (Marking("arm", "wall end", 0.025, face, "weld its stub", "x") for face in (
        "to the left", "the underside"))  # fmt: skip
    assert clear_walls(arm, 0.025, [], 0.04) == "through_side"
    assert clear_walls(arm, 0.025, [beside], 0.04) == "through_top"
    assert clear_walls(arm, 0.075, [beside], 0.04) == "through_side"
    assert clear_walls(arm, 0.025, [beside, under], 0.04) is None
    assert across_face(arm, "toward the tee") == "through_top"  # an end of it: no wall that bolts go through


@pytest.mark.parametrize("name", ["single_garage", "lean_to", "village_hall", "common_bay"])
def test_no_bolt_of_a_demo_sits_under_a_stub_and_every_mark_lies_on_its_bar(name: str) -> None:
    scenario = open_bay(SCENARIOS / f"{name}.yaml").scenario
    setup = BaySetup(scenario.entries("frame"), scenario)
    found, (structure,) = flightsim_pieces(setup), flightsim_structures(setup)
    bars = {each.name: each for each in found.bars}
    for mark in found.markings:
        assert 0.0 < mark.along < bars[mark.bar].length
        near = structure.bar(mark.joins)
        on = structure.bar(mark.bar)
        start, line = np.array(on.start), (np.array(on.end) - np.array(on.start)) / on.span
        place = start + mark.along * line
        reach = min(np.linalg.norm(np.array(end) - place) for end in (near.start, near.end))
        assert reach <= 1.25 * on.section.size  # what is joined there ends there
        for hole in bars[mark.bar].holes:
            if "sleeve" in hole.use and abs(hole.along - mark.along) < 0.030:
                assert hole.face != across_face(on, mark.face)


def test_the_holes_of_a_stub_go_through_the_same_walls_as_its_bars() -> None:
    scenario = open_bay(SCENARIOS / "single_garage.yaml").scenario
    found = flightsim_pieces(BaySetup(scenario.entries("frame"), scenario))
    stub = next(each for each in found.bars if each.name.startswith("sleeve of frame left side bar on"))
    arm = next(each for each in found.bars if each.name == "frame left side bar")
    assert {hole.face for hole in stub.holes} == {hole.face for hole in arm.holes} == {"through_top"}


def test_loose_sleeves_are_told_to_be_shimmed_and_snug_ones_are_not() -> None:
    def says_shim(structure: Structure) -> bool:
        return any("shim" in note for note in frame_pieces(structure).notes)

    sleeved = replace(goal(), joining="sleeve", sleeves=SLEEVES)
    tube = sleeved.bars[0].section
    assert says_shim(sleeved) == (tube.size - 2.0 * tube.wall - 0.040 > 0.002 + 1e-9)
    snug = replace(SLEEVES, size=tube.size - 2.0 * tube.wall - 0.0015)
    assert not says_shim(replace(sleeved, sleeves=snug))
