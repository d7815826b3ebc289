"""Alike pieces share a mark; pieces that differ in anything the saw or drill sees do not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flightsim.making.ordering.marks import mark_bars, mark_boards, mark_lengths
from flightsim.making.pieces import Bar, BarEnd, Board, Hole, Length, TubeSection

TUBE = TubeSection("square", 0.05, 0.0025, 0.005)
POST = Bar("", "left upright", "upright", TUBE, 2.4, (0, 1, 0), (0, 1, 2.4), (BarEnd(), BarEnd(fitting="cap")))


def marks(*bars: Bar) -> list[str]:
    return [bar.mark for bar in mark_bars(bars)]


def test_two_posts_of_one_length_share_a_mark_and_the_longest_is_first() -> None:
    other = replace(POST, name="right upright")
    top = replace(POST, name="top bar", role="top bar", length=2.9)
    assert [(bar.mark, bar.name) for bar in mark_bars([POST, other, top])] == [
        ("A1", "top bar"), ("A2", "left upright"), ("A2", "right upright"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "change",
    [
        {"length": 2.401},
        {"section": TubeSection("square", 0.05, 0.003, 0.006)},
        {"holes": (Hole(0.1, 0.009),)},
        {"ends": (BarEnd("mitre", 0.1), BarEnd(fitting="cap"))},
        {"role": "leg"},
    ],
)
def test_what_the_saw_or_drill_sees_makes_another_mark(change: dict[str, object]) -> None:
    assert len(set(marks(POST, replace(POST, name="other", **change)))) == 2  # type: ignore[arg-type]


def test_what_it_is_fixed_to_makes_no_other_mark() -> None:
    left, right = (
        replace(POST, ends=(BarEnd(fitting=f"welded to {side} bar"), BarEnd())) for side in ("left", "right")
    )
    assert len(set(marks(left, right))) == 1


def test_a_hair_of_rounding_makes_no_other_mark() -> None:
    assert len(set(marks(POST, replace(POST, length=2.4 + 1e-6)))) == 1


def test_boards_and_strips_are_marked_by_material_and_size() -> None:
    board = Board("", "canopy", "plywood 12 mm", 0.012, 1.2, 0.8, "canopy")
    boards = [board, replace(board, name="other"), replace(board, width=1.0), replace(board, material="foam 25 mm")]
    assert len({b.mark for b in mark_boards(boards)}) == 3
    strip = Length("", "left cover", "foam strip", 2.2, "screen")
    assert {s.mark for s in mark_lengths([strip, replace(strip, name="right cover")])} == {"S1"}
