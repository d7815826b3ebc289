"""What a map says: nothing open only when it is shown, and never more than was found."""

from types import SimpleNamespace

import pytest

from flightsim.report.words.map_words import share_words, shown_words, turn_words
from flightsim.study.map.direction_map import Share
from flightsim.study.map.envelope import Closure


def club(closure: Closure, most: float = 0.0):
    """A club with only what is shown of it."""
    nothing = closure.whole and most == 0.0
    return SimpleNamespace(closure=closure, map=SimpleNamespace(reached=0.1), nothing_open=nothing)


def closure(**parts) -> Closure:
    whole = {"closed": 0.1, "floor": 0.0, "bare": 0.0, "undecided": 0.0, "cells": 10, "left": 0, "smallest": 0.01,
             "spent": False}  # fmt: skip
    return Closure(**{**whole, **parts})


def test_nothing_open_is_said_only_when_all_is_shown_closed():
    assert shown_words(club(closure())).startswith("Nothing open:")
    for parts in ({"bare": 0.01}, {"undecided": 1e-9, "left": 1}):
        assert "Nothing open" not in shown_words(club(closure(**parts)))
    assert "Nothing open" not in shown_words(club(closure(), most=1e-6))


def test_undecided_cells_are_counted_as_open_and_told():
    words = shown_words(club(closure(closed=0.09, undecided=0.01, left=12)))
    assert "10 % is undecided, and counts as open (12 cells" in words


def test_floor_first_directions_are_said_to_be_told_by_flown_balls_only():
    words = shown_words(club(closure(closed=0.05, floor=0.05)))
    assert "told by flown balls only" in words
    assert not words.startswith("Nothing open:")


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (Share(0.0, 0.0, 0.0), "none found of it"),
        (Share(0.0, 0.0, 0.001), "next to none of it (0 to 0.100 %)"),
        (Share(0.25, 0.2, 0.3), "25.0 % of it (20.0 % to 30.0 %)"),
        (Share(1.0, 1.0, 1.0), "all of it (all to all)"),
    ],
)
def test_a_share_is_told_with_its_least_and_most(share, words):
    assert share_words(share, "it") == words


def test_a_turn_is_told_as_higher_and_further_right():
    escape = SimpleNamespace(higher=0.04, righter=-0.02, shot=SimpleNamespace(turn=0.0447))
    assert turn_words(escape) == "2.29 deg higher and 1.15 deg further left: a turn of 2.56 deg"
