"""Numbers and verdicts as people read them: never nought, never all, never better than computed."""

import re

import pytest

from flightsim.contact.outcomes import Outcome
from flightsim.report import words
from flightsim.study.result import Rate

FORBIDDEN = re.compile(r"\b(safe|safely|held|caught)\b", re.IGNORECASE)


@pytest.mark.parametrize(
    ("rate", "shown"),
    [(0.0042, "1 in 240"), (0.038, "1 in 26"), (0.38, "38 in 100"), (0.999, "99 in 100"), (0.000213, "1 in 4,700")],
)
def test_a_rate_is_said_as_one_in_or_in_100(rate, shown):
    assert words.one_in(rate) == shown


@pytest.mark.parametrize(
    ("upper", "shown"), [(1 / 312.9, "1 in 310"), (1 / 999.9, "1 in 990"), (0.381, "39 in 100"), (0.999, "all")]
)
def test_a_bound_is_rounded_to_the_worse_side(upper, shown):
    assert words.at_worst(upper) == shown


@pytest.mark.parametrize(
    ("rate", "shown"),
    [(0.0004, "0.040 %"), (0.034, "3.4 %"), (0.936, "93.6 %"), (0.99996, "99.9960 %"), (1.0, "all"), (0.0, "none")],
)
def test_a_share_is_never_rounded_to_nought_or_to_all(rate, shown):
    assert words.percent(rate) == shown


@pytest.mark.parametrize("rate", [0.9, 0.95, 0.99, 0.999, 0.9999999, 1 - 1e-12])
def test_a_share_short_of_all_is_never_shown_larger_than_it_is(rate):
    assert float(words.percent(rate).split()[0]) <= 100 * rate + 1e-9
    assert not words.percent(rate).startswith("100")


def test_none_of_n_of_one_type_is_below_3_in_n():
    assert words.seen(Rate(0, 5000, 0.0, 0.0, 6e-4)) == "below 3 in 5,000"


def test_none_seen_in_a_weighted_total_is_not_said_to_be_below_3_in_n():
    assert words.seen_in_all(Rate(0, 5000, 0.0, 0.0, 2e-3)) == "none seen"
    assert words.bound(Rate(0, 5000, 0.0, 0.0, 2e-3)) == "at worst 1 in 500"


def test_a_grid_point_count_of_none_is_said_without_a_bound():
    assert words.seen(Rate(0, 40, 0.0, None, None), sampled=False) == "none of 40"


def test_the_verdict_counts_shots_and_says_what_is_not_computed(run_of):
    result = run_of()
    told = words.verdict(result)
    assert f"Of 2,000 shots, {result.rates.total['met_guard'].count:,} met a guard first" in told
    assert "what comes back is not computed" in told
    assert words.at_worst(result.rates.total["not_met_guard"].upper) in told
    assert "95% confidence" in told


def test_the_verdict_names_what_was_never_seen_with_its_bound(run_of):
    result = run_of(closed=True)
    assert result.rates.total["got_out"].count == 0
    assert f"None was seen that {words.OUTCOME_WORDS[Outcome.GOT_OUT]} (at worst 1 in " in words.verdict(result)


def test_a_run_where_all_met_a_guard_is_still_told_with_its_bound(run_of):
    told = words.verdict(run_of(force=Outcome.MET_GUARD))
    assert "None of the shots flown went anywhere else" in told
    assert "at worst 1 in" in told


def test_the_verdict_on_a_grid_says_that_there_is_no_bound(run_of):
    told = words.verdict(run_of(sampled=False))
    assert "no bound" in told
    assert "at worst" not in told


def test_the_caution_says_what_it_must():
    told = " ".join(words.CAUTION)
    for must in ("blind and kill", "limits", "certify", "building, electrical and fire codes", "licensed professional",
                 "Never stand in front of a ball", "clear of the swing"):  # fmt: skip
        assert must in told


@pytest.mark.parametrize("force", [None, *Outcome])
def test_no_verdict_claims_safe_held_or_caught(run_of, force):
    assert not FORBIDDEN.search(words.verdict(run_of(force=force)))
