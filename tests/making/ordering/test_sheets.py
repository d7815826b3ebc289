"""Boards on sheets: nothing overlaps, every cut goes right through, and the bound is one."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from flightsim.errors import BadInputError
from flightsim.making.ordering.sheets import Placed, SheetSize, fewest_sheets, plan_sheets, seamed
from flightsim.making.pieces import Board

PLY = SheetSize(2.440, 1.220)
KERF = 0.003


def board(width: int, height: int, may_turn: bool = True) -> Board:
    """mm."""
    return Board("", f"{width} x {height}", "plywood 12 mm", 0.012, width / 1e3, height / 1e3, "canopy", may_turn)


def can_be_sawn(pieces: list[Placed]) -> bool:
    """Whether cuts from edge to edge, one after another, free every piece: a straight line that passes none, again."""
    if len(pieces) <= 1:
        return True
    for low, size in (("x", "along"), ("y", "across")):
        ordered = sorted(pieces, key=lambda p: getattr(p, low))
        for k in range(1, len(ordered)):
            edge = max(getattr(p, low) + getattr(p, size) for p in ordered[:k])
            if edge + KERF <= getattr(ordered[k], low) + 1e-9:
                return can_be_sawn(ordered[:k]) and can_be_sawn(ordered[k:])
    return False


@settings(max_examples=80, deadline=None)
@given(sizes=st.lists(st.tuples(st.integers(60, 2400), st.integers(60, 1200)), min_size=1, max_size=12))
def test_every_piece_is_on_a_sheet_once_and_cuts_from_edge_to_edge_free_it(sizes: list[tuple[int, int]]) -> None:
    boards = [board(*size) for size in sizes]
    plan = plan_sheets(boards, PLY, KERF)
    placed = [piece for sheet in plan.sheets for piece in sheet]
    assert sorted(piece.board.name for piece in placed) == sorted(b.name for b in boards)
    assert all(p.x >= 0 and p.y >= 0 for p in placed)
    assert all(p.x + p.along <= 2.440 + 1e-6 and p.y + p.across <= 1.220 + 1e-6 for p in placed)
    assert all({round(p.along, 6), round(p.across, 6)} == {p.board.width, p.board.height} for p in placed)
    assert all(can_be_sawn(list(sheet)) for sheet in plan.sheets)
    assert len(plan.sheets) >= plan.at_least >= 1


def test_four_quarters_fit_one_sheet_only_where_the_kerf_leaves_room() -> None:
    assert len(plan_sheets([board(1218, 608)] * 4, PLY, KERF).sheets) == 1
    assert len(plan_sheets([board(1220, 610)] * 4, PLY, KERF).sheets) == 2
    assert plan_sheets([board(1220, 610)] * 4, PLY, 0.0).proved


def test_pieces_of_more_than_half_a_sheet_each_way_take_one_each() -> None:
    boards = [board(1300, 700)] * 3
    assert fewest_sheets(boards, PLY, KERF) == 3
    assert plan_sheets(boards, PLY, KERF).proved


def test_on_a_nearly_square_sheet_two_that_are_turned_share_it() -> None:
    """Each is more than half the sheet's length, and less once turned: the bound must not say two."""
    size = SheetSize(0.500, 0.400)
    boards = [board(260, 210)] * 2
    assert fewest_sheets(boards, size, 0.0) == 1
    assert len(plan_sheets(boards, size, 0.0).sheets) == 1


def test_grain_keeps_a_piece_from_being_turned() -> None:
    with pytest.raises(BadInputError, match="larger than a sheet"):
        plan_sheets([board(1000, 2000, may_turn=False)], PLY, KERF)
    assert len(plan_sheets([board(1000, 2000)], PLY, KERF).sheets) == 1


@settings(max_examples=60, deadline=None)
@given(width=st.integers(100, 9000), height=st.integers(100, 4000))
def test_the_parts_of_a_board_larger_than_a_sheet_have_its_area_and_fit(width: int, height: int) -> None:
    assume(width >= height)
    parts = seamed([board(width, height)], PLY, KERF)
    assert sum(part.width * part.height for part in parts) == pytest.approx(width * height / 1e6)
    assert plan_sheets(parts, PLY, KERF).sheets
    if width <= 2440 and height <= 1220:
        assert [part.name for part in parts] == [f"{width} x {height}"]
