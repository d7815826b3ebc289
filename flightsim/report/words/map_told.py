"""The maps of a bay on the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.map_words import (
    DIRECTIONS_SAID,
    MOST_ESCAPES,
    MOST_STRINGS,
    WAYS_SAID,
    escape_lines,
    region_table,
    string_table,
    title,
    verdict,
)
from flightsim.report.words.plain_table import Table
from flightsim.report.words.say import grid_of
from flightsim.study.map.bay_map import BayMap

MOST_REGIONS = 14


def print_map(found: BayMap, console: Console) -> None:
    """Print each club's verdict, escapes, regions and strings."""
    _say(console, found.opened.scenario.name, style="bold")
    _say(console, DIRECTIONS_SAID)
    for club in found.clubs:
        _say(console, title(club, found), style="bold")
        for words in verdict(club, found):
            console.print(Text(words))
        _say(console, "Nearest escapes, turned from a normal shot", style="bold")
        for words in escape_lines(club, found, MOST_ESCAPES) or ["None found."]:
            console.print(Text(words))
        _show(console, region_table(club), MOST_REGIONS)
    if found.clubs:
        _show(console, string_table(found.clubs[0], found, with_ends=False), MOST_STRINGS)
    _say(console, WAYS_SAID)
    for problem in found.opened.warnings:
        _say(console, f"Warning: {problem}")
    _say(console, " ".join(CAUTION), style="bold")


def _say(console: Console, words: str, style: str = "") -> None:
    """A paragraph, as it is: what a scenario is called is never read as markup."""
    console.print()
    console.print(Text(words, style=style))


def _show(console: Console, table: Table, most: int | None = None) -> None:
    _say(console, table.title, style="bold")
    if not table.rows:
        console.print(Text("None found."))
        return
    console.print(grid_of(table, console.width, most))
    if most is not None and len(table.rows) > most:
        console.print(Text(f"... and {len(table.rows) - most} more: see map.html"))
