"""The answer of a search for changes on the terminal."""

from __future__ import annotations

from rich.console import Console

from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.improve_steps import steps_words, worse_words
from flightsim.report.words.improve_words import (
    cost_words,
    headline,
    not_judged_words,
    offers_words,
    targets_table,
    unmet_words,
)
from flightsim.report.words.say import say, show
from flightsim.study.improve.improve import Improved


def print_improved(found: Improved, console: Console, currency: str = "") -> None:
    """Print what to do, what it brings, and what stands in the way. currency: of the bay's price list."""
    say(console, found.found.scenario.name, style="bold")
    say(console, headline(found), style="bold")
    say(console, steps_words(found))
    say(console, cost_words(found, currency))
    show(console, targets_table(found))
    if worse := worse_words(found):
        say(console, "What became worse:\n" + "\n".join(f"- {line}" for line in worse))
    say(console, unmet_words(found))
    say(console, offers_words(found))
    say(console, not_judged_words(found))
    say(console, " ".join(CAUTION), style="bold")
