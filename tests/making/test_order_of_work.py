"""The order of work, the tools and the cautions are those of what is on the lists."""

from __future__ import annotations

from dataclasses import replace

from flightsim.making.build_list import BuildList, build_list
from flightsim.making.order_of_work import carrying, cautions, steps, tools
from flightsim.making.pieces import Bar, BarEnd, Board, Cloth, FloorPiece, Length, Pieces, TubeSection
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
    work = steps(made(Pieces((POST,), (PLY,), cloths=(SCREEN,))), PLAIN)
    places = [next(k for k, step in enumerate(work) if words in step) for words in (
        "Cut the bars", "Measure the clear opening", "Cut the boards", "Hang the cloth", "soft shots",
    )]  # fmt: skip
    assert places == sorted(places)
    measured = BuildSettings(measured=(Measured(screen="screen", width="2.9 m", height="2.3 m"),))  # type: ignore[arg-type]
    again = steps(made(Pieces((POST,), cloths=(SCREEN,)), measured), measured)
    assert not any("Measure the clear opening" in step for step in again)


def test_what_slides_on_sleeves_is_pushed_together_before_it_is_raised_and_the_canopy_comes_as_one() -> None:
    """A bar between two stubs cannot go in once both stand fast."""
    slides = (BarEnd(fitting="slides over the sleeve on left upright"), BarEnd(fitting="slides over the sleeve on x"))
    bars = (POST, *(replace(POST, name=role, role=role, ends=slides) for role in (
        "top bar", "side bar", "front bar", "leg", "wall bar", "brace")))  # fmt: skip
    work = steps(made(Pieces(bars)), PLAIN)
    places = [next(k for k, step in enumerate(work) if words in step) for words in (
        "uprights and top bar together", "canopy's frame together", "Slide the wall bars", "push its side bars on",
        "Fit the braces"
    )]  # fmt: skip
    assert places == sorted(places)
    assert any(f"It weighs {3.0 * POST.mass:.0f} kg: lift it with 2 or more" in step for step in work)
    assert not any("Lay the frame out flat" in step for step in work)
    assert any("Lay the frame out flat" in step for step in steps(made(Pieces((POST,))), PLAIN))


def test_pipe_foam_goes_around_bars_and_strips_over_gaps() -> None:
    foam, strip = (Length("", name, name, 1.0, "frame") for name in ("pipe foam 40 mm for 50 mm tube", "foam strip"))
    for lengths, around, over in (((foam,), True, False), ((strip,), False, True), ((foam, strip), True, True)):
        text = " ".join(steps(made(Pieces(lengths=lengths)), PLAIN))
        assert ("Slit the pipe foam" in text, "Fit the strips over the gaps" in text) == (around, over)


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
