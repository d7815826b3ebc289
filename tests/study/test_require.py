"""Requirements: how they are written, which bound judges them, and what is said."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.contact.outcomes import Outcome
from flightsim.errors import BadInputError
from flightsim.strike.shots import ShotType
from flightsim.study.bounds import make_rates, upper_bound, weighted_bounds
from flightsim.study.require import BAD, judge_all, parse_requirements
from flightsim.study.result import Rates

NO_HURRY = settings(deadline=None)
ONE = (ShotType("driver clean", "driver", "clean", "tee", 1.0),)
TWO = (ShotType("driver clean", "driver", "clean", "tee", 0.9), ShotType("wedge shank", "wedge", "shank", "tee", 0.1))


def rates(
    shots: int,
    types: tuple[ShotType, ...] = ONE,
    failed: int = 0,
    sampled: bool = True,
    **seen: int,
) -> Rates:
    """Rates of so many shots of each type: of each outcome as many as said, the rest met a guard. The failed are of
    the first type, and count as not followed.
    """
    n = shots * len(types)
    kind = np.arange(n) % len(types)
    outcome = np.full(n, Outcome.MET_GUARD, dtype=np.int8)
    at = failed
    for key, count in seen.items():
        outcome[np.flatnonzero(kind == 0)[at : at + count]] = Outcome[key.upper()]
        at += count
    lost = np.zeros(n, dtype=bool)
    lost[np.flatnonzero(kind == 0)[:failed]] = True
    return make_rates(outcome, lost, kind, types, sampled)


def judge(text: str, given: Rates, types: tuple[ShotType, ...] = ONE):
    return judge_all(parse_requirements([text]), given, types, True)[0]


# How it is written


@pytest.mark.parametrize(
    ("limit", "share"),
    [("1 in 1000", 1e-3), ("1 in 1,000", 1e-3), ("3  in 20", 0.15), ("0.1 %", 1e-3), ("0.1%", 1e-3), ("0.001", 1e-3),
     (".001", 1e-3), ("1e-3", 1e-3), ("2.5 in 10,000", 2.5e-4), ("99 %", 0.99)],
)  # fmt: skip
@pytest.mark.parametrize("name", BAD)
def test_a_limit_may_be_one_in_so_many_per_cent_or_a_number(name, limit, share):
    (read,) = parse_requirements([f" {name} <{limit} "])
    assert (read.name, read.less, read.or_equal) == (name, True, False)
    assert read.limit == pytest.approx(share, rel=1e-15)


def test_met_guard_is_wanted_above_a_limit():
    strict, at = parse_requirements(["met_guard > 99.5 %", "met_guard >= 199 in 200"])
    assert (strict.less, strict.or_equal, at.or_equal) == (False, False, True)
    assert strict.limit == at.limit == 0.995


@pytest.mark.parametrize(
    "text",
    ["", "got_out", "got_out <", "got_out 1 in 1000", "got_out = 1 in 1000", "got_out == 0.1", "got_out < one in ten",
     "got_out < 1 in", "got_out < 1 in 0", "got_out < nan", "got_out < inf", "got_out < -0.1", "got_out < 0,1 %",
     "got_out < 1_0 %", "got_out < 1 in 1.000", "got_out < 1 in 1,5", "got_out < 1 in 10,00", "got_out < 0.1 percent",
     "got_out < 1 in 1000 shots", "1 in 1000 > got_out", "got_out < 1 in 1000; met_guard > 0.9", "got_out < ٠.١"],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_with_what_to_write(text):
    with pytest.raises(BadInputError, match=re.escape("try: --require 'got_out < 1 in 1000'")) as refused:
        parse_requirements([text])
    assert "1 in 1000, 0.1 %, or 0.001" in str(refused.value)
    assert f"--require '{text}' cannot be used" in str(refused.value)


@pytest.mark.parametrize("limit", ["0", "0 %", "0 in 1000", "1", "100 %", "1 in 1", "7 in 5", "5"])
def test_never_and_always_cannot_be_required(limit):
    # `got_out < 1` is no requirement: anything meets it. `< 0` is one that nothing can.
    with pytest.raises(BadInputError, match="no number of shots shows never, or always"):
        parse_requirements([f"got_out < {limit}"])
    with pytest.raises(BadInputError, match="no number of shots shows never, or always"):
        parse_requirements([f"met_guard >= {limit}"])


def test_a_misspelt_rate_is_told_with_the_nearest_known_one():
    with pytest.raises(BadInputError, match=re.escape("try: --require 'hit_unprotected < 2 %'")) as refused:
        parse_requirements(["hit_unprotcted < 2 %"])
    for name in (*BAD, "met_guard"):
        assert name in str(refused.value)


def test_a_sign_that_asks_for_more_of_what_is_bad_is_refused():
    with pytest.raises(BadInputError, match=re.escape("try: --require 'got_out < 1 in 1000'")):
        parse_requirements(["got_out > 1 in 1000"])
    with pytest.raises(BadInputError, match=re.escape("try: --require 'met_guard > 99 %'")):
        parse_requirements(["met_guard < 99 %"])


def test_one_that_cannot_be_read_spoils_all():
    with pytest.raises(BadInputError, match="gotout"):
        parse_requirements(["got_out < 1 in 1000", "gotout < 1 in 1000"])


# How it is judged


def test_none_seen_is_not_enough_the_bound_must_be_below_the_limit():
    # Zero-failure count for 1 in 1000 at 95 %: 2,995 (least n with 0.999^n <= 0.05).
    assert not judge("got_out < 1 in 1000", rates(2994)).met
    assert judge("got_out < 1 in 1000", rates(2995)).met


@NO_HURRY
@given(count=st.integers(0, 40), limit=st.floats(1e-4, 0.5), name=st.sampled_from(BAD[:3]))
def test_a_bad_rate_is_met_exactly_when_its_upper_bound_is_below_the_limit(count, limit, name):
    told = judge(f"{name} < {limit!r}", rates(200, **{name: count}))
    assert told.bound == upper_bound(count, 200, 1.0 - 0.95)
    assert told.met is (told.bound < limit)


def test_met_guard_is_judged_by_its_lower_bound():
    told = judge("met_guard > 99 %", rates(1000, got_out=2))
    assert told.bound == pytest.approx(1.0 - float(upper_bound(2, 1000, 0.05)), abs=1e-12)
    assert told.met is (told.bound > 0.99)
    assert told.met
    assert not judge("met_guard > 99 %", rates(1000, got_out=6)).met


def test_a_limit_that_the_bound_just_reaches_is_met_only_with_equality():
    given = rates(500, got_out=3)
    bound = judge("got_out < 50 %", given).bound
    assert not judge(f"got_out < {bound!r}", given).met
    assert judge(f"got_out <= {bound!r}", given).met
    lower = judge("met_guard > 50 %", given).bound
    assert not judge(f"met_guard > {lower!r}", given).met
    assert judge(f"met_guard >= {lower!r}", given).met


def test_a_total_is_judged_by_the_weighted_sum_of_bounds_not_by_all_shots_together():
    # 1,000 of each, none seen: 3 in 2,000 would look like enough, but the common type had 1,000 only.
    given = rates(1000, TWO)
    told = judge("got_out < 1 in 500", given, TWO)
    none, shots = np.zeros(2, dtype=np.intp), np.full(2, 1000)
    assert told.bound == pytest.approx(weighted_bounds(np.array([0.9, 0.1]), none, shots, 0.05)[1], rel=1e-9)
    assert float(upper_bound(0, 2000, 0.05)) < 1 / 500 < told.bound
    assert not told.met


@pytest.mark.parametrize("name", BAD)
def test_flights_that_failed_count_as_anything_bad(name):
    told = judge(f"{name} < 1 in 100", rates(2000, failed=30))
    assert told.bound == upper_bound(30, 2000, 1.0 - 0.95)
    assert not told.met
    if name != "failed":
        assert f"30 flights that could not be followed to an end are counted as {name}" in told.sentence


def test_flights_that_failed_add_to_those_that_were_seen_to_get_out():
    told = judge("got_out < 1 in 100", rates(2000, failed=9, got_out=7))
    assert told.bound == upper_bound(16, 2000, 1.0 - 0.95)


def test_flights_that_failed_never_count_as_meeting_a_guard():
    lost = judge("met_guard > 99 %", rates(2000, failed=30))
    assert lost.bound == judge("met_guard > 99 %", rates(2000, got_out=30)).bound
    assert not lost.met


def test_several_are_judged_each_by_itself_in_their_order():
    texts = ["got_out < 1 in 2", "hit_unprotected < 1 in 1000", "met_guard > 10 %"]
    told = judge_all(parse_requirements(texts), rates(2000, hit_unprotected=400), ONE, True)
    assert [one.requirement for one in told] == texts
    assert [one.met for one in told] == [True, False, True]


def test_a_grid_is_refused_since_it_bounds_nothing():
    given = rates(2000, sampled=False)
    with pytest.raises(BadInputError, match="a grid is no sample") as refused:
        judge_all(parse_requirements(["got_out < 1 in 2"]), given, ONE, False)
    assert "leave --require out" in str(refused.value)
    assert judge_all((), given, ONE, False) == ()


# What is said


def test_the_bound_is_told_as_at_worst_one_in_so_many():
    assert judge("got_out < 1 in 100", rates(2000)).sentence == (
        "got_out < 1 in 100: met; at worst 1 in 668, with 95% confidence"
    )


def test_met_guard_is_never_rounded_up_to_all():
    # None of 200,000 seen elsewhere: 99.9985 %.
    assert "at least 99.99 %" in judge("met_guard > 99 %", rates(200_000)).sentence


def test_too_few_shots_are_told_with_the_number_that_could_show_it():
    told = judge("got_out < 1 in 1000", rates(500)).sentence
    assert "500 shots cannot show it even if none were seen: it takes 2,995" in told
    assert judge("got_out < 1 in 1000", rates(2995)).met


def test_the_number_that_could_show_it_counts_every_shot_type():
    told = judge("got_out < 1 in 1000", rates(500, TWO), TWO).sentence
    total, each = (int(word.replace(",", "")) for word in re.findall(r"takes ([\d,]+), ([\d,]+) of each", told)[0])
    assert total == 2 * each
    assert judge("got_out < 1 in 1000", rates(each, TWO), TWO).met
    assert not judge("got_out < 1 in 1000", rates(each - 1, TWO), TWO).met


def test_too_few_shots_for_met_guard_are_told_as_well():
    told = judge("met_guard > 99.9 %", rates(500)).sentence
    assert "500 shots cannot show it even if all met a guard first: it takes 2,995" in told


def test_a_bay_that_is_seen_to_be_better_than_the_limit_is_told_that_more_shots_may_show_it():
    assert "more may" in judge("got_out < 1 in 100", rates(2000, got_out=15)).sentence
    assert "more may" not in judge("got_out < 1 in 100", rates(2000, got_out=25)).sentence


@pytest.mark.parametrize("name", ["got_out", "hit_unprotected"])
def test_balls_that_met_the_floor_first_are_told_where_they_are_not_counted(name):
    told = judge(f"{name} < 1 in 100", rates(2000, failed=2, not_followed=12)).sentence
    assert "12 balls that met the floor first are not counted here" in told
    assert "not_met_guard counts them" in told
    other = judge("not_met_guard < 1 in 100", rates(2000, not_followed=12)).sentence
    assert "met the floor first" not in other


@NO_HURRY
@given(
    text=st.sampled_from([*(f"{name} < 1 in 100" for name in BAD), "met_guard > 98 %"]),
    seen=st.tuples(st.integers(0, 60), st.integers(0, 60), st.integers(0, 60), st.integers(0, 60)),
)
def test_no_sentence_says_safe_held_or_caught(text, seen):
    out, hit, floor, failed = seen
    told = judge(text, rates(300, failed=failed, got_out=out, hit_unprotected=hit, not_followed=floor)).sentence
    assert told.startswith(f"{text}: ")
    assert not re.search(r"\b(safe|safely|held|caught)\b", told, re.IGNORECASE)
