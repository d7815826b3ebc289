"""Bounds on rates: one shot type against an exact test of scipy, a total against its promise, and none seen."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, binomtest

from flightsim.contact.fates import Fates, Flag, Outcome
from flightsim.shots.shot_table import ShotType
from flightsim.study.run.bounds import (
    at_worst_one_in,
    lower_bound,
    shots_needed,
    two_sided,
    upper_bound,
    weighted_bounds,
)
from flightsim.study.run.rates import ESCAPE, make_rates

NO_HURRY = settings(deadline=None)
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


# Published and closed-form values


@pytest.mark.parametrize(("alpha", "upper"), [(0.05, 2.9957e-5), (0.01, 4.6051e-5)])
def test_none_of_a_hundred_thousand(alpha, upper):
    # Outside source: closed form of Clopper & Pearson 1934, 1 - alpha^(1/n), worked by hand to five digits.
    assert float(upper_bound(0, 100_000, alpha)) == pytest.approx(upper, abs=5e-10)


def test_none_of_a_hundred_thousand_two_sided():
    lower, upper = two_sided(0, 100_000, 0.05)
    assert float(lower) == 0.0
    assert float(upper) == pytest.approx(3.6888e-5, abs=5e-10)


def test_it_takes_2995_shots_without_one_to_show_less_than_one_in_a_thousand():
    # ln 0.05 / ln 0.999 = 2994.2; and 299 and 29 for one in 100 and in 10 (tables of zero-failure sampling).
    assert [shots_needed(rate) for rate in (1e-3, 1e-2, 1e-1)] == [2995, 299, 29]


@pytest.mark.parametrize("rate", [0.0, 1.0, -0.1, float("nan")])
def test_no_number_of_shots_shows_never_or_always(rate):
    with pytest.raises(ValueError, match="between 0 and 1"):
        shots_needed(rate)


def test_none_seen_of_ten_types_is_not_below_three_in_all_shots():
    # Ten types of 1,000 shots, one of weight 0.9, none seen. If that one fails just under 1 - 0.05^(1/1000), none are
    # seen in more than 5 of 100 runs: no bound below 0.9 times that, 2.69e-3, is valid. 3/n would say 3e-4.
    share = np.array([0.9] + [0.1 / 9] * 9)
    _, upper = weighted_bounds(share, np.zeros(10, dtype=np.intp), np.full(10, 1000), 0.05)
    assert upper >= 0.9 * (1.0 - 0.05 ** (1.0 / 1000)) == pytest.approx(2.69e-3, abs=5e-6)
    # What is said: each at alpha/10.
    assert upper == pytest.approx(1.0 - 0.005 ** (1.0 / 1000), rel=1e-9)


# Against scipy.stats, and by the definition itself


@pytest.mark.parametrize(("count", "shots"), CASES)
def test_both_sides_are_those_of_an_exact_two_sided_test(count: int, shots: int) -> None:
    exact = binomtest(count, shots).proportion_ci(0.95, method="exact")
    lower, upper = two_sided(count, shots, 0.05)
    assert float(lower) == pytest.approx(exact.low, abs=1e-12)
    assert float(upper) == pytest.approx(exact.high, abs=1e-12)


@NO_HURRY
@given(shots=st.integers(1, 100_000), part=st.floats(0.0, 1.0), alpha=st.floats(1e-6, 0.5))
def test_at_the_bound_what_was_seen_has_a_chance_of_alpha(shots, part, alpha):
    # The definition (Clopper & Pearson 1934), through scipy's binomial distribution function.
    count = round(part * shots)
    upper, lower = float(upper_bound(count, shots, alpha)), float(lower_bound(count, shots, alpha))
    if count < shots:
        assert binom.cdf(count, shots, upper) == pytest.approx(alpha, rel=1e-6)
    if count > 0:
        assert binom.sf(count - 1, shots, lower) == pytest.approx(alpha, rel=1e-6)


# Properties

SEEN = st.integers(1, 10_000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
ALPHA = st.floats(1e-9, 0.5)


@NO_HURRY
@given(seen=SEEN, alpha=ALPHA)
def test_the_bounds_lie_about_the_rate_and_are_exact_at_none_and_all(seen, alpha):
    count, shots = seen
    lower, upper = float(lower_bound(count, shots, alpha)), float(upper_bound(count, shots, alpha))
    assert 0.0 <= lower <= count / shots <= upper <= 1.0
    assert (lower == 0.0) is (count == 0)
    assert (upper == 1.0) is (count == shots)


@NO_HURRY
@given(seen=SEEN, alpha=ALPHA)
def test_one_more_that_failed_never_lowers_a_bound_and_one_more_shot_never_raises_it(seen, alpha):
    count, shots = seen
    counts = np.array([count, count + 1, count])
    of = np.array([shots + 1, shots + 1, shots])
    for bound in (upper_bound, lower_bound):
        here, failed, fewer = bound(counts, of, alpha)
        assert here < failed
        assert here <= fewer


@NO_HURRY
@given(seen=SEEN, alpha=ALPHA)
def test_less_risk_of_error_gives_a_wider_bound(seen, alpha):
    count, shots = seen
    assert upper_bound(count, shots, alpha / 2.0) >= upper_bound(count, shots, alpha)
    assert lower_bound(count, shots, alpha / 2.0) <= lower_bound(count, shots, alpha)


@NO_HURRY
@given(seen=SEEN, alpha=ALPHA)
def test_the_lower_bound_is_the_upper_bound_of_the_others(seen, alpha):
    count, shots = seen
    other = 1.0 - float(upper_bound(shots - count, shots, alpha))
    assert float(lower_bound(count, shots, alpha)) == pytest.approx(other, abs=1e-12)


def test_a_table_of_counts_gives_a_table_of_bounds():
    counts, shots = np.array([[0, 1, 5], [10, 0, 2]]), np.array([10, 20, 30])
    table = upper_bound(counts, shots, 0.05)
    assert table.shape == (2, 3)
    assert table[1, 2] == upper_bound(2, 30, 0.05)


@pytest.mark.parametrize(("count", "shots"), [(-1, 10), (11, 10), (np.array([1, 12]), np.array([10, 11]))])
@pytest.mark.parametrize("bound", [upper_bound, lower_bound])
def test_a_count_that_cannot_be_is_refused(bound, count, shots):
    with pytest.raises(ValueError, match="between nought and the number of shots"):
        bound(count, shots, 0.05)


def test_no_shots_say_nothing():
    assert float(upper_bound(0, 0, 0.05)) == 1.0
    assert float(lower_bound(0, 0, 0.05)) == 0.0


@pytest.mark.parametrize("rate", [0.002, 0.05, 0.5])
def test_a_one_sided_bound_holds_in_at_least_95_of_100_runs(rate):
    # Exactly, with no draws: the chance, over all counts, that the bound lies on the right side of the true rate.
    counts = np.arange(501)
    chance = binom.pmf(counts, 500, rate)
    assert chance[upper_bound(counts, 500, 0.05) >= rate].sum() >= 0.95
    assert chance[lower_bound(counts, 500, 0.05) <= rate].sum() >= 0.95


def test_a_bound_of_a_total_never_passes_0_or_1():
    share = np.full(7, 1.0 / 7.0 + 1e-11)
    full = np.full(7, 20)
    assert weighted_bounds(share, full, full, 0.05)[1] == 1.0
    assert weighted_bounds(share, np.zeros(7, dtype=np.intp), full, 0.05)[0] == 0.0


# Words


@NO_HURRY
@given(upper=st.floats(1e-9, 1.0))
def test_at_worst_is_rounded_to_the_worse_side(upper):
    words = at_worst_one_in(upper)
    few, of = (int(word.replace(",", "")) for word in words.split(" in "))
    assert few / of >= upper * (1.0 - 1e-12)
    assert few / of <= upper * 1.12


@pytest.mark.parametrize(
    ("upper", "words"),
    [(1 / 1049, "1 in 1,049"), (1.001e-3, "1 in 999"), (0.1, "1 in 10"), (0.621, "63 in 100"), (1.0, "100 in 100")],
)
def test_at_worst_one_in_so_many(upper, words):
    assert at_worst_one_in(upper) == words


def test_a_bound_of_nought_is_no_bound():
    with pytest.raises(ValueError, match="no upper bound"):
        at_worst_one_in(0.0)


# Rates of a run

TYPES = (
    ShotType("driver clean", "driver", "clean", "tee", 0.7),
    ShotType("wedge shank", "wedge", "shank", "tee", 0.3),
)


def mixed_rates(sampled: bool = True):
    # Of the first type: one held, one hit a person and got out, one ended slow, one unresolved. Of the second: one
    # held, one broke through something.
    flags = np.zeros((len(Flag), 6), dtype=bool)
    flags[[Flag.PERSON_HIT, Flag.GOT_OUT], 2] = True
    flags[Flag.UNRESOLVED, 5] = True
    flags[Flag.BROKE_THROUGH, 1] = True
    held, slow, person = Outcome.HELD, Outcome.ROLLED_DEAD, Outcome.PERSON_HIT
    outcome = np.array([held, Outcome.BROKE_THROUGH, person, held, slow, Outcome.UNRESOLVED], dtype=np.int8)
    kind = np.array([0, 1, 0, 1, 0, 0])
    return make_rates(flags, outcome, kind, TYPES, sampled)


def test_rates_count_every_flag_that_applies_escape_once_and_what_ended_well():
    first, second = mixed_rates().by_type
    assert {key: rate.count for key, rate in first.items()} == {
        "unresolved": 1, "person_hit": 1, "got_out": 1, "broke_through": 0, "past_edge": 0,
        "struck_through": 0, "hit_unprotected": 0, "escape": 2,
        "rolled_dead": 1, "held": 1,
    }  # fmt: skip
    assert {key: rate.count for key, rate in second.items()} == {
        "unresolved": 0, "person_hit": 0, "got_out": 0, "broke_through": 1, "past_edge": 0,
        "struck_through": 0, "hit_unprotected": 0, "escape": 1,
        "rolled_dead": 0, "held": 1,
    }  # fmt: skip
    assert {rate.shots for rate in first.values()} == {4}


@pytest.mark.parametrize("flag", Flag)
@pytest.mark.parametrize("label", Outcome)
def test_a_ball_with_a_flag_escapes_and_is_counted_as_nothing_good_whatever_its_label_says(flag, label):
    flags = np.zeros((len(Flag), 2), dtype=bool)
    flags[flag, 0] = True
    outcome = np.array([label, Outcome.HELD], dtype=np.int8)
    total = make_rates(flags, outcome, np.zeros(2, dtype=np.intp), TYPES[:1], True).total
    assert (total[ESCAPE].count, total[flag.key].count) == (1, 1)
    assert (total["held"].count, total["rolled_dead"].count) == (1, 0)


@NO_HURRY
@given(seed=st.integers(0, 10_000))
def test_escape_held_and_rolled_dead_are_all_balls_and_each_flag_is_at_most_escape(seed):
    rng = np.random.default_rng(seed)
    fates = Fates.empty(40)
    for flag in Flag:
        fates.worst[flag, rng.random(40) < 0.2] = 7.0
    fates.kept[:] = rng.random(40) < 0.5
    kind = np.arange(40) % 2
    rates = make_rates(fates.flags, fates.outcomes(), kind, TYPES, True)
    for by_name in (rates.total, *rates.by_type):
        assert by_name[ESCAPE].count + by_name["held"].count + by_name["rolled_dead"].count == by_name[ESCAPE].shots
        assert max(by_name[flag.key].count for flag in Flag) <= by_name[ESCAPE].count
        assert by_name[ESCAPE].count <= sum(by_name[flag.key].count for flag in Flag)
        assert by_name[ESCAPE].upper >= max(by_name[flag.key].upper for flag in Flag)
    assert rates.total[ESCAPE].count == fates.flags.any(axis=0).sum()


def test_a_total_is_weighted_by_share_and_bounded_as_a_total():
    total = mixed_rates().total[ESCAPE]
    assert (total.count, total.shots) == (3, 6)
    assert total.rate == pytest.approx(0.7 * 2 / 4 + 0.3 * 1 / 2, rel=1e-15)
    share, count, shots = np.array([0.7, 0.3]), np.array([2, 1]), np.array([4, 2])
    # Six shots: the types' own bounds, at a tenth of the error, are the better ones.
    lower, upper = weighted_bounds(share, count, shots, (1.0 - 0.95) / 10.0)
    assert total.lower >= lower
    assert total.upper <= upper
    assert total.lower < total.rate < total.upper


def test_a_type_has_its_exact_bounds_and_none_seen_is_not_nought():
    got_out = mixed_rates().by_type[1]["got_out"]
    assert got_out.rate == 0.0
    assert got_out.upper == pytest.approx(1.0 - 0.05 ** (1 / 2), rel=1e-9)
    assert mixed_rates().by_type[0]["got_out"].lower > 0.0


def test_a_grid_has_rates_and_no_bounds():
    rates = mixed_rates(sampled=False)
    everything = [*rates.total.values(), *(rate for by_name in rates.by_type for rate in by_name.values())]
    assert {(rate.lower, rate.upper) for rate in everything} == {(None, None)}
    assert rates.by_type[0]["got_out"].rate == 0.25


def test_flags_outcomes_and_rates_speak_of_the_same_keys():
    assert set(mixed_rates().total) == {*(each.key for each in Flag), "held", "rolled_dead", ESCAPE}
    assert [flag.key for flag in Flag] == [each.key for each in Outcome if each.escape]
    assert {each.key for each in Outcome if not each.escape} == {"held", "rolled_dead"}


def test_a_type_without_shots_is_refused_by_name():
    flags, outcome, kind = np.zeros((len(Flag), 3), dtype=bool), np.zeros(3, dtype=np.int8), np.zeros(3, dtype=np.intp)
    with pytest.raises(ValueError, match="no shots of type wedge shank"):
        make_rates(flags, outcome, kind, TYPES, True)
