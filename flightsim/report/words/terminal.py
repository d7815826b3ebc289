"""A run's answer on the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from flightsim.report.words.adverse_words import adverse_words
from flightsim.report.words.beside import beside_words
from flightsim.report.words.bounce_back_words import bounce_back_table
from flightsim.report.words.common_words import (
    CAUTION,
    air_words,
    bounds_words,
    requirement_words,
    stands_on_words,
    verdict,
    weights_words,
)
from flightsim.report.words.plain_table import Table
from flightsim.report.words.say import grid_of
from flightsim.report.words.tables import (
    outcome_table,
    people_table,
    type_table,
    what_if_table,
    where_table,
)
from flightsim.report.words.trouble_words import best_tried, trials_words, trouble_title, trouble_words
from flightsim.report.words.verdict import BAD
from flightsim.report.words.verdict import verdict as verdict_of
from flightsim.study.run.require import Judgement
from flightsim.study.run.result import RunResult

MOST_TROUBLES = 3
MOST_PLACES = 8
MOST_FAILURES = 6
MOST_TYPES = 4


def print_verdict(result: RunResult, judgements: Sequence[Judgement], console: Console, rest: str = "") -> None:
    """Print the verdict, and what was required. rest: where all else is."""
    for line in verdict_of(result, rest).lines:
        console.print(Text(str(line), style="bold" if line.level == BAD else ""), soft_wrap=True)
    for judgement in judgements:
        console.print(Text(requirement_words(judgement)))


def print_result(result: RunResult, judgements: Sequence[Judgement], console: Console) -> None:
    """Print the verdict, the counts, what goes wrong and what helps, what to know of it, and the caution."""
    _say(console, result.scenario.name, style="bold")
    _say(console, verdict(result))
    _say(console, beside_words(result))
    _say(console, adverse_words(result))
    for judgement in judgements:
        _say(console, requirement_words(judgement))
    _show(console, outcome_table(result))
    _troubles(console, result)
    if result.bay.zones:
        _show(console, people_table(result, by_part=False))
    if not result.troubles:  # which say where as well
        _show(console, where_table(result, MOST_PLACES))
    if result.what_if:
        _show(console, what_if_table(result, MOST_FAILURES), more=_more(len(result.what_if) - MOST_FAILURES))
    if result.bounce_back:
        _show(console, bounce_back_table(result))
    _show(console, type_table(result), MOST_TYPES, _more(len(result.types) - MOST_TYPES))
    for finding in result.findings:
        _say(console, f"{'Warning' if finding.level == 'warning' else 'Note'}: {finding.title}. {finding.text}")
    for problem in result.warnings:
        _say(console, f"Warning: {problem}")
    _say(console, bounds_words(result))
    _say(console, weights_words(result))
    _say(console, air_words(result))
    _say(console, stands_on_words(result))
    _say(console, " ".join(CAUTION), style="bold")


def _troubles(console: Console, result: RunResult) -> None:
    """What goes wrong, worst first, each with the best that was tried."""
    if not result.troubles:
        return
    _say(console, "What goes wrong, worst first", style="bold")
    for number, trouble in enumerate(result.troubles[:MOST_TROUBLES], start=1):
        line = f"{number}. {trouble_title(trouble)}. {trouble_words(trouble, result)} {best_tried(trouble)}"
        console.print(Text(line.rstrip()))
    if more := _more(len(result.troubles) - MOST_TROUBLES):
        console.print(Text(more))
    if words := trials_words(result):
        console.print(Text(words))


def _more(count: int) -> str:
    return f"... and {count} more: see report.html" if count > 0 else ""


def _say(console: Console, words: str, style: str = "") -> None:
    """A paragraph, as it is: what a scenario is called is never read as markup."""
    if words:
        console.print()
        console.print(Text(words, style=style))


def _show(console: Console, table: Table, most: int | None = None, more: str = "") -> None:
    _say(console, table.title, style="bold")
    if table.rows:
        console.print(grid_of(table, console.width, most))
    for words in (more, table.note):
        if words:
            console.print(Text(words))
