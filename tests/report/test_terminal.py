"""The answer on the terminal: complete, plain in a pipe, at any width."""

import io
import re
from dataclasses import replace

import pytest
from rich.console import Console

from flightsim.contact.outcomes import Outcome
from flightsim.report.tables import outcome_table, type_table, where_table, worst_first
from flightsim.report.terminal import print_result
from flightsim.report.words import CAUTION
from flightsim.study.require import judge_all, parse_requirements


def shown(result, width=100, judgements=()):
    out = io.StringIO()
    print_result(result, judgements, Console(file=out, width=width, highlight=False))
    return out.getvalue()


def flat(text):
    return " ".join(text.split())


def test_the_terminal_tells_verdict_rates_places_findings_warnings_and_caution(run_of):
    told = flat(shown(run_of()))
    must_say = (
        "met a guard first; what comes back is not computed",
        "Shot types, by how many balls they send elsewhere",
        "below 3 in 22",
    )
    known = ("right wall", "open back", "Roof above the tee", "the canopy runs through the lamp")
    for must in (*must_say, *known, *CAUTION):
        assert must in told


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_no_line_is_wider_than_the_terminal(run_of, width):
    assert max(map(len, shown(run_of(), width).splitlines())) <= width


def test_a_pipe_gets_no_escape_codes(run_of):
    assert "\x1b" not in shown(run_of())


@pytest.mark.parametrize("force", [None, *Outcome])
def test_the_terminal_never_says_safe_held_or_caught(run_of, force):
    assert not re.search(r"\b(safe|safely|held|caught)\b", shown(run_of(force=force)), re.IGNORECASE)


def test_a_scenario_name_with_square_brackets_is_printed_as_it_is(run_of):
    assert "[red]shed[/red]" in shown(run_of(name="[red]shed[/red]"))


def test_a_requirement_is_printed_with_its_verdict(run_of):
    result = run_of()
    judgements = judge_all(parse_requirements(["got_out < 1 in 1000"]), result.rates, result.types, True)
    assert "Required: got_out < 1 in 1000: NOT met" in flat(shown(result, judgements=judgements))


def test_a_grid_is_printed_without_a_single_bound(run_of):
    told = flat(shown(run_of(sampled=False)))
    assert "no bound" in told
    assert "below 3 in" not in told
    assert not re.search(r"at (worst|least) [\d]", told)


def test_shot_types_come_by_how_many_of_the_balls_that_met_no_guard_they_send(run_of):
    result = run_of()
    sent = [result.types[k].share * result.rates.by_type[k]["not_met_guard"].rate for k in worst_first(result)]
    assert sent == sorted(sent, reverse=True)
    assert [row[0] for row in type_table(result).rows] == [result.types[k].label for k in worst_first(result)]


def test_the_places_account_for_every_ball_that_met_no_guard(run_of):
    result = run_of()
    rows = where_table(result).rows
    assert sum(int(row[2].replace(",", "")) for row in rows) == result.rates.total["not_met_guard"].count
    few = where_table(result, most=2).rows
    assert sum(int(row[2].replace(",", "")) for row in few) == result.rates.total["not_met_guard"].count
    assert few[-1][0] == f"{len(rows) - 2} more"


def test_flights_that_failed_are_told_and_counted(run_of):
    result = run_of()
    failed = replace(result.rates.total["failed"], count=7)
    rates = replace(result.rates, total={**result.rates.total, "failed": failed})
    assert "7 of 2,000 flights could not be followed" in flat(shown(replace(result, rates=rates)))


def test_the_outcomes_add_up_to_all_shots(run_of):
    rows = outcome_table(run_of()).rows
    assert sum(int(row[1].replace(",", "")) for row in rows[:4]) == 2000
