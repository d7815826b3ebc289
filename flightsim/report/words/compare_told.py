"""Bays compared, on the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.compare_words import changed_table, moved_table, rates_table, types_words, verdict
from flightsim.report.words.say import say, show
from flightsim.report.words.variant_words import VariantRow, targets_tables, variants_headline, variants_table
from flightsim.study.compare.paired_bays import Comparison


def print_compare(found: Comparison, console: Console, cost: str = "") -> None:
    """Print the answer. cost: of the two, in words."""
    say(console, verdict(found))
    show(console, changed_table(found))
    show(console, rates_table(found))
    show(console, moved_table(found))
    say(console, types_words(found))
    say(console, cost)
    say(console, " ".join(CAUTION), style="bold")


def print_variants(rows: Sequence[VariantRow], console: Console) -> None:
    """Print a row a bay, and every target."""
    say(console, variants_headline(rows))
    show(console, variants_table(rows))
    for table in targets_tables(rows):
        show(console, table)
    say(console, " ".join(CAUTION), style="bold")
