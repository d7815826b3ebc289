"""Screens and nets to order: from the drawing, and from the opening as measured."""

from __future__ import annotations

import pytest

from flightsim.errors import BadInputError
from flightsim.making.ordering.cloth_order import ClothAllowances, Opening, order_net, order_screen
from flightsim.making.pieces import Cloth, TubeSection
from flightsim.scenario.reading.display import Display

TUBE = TubeSection("square", 0.050, 0.0025, 0.005)
DRAWN = Opening(2.980, 2.380, TUBE)
ALLOW, SHOW = ClothAllowances(), Display()


def screen(flap: float = 0.2) -> Cloth:
    return Cloth("screen", "screen", "screen cloth", 2.880, 2.300, "screen", 0.030, flap)


def test_as_drawn_it_is_what_was_flown_with_its_foot_fold() -> None:
    order = order_screen(screen(), DRAWN, None, ALLOW, SHOW)
    assert order.basis == "as drawn"
    assert (order.finished_width, order.finished_height) == pytest.approx((2.880, 2.500))
    assert (order.cut_width, order.cut_height) == pytest.approx((2.980, 2.600))
    assert (order.room_each_side, order.room_above) == pytest.approx((0.050, 0.050))
    assert order.problems == ()


def test_as_measured_it_keeps_the_room_for_the_cords_and_says_what_was_flown() -> None:
    order = order_screen(screen(), DRAWN, Opening(2.960, 2.380), ALLOW, SHOW)
    assert order.basis == "as measured"
    assert (order.finished_width, order.finished_height) == pytest.approx((2.860, 2.500))
    (problem,) = order.problems
    assert "width 2880 mm was flown; 2860 mm fits" in problem


def test_a_tape_that_reads_what_was_drawn_is_no_problem() -> None:
    assert order_screen(screen(), DRAWN, Opening(2.983, 2.380), ALLOW, SHOW).problems == ()


def test_a_screen_that_no_longer_fits_its_opening_is_told() -> None:
    order = order_screen(screen(), DRAWN, Opening(2.890, 2.330), ALLOW, SHOW)
    assert sum("no longer fits" in problem for problem in order.problems) == 2


def test_without_a_frame_the_room_for_cords_is_that_of_common_practice() -> None:
    order = order_screen(screen(), None, Opening(2.980, 2.380), ALLOW, SHOW)
    assert order.finished_width == pytest.approx(2.880)
    assert order.room_each_side == pytest.approx(0.050)


def test_an_opening_that_leaves_no_cloth_is_refused() -> None:
    with pytest.raises(BadInputError, match=r"build\.measured"):
        order_screen(screen(), DRAWN, Opening(0.120, 2.380), ALLOW, SHOW)


def test_a_screen_without_a_flap_gets_the_common_foot_fold_and_says_so() -> None:
    order = order_screen(screen(flap=0.0), DRAWN, None, ALLOW, SHOW)
    assert order.foot_fold == pytest.approx(0.150)
    assert any("foot fold of 150 mm" in note for note in order.notes)


def test_eyelets_are_even_no_wider_than_the_pitch_and_count_as_they_lie() -> None:
    """Counted by walking the edges: along the top with both corners, then down each side to the fold."""
    order = order_screen(screen(), DRAWN, None, ALLOW, SHOW)
    across = round((2.880 - 0.050) / order.pitch_across)
    up = round((2.300 - 0.025) / order.pitch_up)
    assert max(order.pitch_across, order.pitch_up) <= 0.200
    places = {(k, 0) for k in range(across + 1)} | {(side, row) for side in (0, across) for row in range(up + 1)}
    assert order.eyelets == order.cords == len(places)


def test_a_cord_goes_round_the_tube_and_back_when_it_is_stretched() -> None:
    order = order_screen(screen(), DRAWN, None, ALLOW, SHOW)
    taut = order.cord_length * (1.0 + ALLOW.cord_stretch)
    assert taut == pytest.approx(2.0 * (0.050 + 0.025) + 3.0 * 0.050)  # eyelet to tube twice, three of its sides
    assert order.cord_total == pytest.approx(order.cords * order.cord_length)


def test_a_cloth_wider_than_the_roll_has_seams() -> None:
    order = order_screen(screen(), DRAWN, None, ClothAllowances(roll_width=1.5), SHOW)
    assert order.seams == 1
    assert any(note.startswith("seams: 1") for note in order.notes)


def test_a_net_is_ordered_fuller_than_what_it_covers_and_a_cloth_is_not() -> None:
    net = order_net(Cloth("left side net", "net", "net", 1.6, 2.3, "side nets"), ALLOW, SHOW)
    assert (net.finished_width, net.finished_height) == pytest.approx((1.76, 2.53))
    assert net.cord_total == pytest.approx(1.5 * 2.0 * (1.6 + 2.3))
    sheet = order_net(Cloth("baffle", "cloth", "cloth", 1.6, 2.3, "ceiling"), ALLOW, SHOW)
    assert (sheet.finished_width, sheet.cut_width) == pytest.approx((1.6, 1.7))
