"""Guards in one place: sheets on one another are told, covers, neighbours and what hangs apart are not."""

from __future__ import annotations

import numpy as np
import pytest
from bays import part, vector

from flightsim.bay.one_place import in_one_place
from flightsim.bay.parts import Role
from flightsim.bay.shapes import block, rectangle


def sheet(name: str, x: float = 3.0, y=(-1.5, 1.5), z=(0.0, 2.4), role: Role = Role.GUARD):
    return part(name, rectangle(vector(x, y[0], z[0]), vector(0, y[1] - y[0], 0), vector(0, 0, z[1] - z[0])), role)


def names(*parts) -> list[tuple[str, str]]:
    return [(one.name, other.name) for one, other in in_one_place(parts)]


@pytest.mark.parametrize("behind", [0.0, 0.01, 0.04])
def test_two_sheets_as_near_as_a_ball_are_in_one_place(behind):
    assert names(sheet("one"), sheet("two", 3.0 + behind)) == [("one", "two")]


def test_a_small_sheet_on_a_large_one_is_in_its_place_and_one_that_overlaps_a_little_is_not():
    assert names(sheet("large"), sheet("small", y=(0.0, 1.0), z=(1.0, 2.0))) == [("large", "small")]
    assert names(sheet("one"), sheet("next", y=(1.3, 3.0))) == []
    assert names(sheet("one"), sheet("far half", y=(0.3, 3.3))) == []


def test_what_hangs_apart_is_a_strip_or_stops_nothing_is_not_told():
    assert names(sheet("one"), sheet("two", 3.2)) == []
    assert names(sheet("one"), sheet("cover", y=(1.3, 1.55))) == []
    assert names(sheet("one"), sheet("wall", role=Role.UNPROTECTED)) == []


def test_boards_count_by_their_broad_face_and_a_corner_where_two_meet_is_no_one_place():
    board = part("board", block(vector(3.0, -1, 0), vector(3.02, 1, 2)), Role.GUARD)
    assert names(sheet("one"), board) == [("one", "board")]
    side = part("side", rectangle(vector(0, 1.5, 0), vector(3, 0, 0), vector(0, 0, 2.4)), Role.GUARD)
    assert names(sheet("one"), side) == []
    assert np.array_equal(sheet("one").shape.bounds()[0], [3.0, -1.5, 0.0])
