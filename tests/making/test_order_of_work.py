"""The order of work, the tools and the cautions are those of what is on the lists."""

from __future__ import annotations

from dataclasses import replace

from flightsim.making.build_list import BuildList, build_list
from flightsim.making.order_of_work import carrying, cautions, steps, tools
from flightsim.making.pieces import Bar, BarEnd, Board, Cloth, FloorPiece, Pieces, TubeSection
from flightsim.making.settings import BuildSettings, Measured
from flightsim.scenario.reading.display import Display

TUBE = TubeSection("square", 0.05, 0.0025, 0.005)
POST = Bar("", "left upright", "upright", TUBE, 2.4, (0, 1, 0), (0, 1, 2.4))
SCREEN = Cloth("screen", "screen", "screen cloth", 2.8, 2.2, "screen", 0.05, 0.2)
PLY = Board("", "canopy", "plywood 12 mm", 0.012, 2.0, 1.0, "canopy", mass_per_area=9.0)
PLAIN = BuildSettings()


def made(pieces: Pieces, settings: BuildSettings = PLAIN) -> BuildList:
    return build_list([pieces], [], settings, None, Display())


def test_without_welds_nothing_is_said_of_welding() -> None:
    bolted, welded = (
        made(Pieces((replace(POST, ends=(BarEnd(fitting=fitting), BarEnd())),)))
        for fitting in ("cap", "welded to top bar")
    )
    assert not any("eld" in words for words in (*cautions(bolted), *tools(bolted)))
    assert any("fumes" in words for words in cautions(welded))
    assert any("welder" in words for words in tools(welded))


def test_the_screen_is_measured_for_before_it_is_ordered_and_hung_after_the_boards() -> None:
    told = steps(made(Pieces((POST,), (PLY,), cloths=(SCREEN,))), PLAIN)
    places = [next(k for k, step in enumerate(told) if words in step) for words in (
        "Cut the bars", "Measure the clear opening", "Cut the boards", "Hang the cloth", "soft shots",
    )]  # fmt: skip
    assert places == sorted(places)
    measured = BuildSettings(measured=(Measured(screen="screen", width="2.9 m", height="2.3 m"),))  # type: ignore[arg-type]
    again = steps(made(Pieces((POST,), cloths=(SCREEN,)), measured), measured)
    assert not any("Measure the clear opening" in step for step in again)


def test_a_floor_alone_needs_no_saw_for_metal() -> None:
    floor = made(Pieces(floor=(FloorPiece("turf", "turf", 0.0, 0.0, 6.0, 3.0, 0.02),)))
    assert not any("metal" in words for words in (*tools(floor), *cautions(floor)))
    assert any("Lay the floor" in step for step in steps(floor, PLAIN))


def test_sheets_that_do_not_pass_the_door_are_told() -> None:
    narrow = BuildSettings(door_width="0.7 m", door_height="1.1 m")  # type: ignore[arg-type]
    wide = BuildSettings(door_width="0.8 m", door_height="2 m")  # type: ignore[arg-type]
    boards = made(Pieces(boards=(PLY,)))
    assert any("do not pass the door" in words for words in carrying(boards, narrow))
    assert any("pass the door on edge" in words for words in carrying(boards, wide))
    assert any("door not in the bay's file" in words for words in carrying(boards, PLAIN))


def test_a_heavy_bar_is_lifted_by_two() -> None:
    assert any("one person" in words for words in cautions(made(Pieces((POST,)))))
    heavy = replace(POST, section=TubeSection("square", 0.1, 0.005, 0.01), length=4.0)
    assert any("with two" in words for words in cautions(made(Pieces((heavy,)))))
