"""Numbers and verdicts as people read them: never nought, never all, never better than computed."""

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flightsim.contact.fates import Flag, Outcome
from flightsim.report.words import common_words as words
from flightsim.report.words import trouble_words
from flightsim.report.words.tables import flags_table, outcome_table, people_table, where_table
from flightsim.study.run.find_troubles import find_troubles
from flightsim.study.run.rates import ESCAPE
from flightsim.study.run.result import Rate
from flightsim.study.run.troubles import Tried, Trouble

FORBIDDEN = re.compile(r"\b(safe|safely|caught)\b", re.IGNORECASE)


def number(cell: str) -> int:
    return int(cell.replace(",", ""))


@st.composite
def fates(draw, n=90):
    """Which flags `(flags, n)` balls carry, and which were kept at their last touch of a guard `(n,)`."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    often = np.array(draw(st.lists(st.sampled_from([0.0, 0.01, 0.2, 1.0]), min_size=len(Flag), max_size=len(Flag))))
    return rng.random((len(Flag), n)) < often[:, None], rng.random(n) < draw(st.sampled_from([0.0, 0.5, 1.0]))


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


def test_the_verdict_says_first_how_many_got_past_as_seen_and_at_worst(run_of):
    result = run_of()
    past = result.rates.total[ESCAPE]
    text = words.verdict(result)
    assert text.startswith(f"Of 2,000 shots, {past.count:,} got past the protection. ")
    assert f"that is {words.one_in(past.rate)} balls as seen, and at worst {words.at_worst(past.upper)}" in text
    assert "95% confidence" in text


def test_the_verdict_tells_people_before_all_else_with_heads_apart_and_the_band_of_the_fastest(run_of):
    result = run_of()
    text = words.verdict(result)
    hit = result.fates.flags[Flag.PERSON_HIT]
    fastest = result.fates.worst[Flag.PERSON_HIT, hit].max()
    assert f"Of these, {hit.sum():,} could hit a person" in text
    assert f"at up to {fastest:.1f} m/s: {words.band(fastest).words}." in text
    heads = words.head_speeds(result)
    assert 0 < heads.size < hit.sum()
    rate = result.rates.total["head_hit"]
    assert rate.count == heads.size
    played = f"({words.seen_in_all(rate)} balls, {words.bound(rate)})"
    assert f"A head could be hit by {heads.size:,} {played}, at up to {heads.max():.1f} m/s" in text
    assert text.index("could hit a person") < text.index("left the room") < text.index("hit something unprotected hard")
    assert words.RISKS in text


def test_a_run_of_which_all_was_held_is_told_with_its_bound_and_as_no_more_than_it_proves(run_of):
    text = words.verdict(run_of(force=Outcome.HELD))
    assert text.startswith("None of ")
    assert "proves no more than this" in text
    assert re.search(r"at worst \d+ in \d+", text)


def test_a_bound_far_above_what_was_seen_is_said_to_come_of_too_few_shots(run_of):
    few = words.verdict(run_of(n=9))
    assert "9 shots are too few to say more: fly more." in few
    assert "too few" not in words.verdict(run_of())


def test_the_verdict_on_a_grid_says_that_there_is_no_bound(run_of):
    text = words.verdict(run_of(sampled=False))
    assert "no bound" in text
    assert "at worst" not in text


def test_speeds_are_in_mph_where_the_scenario_is_imperial(run_of):
    result = run_of(units="imperial")
    for text in (words.verdict(result), words.bands_words(result), words.stands_on_words(result)):
        assert " mph" in text
        assert "m/s" not in text


def test_where_nobody_is_in_the_scenario_the_verdict_says_so(run_of):
    result = run_of(force=Outcome.HELD)
    empty = replace(result, bay=replace(result.bay, zones=()))
    assert words.NOBODY in words.verdict(empty)
    assert words.NOBODY in people_table(empty).note


def test_the_caution_says_what_it_must():
    text = " ".join(words.CAUTION)
    for must in ("blind and kill", "limits", "certify", "building, electrical and fire codes", "licensed professional",
                 "Never stand in front of a ball", "clear of the swing"):  # fmt: skip
        assert must in text


# What no run may read as


@pytest.mark.parametrize("force", [None, *Outcome])
def test_no_verdict_claims_safe_or_caught(run_of, force):
    assert not FORBIDDEN.search(words.verdict(run_of(force=force)).replace(words.RISKS, ""))


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(given_fates=fates())
def test_no_ball_with_a_flag_is_counted_or_told_as_held_and_no_run_with_one_reads_as_fine(flagged, given_fates):
    flags, kept = given_fates
    result = flagged(flags, kept)
    bad = flags.any(axis=0)
    text = words.verdict(result)
    assert not re.search(r"\b(held|slow|fine)\b", text)
    rows = {row[0]: row for row in outcome_table(result).rows}
    assert number(rows["held"][1]) == (~bad & kept).sum()
    assert number(rows["ended slow"][1]) == (~bad & ~kept).sum()
    assert number(rows["in all: got past the protection"][1]) == bad.sum()
    assert sum(number(rows[words.OUTCOME_WORDS[outcome]][1]) for outcome in Outcome if outcome.escape) == bad.sum()
    if bad.any():
        count = "all" if bad.all() else f"{bad.sum():,}"
        assert text.startswith(f"Of 90 shots, {count} got past the protection.")
        assert "None" not in text
        for flag in Flag:
            assert (words.FLAG_WORDS[flag] in text) is bool(flags[flag].any())
    else:
        assert text.startswith("None of 90 shots was seen to get past the protection. That proves no more")


@settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(given_fates=fates())
def test_the_tables_of_flags_places_people_and_troubles_count_every_flag_of_every_ball(flagged, given_fates):
    flags, kept = given_fates
    result = flagged(flags, kept)
    assert [number(row[1]) for row in flags_table(result).rows[: len(Flag)]] == flags.sum(axis=1).tolist()
    assert sum(number(row[2]) for row in where_table(result).rows) == flags.sum()
    assert sum(trouble.shots for trouble in find_troubles(result)) == flags.sum()
    for by_part in (True, False):
        people = people_table(result, by_part)
        assert sum(number(row[3]) for row in people.rows) == flags[Flag.PERSON_HIT].sum()
        heads = sum(number(row[3]) for row in people.rows if row[1] == "head")
        assert heads == words.head_speeds(result).size
        assert words.RISKS in people.note


# Bands at a person


@pytest.mark.parametrize(
    ("speed", "named"),
    [(0.0, "minor"), (4.99, "minor"), (5.0, "eye injury possible"), (12.49, "eye injury possible"),
     (12.5, "eye injury likely"), (25.5, "serious"), (38.4, "severe"), (58.49, "severe"), (58.5, "life-threatening"),
     (90.0, "life-threatening"), (float("nan"), "life-threatening")],
)  # fmt: skip
def test_a_speed_at_a_person_has_the_band_of_the_reference_and_an_unknown_one_the_worst(speed, named):
    assert words.band(speed).words == named


@given(st.floats(0.0, 120.0), st.floats(0.0, 120.0))
def test_a_faster_ball_is_never_in_a_milder_band(one, other):
    slower, faster = sorted((one, other))
    assert words.BANDS.index(words.band(slower)) <= words.BANDS.index(words.band(faster))


def test_the_bands_are_told_with_their_speeds_and_as_risks(run_of):
    text = words.bands_words(run_of())
    assert all(f"{one.least:.1f} m/s {one.words}" in text for one in words.BANDS[1:])
    assert words.RISKS in text


# What goes wrong, and what was tried

DEEPER = Tried(
    "canopy depth 1.50 m instead of 1.10 m",
    ("canopy.depth=1.5m",),
    5000,
    60,
    118,
    12,
    300,
    190,
    0.02,
    0.002,
    0.05,
    0.03,
)
WORSE = Tried("gap behind 0.70 m", ("screen.gap_behind=0.7m",), 5000, 60, 118, 0, 300, 310, 0.02, 0.0, 0.05, 0.0525)
NOTHING = Tried("tee 3.80 m", ("tee.from_end_wall=3.8m",), 5000, 60, 118, 118, 300, 290, 0.02, 0.02, 0.05, 0.049)


def trouble(*tried: Tried) -> Trouble:
    return Trouble(Flag.PERSON_HIT, "bench", "lamp", 118, 0.01, 0.02, 30.0, 7, (3, 1), tried, 0.002, 0.005, 14.0)


def test_a_remedy_is_told_with_all_its_computed_numbers_and_how_it_is_set():
    for text in (
        trouble_words.best_tried(trouble(NOTHING, DEEPER)),
        trouble_words.tried_words(trouble(NOTHING, DEEPER))[0],
    ):
        assert text.startswith(
            "Tried: canopy depth 1.50 m instead of 1.10 m: 1 in 500 balls instead of 1 in 50 did this,"
        )
        assert "1 in 33 instead of 1 in 20 got past the protection in all" in text
    assert "--set canopy.depth=1.5m" in trouble_words.tried_words(trouble(NOTHING, DEEPER))[0]


@pytest.mark.parametrize("tried", [(WORSE,), (NOTHING,), (WORSE, NOTHING)])
def test_what_cures_nothing_or_makes_the_whole_no_better_is_told_as_no_help(tried):
    assert trouble_words.best_tried(trouble(*tried)).startswith("Nothing that was tried helps: ")
    assert all(one.words in trouble_words.best_tried(trouble(*tried)) for one in tried)
    first, *rest = trouble_words.tried_words(trouble(*tried))
    assert first == trouble_words.NO_HELP
    assert len(rest) == len(tried)
    assert all(line.startswith("Tried, no help: ") for line in rest)


def test_a_change_that_makes_more_balls_go_wrong_elsewhere_is_told_with_that():
    assert "none seen instead of 1 in 50, but 1 in 19 instead of 1 in 20 in all" in trouble_words.best_tried(
        trouble(WORSE)
    )


def test_a_change_that_was_flown_again_is_told_with_its_shots_and_with_every_flag_that_gets_worse():
    again = replace(DEEPER, flown_again=4000, worse=("got_out", "hit_unprotected"))
    text = trouble_words.best_tried(trouble(again))
    assert "of the same 4,000 shots; but more left the room; hit something unprotected hard" in text


def test_where_nothing_was_tried_nothing_is_advised():
    assert trouble_words.tried_words(trouble()) == []
    assert trouble_words.best_tried(trouble()) == ""


def test_a_trouble_is_told_with_its_place_number_bound_speed_heads_and_source(run_of):
    text = f"{trouble_words.trouble_title(trouble())}. {trouble_words.trouble_words(trouble(), run_of())}"
    assert text == (
        "Could hit a person: bench. 118 shots (1 in 100 balls, at worst 1 in 50), at up to 30.0 m/s: serious. "
        "The head: 7 shots (1 in 500 balls, at worst 1 in 200), at up to 14.0 m/s: eye injury likely. "
        "Most come from: lamp."
    )
