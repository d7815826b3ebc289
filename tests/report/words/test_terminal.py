"""The answer on the terminal: complete, plain in a pipe, at any width."""

import io
import re
from dataclasses import replace

import pytest
from rich.console import Console

from flightsim.contact.fates import Flag, Outcome
from flightsim.report.words.common_words import CAUTION, RISKS
from flightsim.report.words.plain_table import Table
from flightsim.report.words.say import show
from flightsim.report.words.tables import assumptions, faces_table, outcome_table, type_table, where_table, worst_first
from flightsim.report.words.terminal import MOST_TROUBLES, print_result
from flightsim.report.words.trouble_words import TRIED_WORDS
from flightsim.study.run.find_troubles import find_troubles
from flightsim.study.run.rates import ESCAPE
from flightsim.study.run.require import judge_all, parse_requirements
from flightsim.study.run.troubles import OtherAir, Tried, WhatIf


def shown(result, width=100, judgements=()):
    out = io.StringIO()
    print_result(result, judgements, Console(file=out, width=width, highlight=False))
    return out.getvalue()


def flat(text):
    return " ".join(text.split())


def with_troubles(result):
    """The run with its troubles, something tried against each, and a guard that failed."""
    tried = Tried("canopy depth 1.50 m", ("canopy.depth=1.5m",), 900, 60, 40, 12, 300, 200, 0.04, 0.013, 0.33, 0.22)
    troubles = tuple(replace(trouble, tried=(tried,)) for trouble in find_troubles(result))
    counts, rates = ({flag.key: each for flag in Flag} for each in (92, 0.12))
    gone = WhatIf("left net", "taken away", 900, 300, 460, 0.5, 0.56, counts, 0.33, 0.4, rates)
    return replace(result, troubles=troubles, what_if=(gone,))


def test_the_terminal_tells_verdict_people_places_findings_warnings_and_caution(run_of):
    text = flat(shown(run_of()))
    must_say = (
        "got past the protection",
        "Who could be hit",
        "Shot types, by how many balls they send past",
        "Not computed: wear, fatigue",
        RISKS,
    )
    known = ("right wall", "open back", "bench", "Roof above the tee", "the canopy runs through the lamp")
    for must in (*must_say, *known, *CAUTION):
        assert must in text


def test_troubles_are_told_worst_first_with_what_was_tried_and_what_if_one_fails(run_of):
    result = with_troubles(run_of())
    text = flat(shown(result))
    assert text.index("1. Could hit a person") < text.index("2. ")
    assert f"... and {len(result.troubles) - MOST_TROUBLES} more" in text
    assert (
        "Tried: canopy depth 1.50 m: 1 in 77 balls instead of 1 in 25 did this, 22 in 100 instead of 33 in 100" in text
    )
    assert TRIED_WORDS in text
    assert re.search(r"left net +taken away +33 in 100 +50 in 100 +56 in 100 +300 +460", text)
    assert "Where it went wrong" not in text  # the troubles say where


def test_without_troubles_and_failures_nothing_is_said_of_them(run_of):
    text = shown(run_of())
    for words in ("What goes wrong, worst first", "What if one fails", "Tried", "Nothing that was tried"):
        assert words not in text


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_no_line_is_wider_than_the_terminal(run_of, width):
    assert max(map(len, shown(run_of(), width).splitlines())) <= width


def test_a_pipe_gets_no_escape_codes(run_of):
    assert "\x1b" not in shown(run_of())


@pytest.mark.parametrize("force", [None, *Outcome])
def test_the_terminal_never_says_safe_or_caught_but_where_it_says_that_limits_are_not(run_of, force):
    text = flat(shown(run_of(force=force))).replace(RISKS, "")
    assert not re.search(r"\b(safe|safely|caught)\b", text, re.IGNORECASE)


def test_a_scenario_name_with_square_brackets_is_printed_as_it_is(run_of):
    assert "[red]shed[/red]" in shown(run_of(name="[red]shed[/red]"))


def test_a_requirement_is_printed_with_its_verdict(run_of):
    result = run_of()
    judgements = judge_all(parse_requirements(["got_out < 1 in 1000"]), result.rates, result.types, True)
    assert "Required: got_out < 1 in 1000: NOT met" in flat(shown(result, judgements=judgements))


def with_troubles_of_a_grid(run_of):
    result = with_troubles(run_of(sampled=False))
    return replace(result, what_if=tuple(replace(one, upper=None) for one in result.what_if))


def test_a_grid_is_printed_without_a_single_bound(run_of):
    text = flat(shown(run_of(sampled=False)))
    assert "no bound" in text
    assert "below 3 in" not in text
    assert not re.search(r"at (worst|least) [\d]", text)
    assert not re.search(r"at (worst|least) [\d]", flat(shown(with_troubles_of_a_grid(run_of))))


def test_shot_types_come_by_how_many_of_the_balls_that_got_past_they_send(run_of):
    result = run_of()
    sent = [result.types[k].share * result.rates.by_type[k][ESCAPE].rate for k in worst_first(result)]
    assert sent == sorted(sent, reverse=True)
    assert [row[0] for row in type_table(result).rows] == [result.types[k].label for k in worst_first(result)]


def test_the_places_account_for_every_flag_of_every_ball_worst_flag_first(run_of):
    result = run_of()
    rows, few = where_table(result).rows, where_table(result, most=2).rows
    flags = sum(result.rates.total[flag.key].count for flag in Flag)
    assert rows[0][0] == "could hit a person"
    twice = result.rates.total[Flag.PERSON_HIT.key].count
    for listed in (rows, few):
        counted = sum(int(row[2].replace(",", "")) for row in listed)
        assert flags <= counted <= flags + twice  # a ball that hits two people counts for both
    assert few[-1][0] == f"{len(rows) - 2} more"


def test_balls_that_could_not_be_followed_are_told_and_count_as_past_the_protection(run_of):
    text = flat(shown(run_of(force=Outcome.UNRESOLVED)))
    assert "Of 200 shots, all got past the protection." in text
    assert "200 could not be followed to an end" in text


def test_the_outcomes_add_up_to_all_shots(run_of):
    rows = outcome_table(run_of()).rows
    assert sum(int(row[1].replace(",", "")) for row in rows[:-1]) == 2000


def test_no_bound_of_an_outcome_is_worse_than_that_of_all_that_got_past(run_of):
    result = run_of()
    for outcome, row in zip(Outcome, outcome_table(result).rows, strict=False):
        if outcome.escape:
            assert row[3].startswith("at worst")
            assert result.rates.total[outcome.key].upper <= result.rates.total[ESCAPE].upper + 1e-12


def test_what_the_numbers_stand_on_names_harm_speed_people_faces_and_what_is_not_computed(run_of):
    by_name = dict(assumptions(run_of()))
    assert by_name["Harm"].startswith(
        "0.57 J at a head, anywhere at a small child, and out of the room as it lands: 5.0 m/s"
    )
    assert "bench, hitter" in by_name["People"]
    assert "judgements" in by_name["People"]
    assert "cloth" in by_name["Rebounds"]
    assert "a person is a zone" in by_name["Not computed"]


def test_the_faces_of_the_bay_are_told_each_with_its_source(run_of):
    result = run_of()
    rows = {row[0]: row for row in faces_table(result).rows}
    assert set(rows) == {part.facing for part in result.bay.parts}
    assert rows["cloth"][1:3] == ("0.15", "0.15")
    assert all(row[-1] for row in rows.values())
    ours = replace(result.bay, parts=(replace(result.bay.parts[0], facing="our wall"),))
    assert faces_table(replace(result, bay=ours)).rows[0][-1] == "the scenario's, or a plugin's"


def test_a_run_that_tried_nothing_says_so_where_something_goes_wrong(run_of):
    result = run_of()
    assert "was not tried" in flat(shown(replace(result, troubles=find_troubles(result))))
    assert "was not tried" not in flat(shown(with_troubles(result)))
    assert "was not tried" not in flat(shown(run_of(force=Outcome.HELD)))


def test_the_headline_is_told_under_another_model_of_the_air_where_it_was_flown(run_of):
    result = replace(run_of(), other_air=OtherAir("ferguson2022", 1000, 340, 352, 0.35, 0.38, 0.34, 0.37))
    headline = (
        "34 in 100 balls (at worst 37 in 100) got past the protection as flown, 35 in 100 balls (at worst 38 in 100)"
    )
    assert f"{headline} with ferguson2022 (340 and 352 of the same 1,000 shots)" in flat(shown(result))
    assert "Models of drag and lift differ" not in flat(shown(run_of()))


def test_a_key_that_is_typed_is_not_broken_where_there_is_room_for_it():
    head = ("size", "key", "as drawn", "taken as")
    rows = (
        ("left side net: above floor", "side_nets.left.above_floor", "3/4 in", "1 5/8 in"),
        ("screen: width", "screen.width", "13 ft 9 3/8 in", "13 ft 8 5/8 in"),
    )
    console = Console(width=80, record=True, file=io.StringIO())
    show(console, Table("Not varied", head, rows, frozenset({2, 3})))
    assert "side_nets.left.above_floor" in console.export_text()


def test_a_word_that_just_fits_beside_the_numbers_is_not_broken():
    head = ("who", "height", "most from", "shots", "5.0+", "7.5+", "9.7+", "12.5+", "fastest")
    row = ("right-hander at tee", "below", "back wall", "238", "49", "3.1", "0.025", "-", "11.0")
    out = io.StringIO()
    show(Console(file=out, width=80), Table("Who", head, (row,), frozenset(range(3, 9))))
    assert "right-hander" in out.getvalue()
    assert max(map(len, out.getvalue().splitlines())) <= 80
