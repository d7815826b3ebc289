"""Random numbers belong to a shot, and to nothing else."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import kstest

from flightsim.study.run.streams import BLOCK, uniforms

SEEDS = st.integers(0, 2**64)
FEW = settings(max_examples=40, deadline=None)


@FEW
@given(seed=SEEDS, first=st.integers(0, 5 * BLOCK), count=st.integers(0, 3 * BLOCK), dims=st.integers(1, 8))
def test_shots_cut_out_of_a_run_draw_what_they_draw_in_the_whole_run(seed, first, count, dims):
    whole = uniforms(seed, 0, first + count, "launch", dims)
    assert np.array_equal(uniforms(seed, first, count, "launch", dims), whole[:, first:])


@FEW
@given(seed=SEEDS, cuts=st.lists(st.integers(1, 3 * BLOCK), max_size=6), first=st.integers(0, 10**9))
def test_chunks_of_any_size_join_to_the_same_numbers(seed, cuts, first):
    edges = np.cumsum([first, *cuts]).tolist()
    pieces = [uniforms(seed, a, b - a, "launch", 3) for a, b in pairwise(edges)]
    whole = uniforms(seed, first, edges[-1] - first, "launch", 3)
    assert np.array_equal(np.concatenate([np.empty((3, 0)), *pieces], axis=1), whole)


@FEW
@given(seed=SEEDS, few=st.integers(0, 8), more=st.integers(0, 8))
def test_more_dimensions_leave_those_before_as_they_are(seed, few, more):
    assert np.array_equal(uniforms(seed, 700, 900, "launch", few + more)[:few], uniforms(seed, 700, 900, "launch", few))


@pytest.mark.parametrize(("word", "ends"), [(0, 2.0**-53), (2**64 - 1, 1.0 - 2.0**-53)])
def test_the_least_and_the_largest_draw_lie_inside_0_and_1(monkeypatch, word, ends):
    class Still:
        def __init__(self, entropy: object) -> None:
            pass

        def random_raw(self, size: int) -> np.ndarray:
            return np.full(size, word, dtype=np.uint64)

    monkeypatch.setattr(np.random, "Philox", Still)
    draws = uniforms(1, 0, 4, "launch", 1)
    assert (draws == ends).all()
    assert 0.0 < draws.min() <= draws.max() < 1.0


def test_another_seed_purpose_or_block_gives_other_numbers():
    draws = [
        uniforms(1, 0, BLOCK, "launch", 1),
        uniforms(2, 0, BLOCK, "launch", 1),
        uniforms(1, 0, BLOCK, "strike", 1),
        uniforms(1, BLOCK, BLOCK, "launch", 1),
        uniforms(1 + 2**32, 0, BLOCK, "launch", 1),
        uniforms(1, 0, BLOCK, "launch", 2)[1:],
    ]
    together = np.corrcoef(np.concatenate(draws))
    # Of 1,024 independent pairs, |r| above 5/sqrt(1024) comes once in 1.7 million (normal tail).
    assert np.abs(together - np.eye(len(draws))).max() < 5.0 / np.sqrt(BLOCK)


def test_the_draws_are_uniform_within_and_across_blocks():
    # Outside source: the Kolmogorov-Smirnov test of scipy. Nothing is left to chance: the seed is fixed.
    draws = uniforms(3, 0, 200_000, "launch", 2)
    assert min(kstest(row, "uniform").pvalue for row in draws) > 0.001
    first_of_block = uniforms(3, 0, 400 * BLOCK, "launch", 1)[0, ::BLOCK]
    assert kstest(first_of_block, "uniform").pvalue > 0.001


def test_a_seed_means_the_same_numbers_in_every_version():
    # Written down on 25 November 2026 from this code: a run of that day must be flown again bit for bit.
    assert uniforms(1, 0, 3, "launch", 2).tolist() == [
        [0.1570669351640438, 0.9731103260506325, 0.5596610284812086],
        [0.07511717121674744, 0.5025314633868888, 0.24076534964729046],
    ]
    assert uniforms(2026, 1023, 2, "strike", 1).tolist() == [[0.08906659907833203, 0.24291724889020305]]


def test_no_shots_or_no_dimensions_give_an_empty_table():
    assert uniforms(1, 5, 0, "launch", 2).shape == (2, 0)
    assert uniforms(1, 0, 3, "launch", 0).shape == (0, 3)


@pytest.mark.parametrize("wrong", [(-1, 0, 1, 1), (1, -1, 1, 1), (1, 0, -1, 1), (1, 0, 1, -1)])
def test_a_negative_seed_shot_or_count_is_refused(wrong):
    seed, first, count, dims = wrong
    with pytest.raises(ValueError, match="nought or more"):
        uniforms(seed, first, count, "launch", dims)
