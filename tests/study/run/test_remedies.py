"""What would help: estimated of balls as they are played, without the luck of having picked those that went wrong."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.study.run.remedies import estimate
from flightsim.study.run.troubles import Tried


@given(st.floats(0.01, 0.3), st.integers(0, 2**32 - 1))
@settings(max_examples=25, deadline=None)
def test_a_change_that_only_shuffles_is_not_told_to_help(rate, seed):
    """Every ball is drawn anew: as many have the trouble as before, though of those picked for it most lose it."""
    rng, shots = np.random.default_rng(seed), 20_000
    before, now = rng.random(shots) < rate, rng.random(shots) < rate
    some = np.unique(np.concatenate([np.arange(4000), np.flatnonzero(before)[:400]]))
    plain = some < 4000
    share = before.mean()
    told = estimate(before[some], ~before[some] & plain, now[some], np.ones(some.size), share)
    spread = 5.0 * np.sqrt(rate / 400) * np.sqrt(rate) + 5.0 * np.sqrt(rate * (1 - rate) / 4000)
    assert abs(told - share) < spread


def test_a_change_that_cures_half_and_spoils_none_leaves_half():
    had = np.array([True] * 60 + [False] * 940)
    now = np.array([True] * 30 + [False] * 970)
    assert estimate(had, ~had, now, np.ones(1000), 0.02) == pytest.approx(0.01)


def test_what_a_change_spoils_elsewhere_counts():
    had = np.array([True] * 60 + [False] * 940)
    now = np.array([False] * 60 + [True] * 47 + [False] * 893)
    assert estimate(had, ~had, now, np.ones(1000), 0.02) == pytest.approx(0.05 * 0.98)


def test_balls_count_as_they_are_played_and_not_as_they_are_flown():
    """Half of the shots that had it are shanks, of which one ball in a hundred is one: to cure those cures little."""
    had = np.array([True] * 100 + [False] * 100)
    shank = np.arange(200) % 2 == 0
    weight = np.where(shank, 0.01, 0.99)
    cured = had & ~shank
    assert estimate(had, ~had, cured, weight, 0.3) == pytest.approx(0.3 * 0.99)
    assert estimate(had, ~had, cured, np.ones(200), 0.3) == pytest.approx(0.15)


@pytest.mark.parametrize(("after", "escapes", "helps"), [(0.05, 0.09, True), (0.05, 0.1, False), (0.1, 0.08, False)])
def test_a_change_helps_only_where_the_trouble_and_all_escapes_get_fewer_of_balls_as_played(after, escapes, helps):
    assert Tried("x", ("a=1",), 1000, 100, 100, 5, 100, 7, 0.1, after, 0.1, escapes).helps is helps
