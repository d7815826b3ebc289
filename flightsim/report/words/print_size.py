"""The answer of a search for a size on the terminal."""

from __future__ import annotations

from rich.console import Console

from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.say import say, show
from flightsim.report.words.size_tables import doubts_table, front_table, looks_table, not_varied_words, worse_table
from flightsim.report.words.size_words import LUCK, SizeReport, backward_words, cost_words, headline, present_words


def print_size(report: SizeReport, console: Console, bill: str = "") -> None:
    """Print the answer, what it was found from, and how far it can be trusted. bill: what the bay costs, in words."""
    say(console, report.scenario.name, style="bold")
    say(console, headline(report), style="bold" if report.answer.chosen is not None else "")
    say(console, cost_words(report))
    say(console, bill)
    say(console, present_words(report))
    say(console, backward_words(report))
    show(console, looks_table(report))
    show(console, front_table(report))
    show(console, doubts_table(report))
    show(console, worse_table(report))
    say(console, not_varied_words(report))
    say(console, LUCK)
    say(console, " ".join(CAUTION), style="bold")
