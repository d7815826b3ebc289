"""The verdict: twelve lines of 80 columns, the swing first, the worst next, and never a word of safety."""

import io
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from flightsim.plugin.hookspecs import Finding
from flightsim.report.words.terminal import print_verdict
from flightsim.report.words.verdict import MOST_LINES, WIDE, verdict, worst_first
from flightsim.report.words.verdict_words import _beside, _guess, evenings, listed
from flightsim.study.run.require import Judgement
from flightsim.study.run.target_kinds import KINDS
from flightsim.study.run.target_result import TargetResult
from flightsim.study.run.targets import with_targets

HITS = Finding("Room to swing", "so", "warning", "swing", -0.3, 0.1, "the driver hits the roof by 0.30 m", "raise it")


def rate(key: str, limit=0.001, seen=0.01, upper=0.02, met=False, at_worst=False, **more) -> TargetResult:
    kind = KINDS[key]
    return TargetResult(
        key, "rate", limit, seen, upper, met, at_worst, key, words=kind.words, severe=kind.severe, count=9, **more
    )


def swing(gap: float) -> TargetResult:
    return TargetResult("swing", "length", 0.15, gap, gap - 0.1, gap >= 0.15, gap >= 0.25, "swing", words="swing",
                        worst_words="the driver hits the roof by 0.30 m")  # fmt: skip


def verdict_on(result, *targets, rest="results/x/report.html"):
    return verdict(replace(result, targets=targets), rest)


def test_it_is_at_most_twelve_lines_of_eighty_columns_whatever_is_asked(run_of):
    for units in ("metric", "imperial"):
        result = replace(run_of(), scenario=replace(run_of().scenario, units=units, name="A" * 100))
        for many in range(len(KINDS) + 1):
            targets = [*(rate(key) for key in list(KINDS)[:many]), *(rate(key, met=True) for key in list(KINDS)[many:])]
            lines = str(verdict_on(result, *targets, swing(-0.3))).splitlines()
            assert len(lines) <= MOST_LINES
            assert max(map(len, lines)) <= WIDE


def test_the_first_line_says_how_many_are_met_and_is_not_yet_until_all_are(run_of):
    unmet = verdict_on(run_of(), rate("got_out"), rate("fragile", met=True))
    assert (unmet.meets, unmet.lines[0].word) == (False, "not yet")
    assert "meets 1 of the 2 asked" in unmet.lines[0].text
    assert verdict_on(run_of(), rate("got_out", met=True)).meets is True


def test_a_severe_target_that_is_met_only_with_likely_cloth_is_not_met(run_of):
    found = verdict_on(
        run_of(), rate("body", upper=0.0005, seen=0.0, met=True, worst_upper=0.02, worst_words="if lively")
    )
    assert found.meets is False
    assert (found.lines[1].word, "if lively" in found.lines[1].text) == ("at worst", True)
    first = next(line.text for line in found.lines if line.word == "do first")
    assert "fly more" not in first
    quick = verdict_on(run_of(), rate("body", upper=0.0005, seen=0.0, met=True))
    assert "worst cloth and build not flown" in quick.lines[1].text


def test_the_swing_stands_first_where_it_fails_and_is_what_to_do_first(run_of):
    result = replace(run_of(), findings=(HITS,))
    found = verdict_on(result, rate("hitter_head", limit=1e-6), swing(-0.3))
    assert found.lines[1].word == "swing"
    assert "the driver hits the roof by 0.30 m" in found.lines[1].text
    assert next(line for line in found.lines if line.word == "do first").text.startswith("raise it")


def test_the_worst_stand_first_people_before_things_and_what_is_not_shown_last():
    unmet = [
        rate("broke_through", upper=0.9), rate("hitter_head", upper=0.002), rate("child", upper=0.1),
        rate("fragile", seen=0.0), replace(rate("comes_back"), comfort=True), swing(0.0),
    ]  # fmt: skip
    assert [one.key for one in worst_first(unmet)] == [
        "swing", "child", "hitter_head", "broke_through", "fragile", "comes_back",
    ]  # fmt: skip


def test_what_is_not_shown_says_how_many_shots_would(run_of):
    line = verdict_on(run_of(), rate("got_out", seen=0.0, shots_needed=7_600)).lines[1]
    assert (line.sign, line.level, line.word) == ("?", "open", "not shown")
    assert "7,600 shots" in line.text
    found = verdict_on(run_of(), rate("got_out", seen=0.0, shots_needed=7_600))
    assert next(line.text for line in found.lines if line.word == "do first").startswith("fly more: 7,600 shots")


def test_every_target_that_is_not_met_is_named_or_counted(run_of):
    targets = [rate(key) for key in KINDS]
    lines = verdict_on(run_of(), *targets).lines
    shown = [line for line in lines if line.word in ("not met", "not shown", "at worst")]
    more = next(line for line in lines if line.word.startswith("and "))
    assert int(more.word.split()[1]) + len(shown) == len(targets)


def test_what_is_met_and_what_is_not_asked_have_a_line_each(run_of):
    lines = {line.word: line for line in verdict_on(
        run_of(), rate("got_out", met=True), replace(rate("child"), met=None, met_at_worst=None, why="children")).lines
    }  # fmt: skip
    assert lines["met"].text == "left the room"
    assert lines["not asked"].text == "children: ask"


def test_a_limit_of_harm_above_the_default_is_told(run_of):
    result = run_of()
    raised = replace(result, scenario=replace(result.scenario, harm_energy=2.0))
    assert "above the default" in next(line.text for line in verdict_on(raised).lines if line.word == "weak guess")


@pytest.mark.parametrize(("then", "words"), [(1.0 / 31.0, "wind: hardly more than 1 in 32 get past"),
                                             (1.0 / 20.0, "wind: 1 in 20 get past, not 1 in 32")])  # fmt: skip
def test_a_guess_that_changes_a_tenth_at_most_changes_hardly_anything(then, words):
    assert _guess("wind", then, 1.0 / 32.0) == words


def test_two_rates_that_are_held_against_each_other_are_told_in_the_same_words():
    assert _beside(1.0 / 32.0, 0.32) == "3 in 100"
    assert _beside(1.0 / 900.0, 0.32) == "1 in 900"
    assert _beside(1.0 / 32.0, 0.05) == "1 in 32"
    assert _beside(0.2, 0.32) == "20 in 100"


def test_the_verdict_never_calls_a_bay_safe(run_of):
    for targets in ((), (rate("got_out", met=True),), tuple(rate(key) for key in KINDS)):
        assert "safe" not in str(verdict_on(run_of(), *targets)).lower()
    assert any(line.word == "caution" for line in verdict_on(run_of()).lines)


def test_a_grid_is_not_judged_and_what_its_shots_did_is_counted(run_of):
    grid = with_targets(replace(run_of(), sampled=False))
    found = verdict(grid)
    assert found.meets is None
    assert "not judged" in found.lines[0].word
    assert f"of {len(grid.shots):,}" in found.lines[1].text
    assert "met" not in [line.word for line in found.lines]


def test_the_terminal_prints_each_line_whole_and_what_was_required(run_of):
    out = io.StringIO()
    judged = Judgement("escape < 1 in 9", False, 0.2, 0.95, "escape < 1 in 9: NOT met")
    rest = "a/very/long/way/to/" * 6 + "report.html"
    print_verdict(run_of(), (judged,), Console(file=out, width=80, highlight=False), rest)
    lines = out.getvalue().splitlines()
    assert lines[: len(verdict(run_of(), rest).lines)] == str(verdict(run_of(), rest)).splitlines()
    assert "Required: escape < 1 in 9: NOT met" in lines


@pytest.mark.parametrize(("share", "words"), [(0.055, "5.5 an evening"), (0.002, "1 evening in 5.0")])
def test_a_rate_is_told_by_evenings_of_a_hundred_balls(share, words):
    assert evenings(share) == words


@given(st.lists(st.text("abc ", min_size=1, max_size=30), min_size=1, max_size=12), st.integers(30, 80))
@settings(deadline=None)
def test_a_list_fits_and_counts_what_it_leaves_out(names, room):
    words = listed(names, room)
    assert len(words) <= room
    assert words == ", ".join(names) or words.endswith(" more") or words == f"{len(names)} of them"


def test_a_run_without_targets_is_never_told_to_be_built_as_drawn(run_of):
    text = str(verdict(run_of()))
    assert run_of().targets == ()
    assert "build it as drawn" not in text
    assert "ask for targets" in text
