"""The bound on a total from shots in proportion to their shares."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.shots.shot_table import ShotType, kinds_of, ranks
from flightsim.study.run.bounds import upper_bound, weighted_bounds
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.pooled import (
    POOLED,
    in_proportion,
    none_seen,
    pooled_lower,
    pooled_upper,
    shots_needed_of,
    total_bounds,
    total_upper,
)

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"
SHARE = np.array([0.5, 0.3, 0.15, 0.04, 0.009, 0.001])
CHANCE = np.array([0.0005, 0.001, 0.003, 0.01, 0.05, 0.2])

TYPES = tuple(ShotType(f"type {k}", "club", "strike", "tee", float(share)) for k, share in enumerate(SHARE))
shares = st.lists(st.floats(0.001, 1.0), min_size=1, max_size=9).map(lambda raw: np.array(raw) / sum(raw))


def counted(kind, count):
    """The first `count[k]` shots of each type k `(n,)`."""
    return ranks(kind, len(count)) < count[kind]


def test_the_bound_holds_at_least_as_often_as_it_says():
    """Coverage of a one-sided 95 % bound over 3,000 runs: a count of misses above 5 % + 3 sd would refute it."""
    rng, kind = np.random.default_rng(3), np.arange(12_000) % len(SHARE)
    total, runs = float(SHARE @ CHANCE), 3000
    missed = sum(pooled_upper(rng.random(kind.size) < CHANCE[kind], kind, SHARE, 0.05) < total for _ in range(runs))
    assert missed / runs <= 0.05 + 3.0 * np.sqrt(0.05 * 0.95 / runs)


@pytest.mark.parametrize("spread", [0.0, 0.5, 0.99])
def test_unequal_chances_make_it_safer_than_the_binomial_never_less_safe(spread):
    """Hoeffding 1956, theorem 4: with the same mean, the chance of few hits is highest where all chances are equal."""
    rng, n, mean = np.random.default_rng(11), 400, 0.02
    chance = np.where(np.arange(n) % 2, mean * (1.0 + spread), mean * (1.0 - spread))
    hits = (rng.random((20_000, n)) < chance).sum(axis=1)
    missed = (upper_bound(hits, np.full(hits.size, n), 0.05) < mean).mean()
    assert missed <= 0.05 + 3.0 * np.sqrt(0.05 * 0.95 / hits.size)


@given(shares, st.integers(1, 400))
@settings(max_examples=60, deadline=None)
def test_counted_shots_are_the_first_of_each_type_and_in_proportion(share, each):
    kind = np.arange(each * len(share)) % len(share)
    count, most = in_proportion(share, np.full(len(share), each))
    taken = counted(kind, count)
    assert (np.bincount(kind[taken], minlength=len(share)) == count).all()
    assert (count <= each).all()
    assert (count >= most * share - 1e-6).all()
    assert most <= each / share.max() * (1.0 + 1e-12)
    for k in range(len(share)):
        of_type = np.flatnonzero(kind == k)
        assert taken[of_type[: count[k]]].all()
        assert not taken[of_type[count[k] :]].any()


def test_none_seen_is_about_three_over_the_reach_however_many_types_there_are():
    """-ln 0.045 is 3.10: a tenth of the error is spent on the types' own bounds."""
    share = np.full(25, 1.0 / 25)
    bound = none_seen(share, np.full(25, 800), 0.05)
    assert bound == pytest.approx(-np.log(POOLED * 0.05) / 20_000, rel=0.01)
    none = np.zeros(25, dtype=np.intp)
    assert bound < weighted_bounds(share, none, np.full(25, 800), 0.05)[1] / 15


def test_a_rare_type_that_always_fails_still_shows():
    """Its own bound counts with its share: pooling cannot hide it."""
    kind = np.arange(6000) % 2
    bound = total_upper(kind == 1, kind, np.array([0.99, 0.01]), 0.05)
    assert 0.01 <= bound < 0.02


def test_one_type_has_its_own_bound_at_the_whole_error():
    hits = np.arange(500) < 3
    assert total_upper(hits, np.zeros(500, dtype=np.intp), np.ones(1), 0.05) == upper_bound(3, 500, 0.05)


def test_shots_that_are_needed_show_the_limit_and_a_twentieth_fewer_do_not():
    needed = shots_needed_of(TYPES, 1e-3, 0.05)
    for shots, shown in ((needed, True), (int(0.95 * needed), False)):
        each = np.bincount(kinds_of(TYPES, np.arange(shots)), minlength=len(SHARE))
        assert (none_seen(SHARE, each, 0.05) < 1e-3) is shown


def test_a_played_type_without_shots_is_refused():
    with pytest.raises(ValueError, match="no shots of a type"):
        in_proportion(np.array([0.5, 0.5]), np.array([10, 0]))


def test_which_shots_are_counted_hangs_on_no_hit():
    kind = np.arange(900) % 3
    share = np.array([0.6, 0.3, 0.1])
    count, _ = in_proportion(share, np.bincount(kind))
    assert not counted(kind, count).all()
    taken = counted(kind, count)
    low = pooled_upper(~taken, kind, share, 0.05)  # all that is not counted is a hit: it does not show
    assert low == pooled_upper(np.zeros(900, dtype=bool), kind, share, 0.05)


# Half in proportion, half alike

RUNS = 2000
SLACK = 3.0 * np.sqrt(0.05 * 0.95 / RUNS)  # of a share of runs: more misses would refute a 95 % bound
FLAGS = {  # chances by type: common, rare, only in rare strikes, never but in the commonest, nearly always
    "common": (0.3, 0.2, 0.3, 0.5, 0.6, 0.9), "rare": (0.0004, 0.0, 0.001, 0.0, 0.02, 0.0),
    "rare strikes": (0.0, 0.0, 0.0, 0.0, 0.3, 0.9), "commonest": (0.0007, 0.0, 0.0, 0.0, 0.0, 0.0),
    "most": (0.97, 0.99, 1.0, 0.9, 0.5, 0.1), "one shot": (1.1e-5, 1e-5, 0.0, 0.0, 0.0, 0.0),
}  # fmt: skip


@pytest.mark.parametrize("shots", [200, 5000])
@pytest.mark.parametrize("flag", FLAGS)
def test_both_bounds_of_a_total_hold_as_often_as_they_say_whatever_the_flag(flag, shots):
    chance, rng = np.array(FLAGS[flag]), np.random.default_rng([shots, len(flag)])
    kind, truth = kinds_of(TYPES, np.arange(shots)), float(SHARE @ chance)
    found = np.array(
        [
            total_bounds(rng.random(shots) < chance[kind], kind, SHARE, 0.05)
            for _ in range(RUNS // (4 if shots > 999 else 1))
        ]
    )
    few = 3.0 * np.sqrt(0.05 * 0.95 / len(found))
    assert (found[:, 0] > truth).mean() <= 0.05 + few
    assert (found[:, 1] < truth).mean() <= 0.05 + few
    assert (found[:, 0] <= found[:, 1]).all()


def test_the_pooled_lower_bound_alone_holds_where_a_single_hit_decides():
    """At so low a chance the binomial's own bound of one hit would miss too often: 1 - prod(1 - p) is above its."""
    rng, shots, miss = np.random.default_rng(4), 400, 0
    kind = kinds_of(TYPES, np.arange(shots))
    chance = np.where(SHARE.max() == SHARE, 0.05 / (shots * 0.5), 0.0)
    truth = float(SHARE @ chance)
    for _ in range(RUNS):
        miss += pooled_lower(rng.random(shots) < chance[kind], kind, SHARE, 0.05) > truth
    assert miss / RUNS <= 0.05 + SLACK


def test_of_20000_shots_none_seen_says_at_worst_1_in_3000_or_better():
    """The mix of 25 types, the commonest played by 27 in 100, of a garage: 1 in 800 with equal shots of each."""
    share = np.array([0.27, 0.23, 0.15, *np.full(21, 0.35 / 22), 0.35 / 22])
    types = [ShotType(f"{k}", "club", "strike", "tee", float(part)) for k, part in enumerate(share / share.sum())]
    each = np.bincount(kinds_of(types, np.arange(20_000)), minlength=25)
    assert none_seen(share / share.sum(), each, 0.05) < 1.0 / 3000
    assert none_seen(share / share.sum(), np.full(25, 800), 0.05) > 1.0 / 1000


def test_of_the_single_garages_20000_shots_none_seen_says_at_worst_1_in_3704():
    types = open_bay(GARAGE).plan.types
    share = np.array([kind.share for kind in types])
    each = np.bincount(kinds_of(types, np.arange(20_000)), minlength=len(types))
    assert int(1.0 / none_seen(share, each, 0.05)) == 3704


def test_with_hits_the_bounds_are_near_what_was_seen():
    """1 in 10 of 20,000 shots: 0.3 points off at most, where the types alone give several."""
    kind = kinds_of(TYPES, np.arange(20_000))
    hits = np.random.default_rng(1).random(20_000) < 0.1
    lower, upper = total_bounds(hits, kind, SHARE, 0.05)
    assert 0.094 < lower < 0.1 < upper < 0.106
    count, shots = (np.bincount(k, minlength=len(SHARE)) for k in (kind[hits], kind))
    alone = weighted_bounds(SHARE, count, shots, 0.05)
    assert upper - lower < 0.75 * (alone[1] - alone[0])
