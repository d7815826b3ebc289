"""What of a frame is cut and bought, by hand."""

from __future__ import annotations

from dataclasses import replace
from math import pi, radians, sin, tan

import pytest
from goals import bar, bracketed, goal, with_arms

from flightsim.making.frame_pieces import corners, frame_pieces
from flightsim.making.pieces import Bar, Pieces
from flightsim.making.strength.sizes import tube
from flightsim.making.structure import Sleeves, Structure

SLEEVES = Sleeves(0.040, 0.004, True, 0.100, 0.008, 2, 0.0005)


def sleeved(structure: Structure) -> Structure:
    return replace(structure, joining="sleeve", sleeves=SLEEVES)


def named(found: Pieces, name: str) -> Bar:
    (one,) = [each for each in found.bars if each.name == name]
    return one


def sloping(structure: Structure) -> Structure:
    """With arms that rise at 10 deg, cut square so that their lower corners touch."""
    rise = tan(radians(10.0))
    out = 0.025 + 0.025 * sin(radians(10.0))
    arms = [bar(f"{side} side bar", (-out, way * 1.5, 2.2), (-1.0, way * 1.5, 2.2 + rise), structure.bars[0].section)
            for side, way in (("left", 1.0), ("right", -1.0))]  # fmt: skip
    return replace(structure, bars=(*structure.bars, *arms))


def test_welded_bars_that_meet_square_are_as_long_as_they_are() -> None:
    found = frame_pieces(with_arms(goal()))
    top = named(found, "top bar")
    assert (top.length, top.ends[0].cut) == (pytest.approx(2.95), "square")
    assert not top.holes


def test_a_welded_bar_off_square_is_mitred_and_longer_by_its_size_times_the_tangent() -> None:
    arm = named(frame_pieces(sloping(goal())), "left side bar")
    assert arm.ends[0].cut == "mitre"
    assert arm.ends[0].angle == pytest.approx(10.0 * pi / 180.0, rel=0.05)
    assert arm.length == pytest.approx(arm.span + 0.050 * 0.1763, rel=0.01)


def test_of_a_sleeved_bar_off_square_the_stub_is_mitred_and_its_holes_move_along() -> None:
    found = frame_pieces(sleeved(sloping(goal())))
    arm, stub = named(found, "left side bar"), named(found, "sleeve of left side bar on left upright")
    assert arm.length == pytest.approx(arm.span)
    assert stub.ends[0].cut == "mitre"
    more = stub.length - 0.100
    assert more == pytest.approx(0.040 * 0.1763, rel=0.05)
    assert [hole.along - more for hole in stub.holes] == pytest.approx([hole.along for hole in arm.holes])


def test_a_tube_of_the_same_size_welded_to_a_round_one_is_notched_and_reaches_half_way_round_it() -> None:
    section = tube("round", 0.0483, 0.003)
    top = named(frame_pieces(goal(section=section)), "top bar")
    assert {end.cut for end in top.ends} == {"notched"}
    assert top.length == pytest.approx(top.span + 2 * 0.0483 / 2)


def test_braces_lie_on_bars_or_have_lugs() -> None:
    structure = goal()
    lapped = bar("left brace", (0.05, 1.5, 2.0), (0.05, 1.1, 2.4))
    found = frame_pieces(replace(structure, bars=(*structure.bars, lapped)))
    assert named(found, "left brace").ends[0].fitting == "bolted to left upright"
    assert [fitting.name for fitting in found.fittings if "lug" in fitting.name] == []
    off = 0.025 * (1 + 2**-0.5)
    beside = bar("left brace", (0.0, 1.5 - off, 2.0), (0.0, 1.1, 2.4 - off))
    found = frame_pieces(replace(structure, bars=(*structure.bars, beside)))
    assert named(found, "left brace").ends[0].fitting == "bolted to a lug on left upright"
    assert next(fitting for fitting in found.fittings if fitting.name == "brace lug").count == 2


def test_every_bolt_has_its_hole_and_every_plate_its_end() -> None:
    structure = sleeved(bracketed(with_arms(goal())))
    found = frame_pieces(structure)
    cut = [each for each in found.bars if each.role != "sleeve"]
    bolts = sum(fitting.count for fitting in found.fittings if fitting.material.startswith("bolt"))
    assert bolts == sum(len(each.holes) for each in cut)
    plates = sum(f.count for f in found.fittings if f.name in ("foot plate", "wall bracket"))
    lugs = next(f.count for f in found.fittings if f.name == "brace lug")
    assert plates + lugs == len(structure.holds) + 2  # a slanting bar has a lug at either end
    anchors = next(fitting for fitting in found.fittings if fitting.name == "anchor")
    assert anchors.count == 2 * len(structure.holds)


def test_what_stands_on_a_plate_is_cut_shorter_by_it() -> None:
    post = named(frame_pieces(goal()), "left upright")
    assert post.ends[0].fitting == "foot plate, anchored"
    assert post.length == pytest.approx(post.span - 0.006)


def test_corners_are_elbows_tees_and_three_ways() -> None:
    found = {corner.carrying: corner for corner in corners(bracketed(with_arms(goal())))}
    assert found["left side bar"].kind == "elbow"
    assert found["left upright"].kind in ("four-way", "three-way")
    assert set(found["left upright"].joining) == {"top bar", "left wall bar", "left side bar"}
    assert found["left side bar"].as_data()["joining"] == [{"bar": "front bar", "off_square_deg": 0.0}]


def test_the_notes_say_how_large_stubs_bars_and_plates_are_welded() -> None:
    (stubs,) = [note for note in frame_pieces(sleeved(goal())).notes if "weld all round" in note]
    assert "stubs with a throat of 5 mm (leg 7.5 mm) and plates with a throat of 3 mm (leg 4.5 mm)" in stubs
    (bars,) = [note for note in frame_pieces(goal()).notes if "weld all round" in note]
    assert "bars with a throat of 3 mm (leg 4.5 mm)" in bars
