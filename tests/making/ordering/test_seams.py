"""Boards larger than a sheet: seams on ribs where there are any, and foam's seams off those of its board."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flightsim.making.ordering.seams import level_seams_of, on_bars, ribs_under, seam_notes, seams_of
from flightsim.making.ordering.sheets import SheetSize, seamed
from flightsim.making.pieces import Bar, Board, TubeSection
from flightsim.making.structure import Hold, Overhead, Structure
from flightsim.scenario.reading.display import Display

PLY, FOAM = SheetSize(2.44, 1.22), SheetSize(2.0, 1.0)
TUBE = TubeSection("square", 0.05, 0.0025, 0.005)
CANOPY = Board("", "canopy", "plywood 12 mm", 0.012, 2.98, 1.1, "canopy")
SOFT = Board("", "canopy, foam", "foam 25 mm", 0.025, 2.98, 0.9, "canopy")


def bar(name: str, role: str, y: float) -> Bar:
    return Bar("", name, role, TUBE, 1.1, (3.0, y, 2.4), (1.9, y, 2.4))


def frame(*ribs: float) -> Structure:
    """Ribs at these distances from the left edge; the canopy's middle is at y = -0.1 m."""
    sides = [bar("left side bar", "side bar", 1.415), bar("right side bar", "side bar", -1.615)]
    inner = [bar(f"rib {k}", "rib", 1.39 - place) for k, place in enumerate(ribs, start=1)]
    over = Overhead("canopy", "front bar", ("left side bar", "right side bar"), 2.98, 1.1, 9.0, 0.012, True, len(ribs))
    return Structure(
        "frame", (*sides, *inner), (Hold("foot", "left side bar", "start", "floor", True),), canopies=(over,)
    )


def notes_on(ribs: dict[str, dict[str, float]], *cut: Board, drawn: tuple[Board, ...] = (CANOPY,)) -> list[str]:
    return list(seam_notes(drawn, cut, ribs, 0.05, Display()))


def test_ribs_are_told_from_the_boards_left_edge() -> None:
    assert ribs_under([CANOPY], [frame(0.7, 2.2)])["canopy"] == pytest.approx({"rib 1": 0.7, "rib 2": 2.2})
    assert ribs_under([CANOPY], [frame()]) == {}


def test_a_seam_goes_to_the_rib_next_to_the_middle_and_its_note_names_the_rib() -> None:
    ribs = ribs_under([CANOPY], [frame(0.6, 1.2, 1.8, 2.4)])
    cut = seamed([CANOPY], PLY, 0.003, {"canopy": tuple(ribs["canopy"].values())})
    assert [part.width for part in cut] == pytest.approx([1.2, 1.78])
    (note,) = notes_on(ribs, *reversed(cut))
    assert "the seam 1200 mm from its left edge lies on rib 2" in note


def test_a_seam_that_lies_on_no_rib_says_how_far_off_the_next_one_is_and_asks_for_a_batten() -> None:
    """A single rib at .3 m leaves a part wider than a sheet: the parts are equal then."""
    ribs = ribs_under([CANOPY], [frame(0.3)])
    cut = seamed([CANOPY], PLY, 0.003, {"canopy": (0.3,)})
    assert [part.width for part in cut] == pytest.approx([1.49, 1.49])
    (note,) = notes_on(ribs, *cut)
    assert "lies on no bar, 1190 mm off the middle of rib 1: screw a batten behind it" in note


@pytest.mark.parametrize(("off", "carried"), [(0.009, True), (0.011, False)])
def test_a_seam_lies_on_a_bar_where_both_boards_have_15_mm_of_it(off: float, carried: bool) -> None:
    cut = seamed([CANOPY], PLY, 0.003)
    (note,) = notes_on({"canopy": {"rib 1": 1.49 + off}}, *cut)
    assert ("lies on rib 1" in note) is carried


def test_no_seam_of_foam_lies_over_one_of_its_board() -> None:
    board = seamed([CANOPY], PLY, 0.003)
    equal = seamed([SOFT], FOAM, 0.0)
    assert seams_of(SOFT, equal) == pytest.approx([1.49])
    apart = seamed([SOFT], FOAM, 0.0, {}, {SOFT.name: seams_of(CANOPY, board)})
    assert seams_of(SOFT, apart) == pytest.approx([2.0])
    notes = notes_on({}, *board, *apart, drawn=(CANOPY, SOFT))
    assert "screw a batten behind each seam" in notes[0]
    assert "glue them on, none of their seams over one of the board's" in notes[1]


def test_no_level_seam_of_foam_lies_over_one_of_its_panel() -> None:
    """A side panel 1.5 m deep and 2 m high: two parts of ply one on the other, so foam goes on upright."""
    panel = Board("", "right side panel", "plywood 18 mm", 0.018, 1.5, 2.0, "side nets")
    soft = replace(panel, name="right side panel, foam", material="foam 25 mm", thickness=0.025)
    ply = seamed([panel], PLY, 0.003)
    assert level_seams_of(panel, ply) == pytest.approx((1.0,))
    over = seamed([soft], FOAM, 0.0)
    assert level_seams_of(soft, over) == pytest.approx((1.0,))
    apart = seamed([soft], FOAM, 0.0, {}, {soft.name: seams_of(panel, ply)}, {soft.name: level_seams_of(panel, ply)})
    assert level_seams_of(soft, apart) == ()
    assert seams_of(soft, apart) == pytest.approx((0.75,))


def test_a_board_in_two_rows_has_the_seams_of_one_row() -> None:
    high = Board("", "wall", "plywood 12 mm", 0.012, 4.0, 2.0, "wall")
    assert len(seams_of(high, seamed([high], PLY, 0.003))) in (1, 3)
    assert all(0.0 < seam < 4.0 for seam in seams_of(high, seamed([high], PLY, 0.003)))


def test_parts_on_bars_fill_the_board_and_fit_the_sheet() -> None:
    widths = on_bars(5.0, 3, 2.44, (0.5, 1.5, 2.4, 3.4, 4.6))
    assert sum(widths) == pytest.approx(5.0)
    assert widths == pytest.approx((1.5, 1.9, 1.6))
