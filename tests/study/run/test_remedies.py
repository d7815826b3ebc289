"""What would help: estimated from some of the shots, without the luck of having picked those that went wrong."""

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
    told = estimate(before[some], ~before[some] & plain, now[some], int(before.sum()), shots)
    spread = 5.0 * shots * np.sqrt(rate / 400) * np.sqrt(rate) + 5.0 * shots * np.sqrt(rate * (1 - rate) / 4000)
    assert abs(told - before.sum()) < spread


def test_a_change_that_cures_half_and_spoils_none_leaves_half():
    had = np.array([True] * 60 + [False] * 940)
    now = np.array([True] * 30 + [False] * 970)
    assert estimate(had, ~had, now, 400, 20_000) == 200


def test_what_a_change_spoils_elsewhere_counts():
    had = np.array([True] * 60 + [False] * 940)
    now = np.array([False] * 60 + [True] * 47 + [False] * 893)
    assert estimate(had, ~had, now, 400, 20_000) == pytest.approx(0.05 * 19_600, abs=1)


@pytest.mark.parametrize(("after", "escapes", "helps"), [(50, 90, True), (50, 100, False), (100, 80, False)])
def test_a_change_helps_only_where_the_trouble_and_all_escapes_get_fewer(after, escapes, helps):
    assert Tried("x", ("a=1",), 1000, 100, 100, after, 100, escapes).helps is helps
