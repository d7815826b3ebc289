"""Bounds on rates: one shot type against an exact test of scipy, a total against its promise, and none seen."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest

from flightsim.study.bounds import lower_bound, shots_needed, upper_bound, weighted_bounds

CASES = [(k, n) for n in (1, 4, 20, 800, 20_000) for k in sorted({0, 1, 2, n // 2, n - 1, n}) if k <= n]


@pytest.mark.parametrize(("count", "shots"), CASES)
def test_the_bounds_of_one_shot_type_are_those_of_an_exact_binomial_test(count: int, shots: int) -> None:
    # Outside source: scipy.stats.binomtest, which inverts the binomial test (Clopper & Pearson 1934) by root finding.
    above = binomtest(count, shots, alternative="less").proportion_ci(0.95, method="exact").high
    below = binomtest(count, shots, alternative="greater").proportion_ci(0.95, method="exact").low
    assert float(upper_bound(count, shots, 0.05)) == pytest.approx(above, abs=1e-12)
    assert float(lower_bound(count, shots, 0.05)) == pytest.approx(below, abs=1e-12)


@pytest.mark.parametrize("shots", [1, 25, 800, 1_000_000])
def test_none_seen_is_never_nought(shots: int) -> None:
    # Closed form of Clopper & Pearson 1934 for none of n: 1 - alpha^(1/n); about 3/n.
    assert float(upper_bound(0, shots, 0.05)) == pytest.approx(1.0 - 0.05 ** (1.0 / shots), rel=1e-9)
    assert float(lower_bound(shots, shots, 0.05)) == pytest.approx(0.05 ** (1.0 / shots), rel=1e-9)


def test_the_shots_needed_are_the_fewest_that_show_a_rate() -> None:
    for rate in (0.3, 0.01, 1e-3):
        n = shots_needed(rate)
        assert float(upper_bound(0, n, 0.05)) <= rate < float(upper_bound(0, n - 1, 0.05))


def test_the_bound_of_a_total_holds_at_least_as_often_as_it_says() -> None:
    # Drawn from known rates: the true total lies inside each one-sided bound in at least 95 of 100 runs.
    random = np.random.default_rng(1)
    share, rate = np.array([0.6, 0.3, 0.08, 0.02]), np.array([0.001, 0.01, 0.2, 0.9])
    shots, runs = np.full(4, 200), 2000
    bounds = np.array([weighted_bounds(share, random.binomial(shots, rate), shots, 0.05) for _ in range(runs)])
    assert (bounds[:, 0] <= share @ rate).mean() >= 0.95
    assert (bounds[:, 1] >= share @ rate).mean() >= 0.95


def test_a_rare_type_with_a_large_share_keeps_the_total_from_looking_small() -> None:
    # None of 1,000 in all says little of a type that had 10 of them and is half of all balls.
    share, shots = np.array([0.5, 0.5]), np.array([990, 10])
    _, upper = weighted_bounds(share, np.zeros(2, dtype=np.intp), shots, 0.05)
    assert upper > 0.5 * (1.0 - 0.025 ** (1.0 / 10))
    assert upper > 50 * 3 / 1000
