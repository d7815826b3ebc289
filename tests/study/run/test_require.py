"""Requirements: how they are written, which bound judges them, and what is said."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.contact.fates import Flag, Outcome
from flightsim.errors import BadInputError
from flightsim.shots.shot_table import ShotType, kinds_of
from flightsim.study.run.bounds import upper_bound
from flightsim.study.run.rates import ESCAPE, HEAD_HIT, JUDGED, MAY_BE_REQUIRED, make_rates
from flightsim.study.run.require import judge_all, parse_requirements
from flightsim.study.run.result import Rates

NO_HURRY = settings(deadline=None)
ONE = (ShotType("driver clean", "driver", "clean", "tee", 1.0),)
TWO = (ShotType("driver clean", "driver", "clean", "tee", 0.9), ShotType("wedge shank", "wedge", "shank", "tee", 0.1))


def rates(
    shots: int,
    types: tuple[ShotType, ...] = ONE,
    sampled: bool = True,
    **seen: int,
) -> Rates:
    """Rates of so many shots of each type: as many with each flag as said, each flag on balls of its own of the first
    type; the rest were held.
    """
    n = shots * len(types)
    kind = np.arange(n) % len(types)
    flags, outcome = np.zeros((len(Flag), n), dtype=bool), np.full(n, Outcome.HELD, dtype=np.int8)
    begin = 0
    for key, count in seen.items():
        flagged = np.flatnonzero(kind == 0)[begin : begin + count]
        outcome[flagged] = Outcome[key.upper()]
        if key != "rolled_dead":
            flags[Flag[key.upper()], flagged] = True
        begin += count
    return make_rates(flags, outcome, kind, types, sampled)


def judge(text: str, given: Rates, types: tuple[ShotType, ...] = ONE):
    return judge_all(parse_requirements([text]), given, types, True)[0]


# How it is written


@pytest.mark.parametrize(
    ("limit", "share"),
    [("1 in 1000", 1e-3), ("1 in 1,000", 1e-3), ("3  in 20", 0.15), ("0.1 %", 1e-3), ("0.1%", 1e-3), ("0.001", 1e-3),
     (".001", 1e-3), ("1e-3", 1e-3), ("2.5 in 10,000", 2.5e-4), ("99 %", 0.99)],
)  # fmt: skip
@pytest.mark.parametrize("name", JUDGED)
def test_a_limit_may_be_one_in_so_many_per_cent_or_a_number(name, limit, share):
    (read,) = parse_requirements([f" {name} <{limit} "])
    assert (read.name, read.or_equal) == (name, False)
    assert read.limit == pytest.approx(share, rel=1e-15)


def test_at_most_is_another_sign_than_below():
    strict, at_most = parse_requirements(["escape < 0.5 %", "escape <= 1 in 200"])
    assert (strict.or_equal, at_most.or_equal) == (False, True)
    assert strict.limit == at_most.limit == 0.005


def test_escape_and_every_flag_can_be_required_and_nothing_that_sounds_good():
    assert set(JUDGED) == {ESCAPE, *(flag.key for flag in Flag)}
    assert set(MAY_BE_REQUIRED) == {*JUDGED, HEAD_HIT}
    for name in ("held", "rolled_dead"):
        with pytest.raises(BadInputError, match="allowed: escape, "):
            parse_requirements([f"{name} < 99 %"])


@pytest.mark.parametrize(
    "text",
    ["", "got_out", "got_out <", "got_out 1 in 1000", "got_out = 1 in 1000", "got_out == 0.1", "got_out < one in ten",
     "got_out < 1 in", "got_out < 1 in 0", "got_out < nan", "got_out < inf", "got_out < -0.1", "got_out < 0,1 %",
     "got_out < 1_0 %", "got_out < 1 in 1.000", "got_out < 1 in 1,5", "got_out < 1 in 10,00", "got_out < 0.1 percent",
     "got_out < 1 in 1000 shots", "1 in 1000 > got_out", "got_out < 1 in 1000; escape < 0.9", "got_out < ٠.١"],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_with_what_to_write(text):
    with pytest.raises(BadInputError, match=re.escape("try: require='escape < 1 in 1000'")) as refused:
        parse_requirements([text])
    assert "1 in 1000, 0.1 %, or 0.001" in str(refused.value)
    assert f"require={text!r} cannot be used" in str(refused.value)


@pytest.mark.parametrize("limit", ["0", "0 %", "0 in 1000", "1", "100 %", "1 in 1", "7 in 5", "5"])
def test_never_and_always_cannot_be_required(limit):
    # `got_out < 1` is no requirement: anything meets it. `< 0` is one that nothing can.
    with pytest.raises(BadInputError, match="no number of shots shows never, or always"):
        parse_requirements([f"got_out < {limit}"])
    with pytest.raises(BadInputError, match="no number of shots shows never, or always"):
        parse_requirements([f"escape <= {limit}"])


def test_a_misspelt_rate_is_told_with_the_nearest_known_one():
    with pytest.raises(BadInputError, match=re.escape("try: require='hit_unprotected < 2 %'")) as refused:
        parse_requirements(["hit_unprotcted < 2 %"])
    for name in JUDGED:
        assert name in str(refused.value)


@pytest.mark.parametrize("sign", [">", ">="])
@pytest.mark.parametrize("name", JUDGED)
def test_a_sign_that_asks_for_more_of_what_is_bad_is_refused(name, sign):
    with pytest.raises(BadInputError, match=re.escape(f"try: require='{name} < 1 in 1000'")):
        parse_requirements([f"{name} {sign} 1 in 1000"])


def test_one_that_cannot_be_read_spoils_all():
    with pytest.raises(BadInputError, match="gotout"):
        parse_requirements(["got_out < 1 in 1000", "gotout < 1 in 1000"])


# How it is judged


def test_none_seen_is_not_enough_the_bound_must_be_below_the_limit():
    # Zero-failure count for 1 in 1000 at 95 %: 2,995 (least n with 0.999^n <= 0.05).
    assert not judge("got_out < 1 in 1000", rates(2994)).met
    assert judge("got_out < 1 in 1000", rates(2995)).met


@NO_HURRY
@given(count=st.integers(0, 40), limit=st.floats(1e-4, 0.5), name=st.sampled_from([flag.key for flag in Flag]))
def test_a_bad_rate_is_met_exactly_when_its_upper_bound_is_below_the_limit(count, limit, name):
    judged = judge(f"{name} < {limit!r}", rates(200, **{name: count}))
    assert judged.bound == upper_bound(count, 200, 1.0 - 0.95)
    assert judged.met is (judged.bound < limit)


def test_escape_counts_every_flag_and_no_ball_twice():
    judged = judge("escape < 1 in 100", rates(2000, got_out=3, person_hit=4, unresolved=2, rolled_dead=50))
    assert judged.bound == upper_bound(9, 2000, 1.0 - 0.95)
    flags = np.zeros((len(Flag), 100), dtype=bool)
    flags[:, :5] = True  # five balls with every flag there is
    outcome = np.where(flags[0], Outcome.UNRESOLVED, Outcome.HELD).astype(np.int8)
    given = make_rates(flags, outcome, np.zeros(100, dtype=np.intp), ONE, True)
    for name in JUDGED:
        assert judge(f"{name} < 1 in 2", given).bound == upper_bound(5, 100, 1.0 - 0.95)


def test_a_limit_that_the_bound_just_reaches_is_met_only_with_equality():
    given = rates(500, got_out=3)
    bound = judge("got_out < 50 %", given).bound
    assert not judge(f"got_out < {bound!r}", given).met
    assert judge(f"got_out <= {bound!r}", given).met


def test_a_total_is_judged_by_shots_in_proportion_not_by_all_shots_together():
    # 1,000 of each, none seen: 3 in 2,000 would look like enough, but the common type had 1,000 only.
    given = rates(1000, TWO)
    judged = judge("got_out < 1 in 500", given, TWO)
    # In proportion: 1,000 of the common type and 112 of the rare one, which reach 1,000/0.9 shots.
    assert judged.bound == pytest.approx(1112 / (1000 / 0.9) * upper_bound(0, 1112, 0.045), rel=1e-9)
    assert float(upper_bound(0, 2000, 0.05)) < 1 / 500 < judged.bound
    assert not judged.met


@pytest.mark.parametrize("name", JUDGED)
def test_balls_that_are_unresolved_count_as_anything_bad(name):
    judged = judge(f"{name} < 1 in 100", rates(2000, unresolved=30))
    assert judged.bound == upper_bound(30, 2000, 1.0 - 0.95)
    assert not judged.met
    if name != "unresolved":
        assert f"30 balls that could not be followed to an end are counted as {name}" in judged.sentence


def test_balls_that_are_unresolved_add_to_those_that_were_seen_to_get_out():
    judged = judge("got_out < 1 in 100", rates(2000, unresolved=9, got_out=7))
    assert judged.bound == upper_bound(16, 2000, 1.0 - 0.95)


def test_several_are_judged_each_by_itself_in_their_order():
    texts = ["got_out < 1 in 2", "hit_unprotected < 1 in 1000", "escape < 90 %"]
    judged = judge_all(parse_requirements(texts), rates(2000, hit_unprotected=400), ONE, True)
    assert [one.requirement for one in judged] == texts
    assert [one.met for one in judged] == [True, False, True]


def test_a_grid_is_refused_since_it_bounds_nothing():
    given = rates(2000, sampled=False)
    with pytest.raises(BadInputError, match="a grid is no sample") as refused:
        judge_all(parse_requirements(["got_out < 1 in 2"]), given, ONE, False)
    assert "leave require out" in str(refused.value)
    assert judge_all((), given, ONE, False) == ()


# What is said


def test_the_bound_is_told_as_at_worst_one_in_so_many():
    assert judge("got_out < 1 in 100", rates(2000)).sentence == (
        "got_out < 1 in 100: met; at worst 1 in 668, with 95% confidence"
    )


def test_too_few_shots_are_told_with_the_number_that_could_show_it():
    sentence = judge("got_out < 1 in 1000", rates(500)).sentence
    assert "500 shots cannot show it even if none were seen: it takes some 2,995" in sentence
    assert judge("got_out < 1 in 1000", rates(2995)).met


def test_the_number_that_could_show_it_counts_every_shot_type():
    sentence = judge("got_out < 1 in 1000", rates(500, TWO), TWO).sentence
    total = int(re.findall(r"takes some ([\d,]+)", sentence)[0].replace(",", ""))
    for shots, met in ((total, True), (int(0.97 * total), False)):
        kind = kinds_of(TWO, np.arange(shots))
        outcome = np.full(shots, Outcome.HELD, dtype=np.int8)
        given = make_rates(np.zeros((len(Flag), shots), dtype=bool), outcome, kind, TWO, True)
        assert judge("got_out < 1 in 1000", given, TWO).met is met


def test_a_bay_that_is_seen_to_be_better_than_the_limit_is_told_that_more_shots_may_show_it():
    assert "more may" in judge("got_out < 1 in 100", rates(2000, got_out=15)).sentence
    assert "more may" not in judge("got_out < 1 in 100", rates(2000, got_out=25)).sentence


@NO_HURRY
@given(
    name=st.sampled_from(JUDGED),
    seen=st.tuples(st.integers(0, 60), st.integers(0, 60), st.integers(0, 60), st.integers(0, 60)),
)
def test_no_sentence_says_safe_or_that_a_ball_was_held(name, seen):
    out, hit, slow, lost = seen
    text = f"{name} < 1 in 100"
    sentence = judge(text, rates(300, unresolved=lost, got_out=out, hit_unprotected=hit, rolled_dead=slow)).sentence
    assert sentence.startswith(f"{text}: ")
    assert not re.search(r"\b(safe|safely|held|caught|never)\b|(?<![\d.])0 ?%", sentence, re.IGNORECASE)
