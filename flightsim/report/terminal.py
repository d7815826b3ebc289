"""A run's answer on the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich import box
from rich.console import Console
from rich.table import Table as RichTable
from rich.text import Text

from flightsim.report.tables import Table, outcome_table, type_table, where_table, worst_words
from flightsim.report.words import CAUTION, bounds_words, failed_words, requirement_words, verdict, weights_words
from flightsim.study.require import Judgement
from flightsim.study.result import RunResult

MOST_TYPES = 12
MOST_PLACES = 8


def print_result(result: RunResult, judgements: Sequence[Judgement], console: Console) -> None:
    """Print the verdict, the rates, where the rest goes, what to know of it, and the caution."""
    _say(console, result.scenario.name, style="bold")
    _say(console, verdict(result))
    for words in (failed_words(result), *(requirement_words(judgement) for judgement in judgements)):
        _say(console, words)
    _show(console, outcome_table(result))
    _show(console, type_table(result), MOST_TYPES)
    _say(console, worst_words(result))
    if result.rates.total["not_met_guard"].count:
        _show(console, where_table(result, MOST_PLACES))
    for finding in result.findings:
        _say(console, f"{'Warning' if finding.level == 'warning' else 'Note'}: {finding.title}. {finding.text}")
    for problem in result.warnings:
        _say(console, f"Warning: {problem}")
    _say(console, bounds_words(result))
    _say(console, weights_words(result))
    _say(console, " ".join(CAUTION), style="bold")


def _say(console: Console, words: str, style: str = "") -> None:
    """A paragraph, as it is: what a scenario is called is never read as markup."""
    if words:
        console.print()
        console.print(Text(words, style=style))


def _show(console: Console, table: Table, most: int | None = None) -> None:
    _say(console, table.title, style="bold")
    grid = RichTable(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for k, head in enumerate(table.head):
        grid.add_column(Text(head), justify="right" if k in table.numbers else "left", overflow="fold")
    for row in table.rows[:most]:
        grid.add_row(*(Text(cell) for cell in row))
    console.print(grid)
    if most is not None and len(table.rows) > most:
        console.print(Text(f"... and {len(table.rows) - most} more shot types: see report.html and summary.json"))
