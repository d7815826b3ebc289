"""One strike drawn: arrows go where head, face and ball go, a left-hander's are mirrored, no word covers another."""

from itertools import combinations
from math import radians

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.report.draw.one_strike_figure import _levels, _ways, one_strike_figure
from flightsim.study.single.one_strike import OneStrike, strike_once

ANGLES = {"attack": radians(-4.0), "path": radians(3.0), "face": radians(-2.0)}


def order(**more):
    return OneStrike(38.0, club="7-iron", **(ANGLES | more))


def test_the_arrows_are_as_long_as_head_and_ball_are_fast_and_go_where_these_go():
    struck = strike_once(order())
    (head, *_), (face, *_), (ball, *_) = _ways(struck, order())
    assert np.linalg.norm(ball) / np.linalg.norm(head) == pytest.approx(struck.numbers["ball_speed_m_s"] / 38.0)
    assert np.arcsin(head[2] / np.linalg.norm(head)) == pytest.approx(ANGLES["attack"])
    assert np.arctan2(-head[1], head[0]) == pytest.approx(ANGLES["path"])
    assert np.arctan2(-face[1], face[0]) == pytest.approx(ANGLES["face"])
    assert np.degrees(np.arctan2(-ball[1], ball[0])) == pytest.approx(struck.numbers["azimuth_deg"])


def test_a_left_handers_strike_is_drawn_as_the_mirror_image():
    right, left = (_ways(strike_once(order(left=hand)), order(left=hand)) for hand in (False, True))
    for (one, *_), (other, *_) in zip(right, left, strict=True):
        assert other == pytest.approx(one * [1, -1, 1], abs=1e-9)


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_no_word_of_the_drawing_covers_another_or_leaves_the_sheet(units):
    figure = one_strike_figure(strike_once(order(toe=-0.03)), order(toe=-0.03), units)
    figure.draw_without_rendering()
    boxes = [text.get_window_extent() for axes in figure.axes for text in axes.texts if text.get_text()]
    assert len(boxes) == 6
    assert not [pair for pair in combinations(boxes, 2) if pair[0].overlaps(pair[1])]
    wide, tall = figure.get_size_inches() * figure.dpi
    assert all(box.x0 >= 0 and box.x1 <= wide and box.y0 >= 0 and box.y1 <= tall for box in boxes)


@settings(max_examples=50)
@given(st.lists(st.floats(-3, 3), min_size=1, max_size=4))
def test_words_stand_apart_in_the_order_of_their_arrows(wanted):
    levels = np.array(_levels(wanted))
    assert (np.diff(np.sort(levels)) > 0.18).all()
    assert (np.argsort(levels, kind="stable") == np.argsort(wanted, kind="stable")).all()
