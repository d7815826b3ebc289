"""The page of what it takes to build a bay: the answer, every list, the order of work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from flightsim.making.strength.check import NOT_A_CERTIFICATE
from flightsim.report.pages.frame import Section, made_by, page
from flightsim.report.words.build_words import NOT_PASSED
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.models import Scenario

OPEN_TO = 6  # rows that a list has at most to be open from the start


def build_page(scenario: Scenario, answer: Sequence[str], tables: Sequence[Table], work: str) -> str:
    """The page as text. answer: in words, the worst first; tables: every list; work: its order, a line a step.

    A paragraph of the work is a section: its first line is the title, but for the steps themselves. Long lists are shut
    on the screen, with how many rows they have, and printed all the same.
    """
    steps, *rest = [part.splitlines() for part in work.split("\n\n")[1:]]
    sections = [
        Section("The answer", [*answer, NOT_A_CERTIFICATE]),
        Section("Lists", [NOT_A_CERTIFICATE], folds=[_list(table) for table in tables if table.rows]),
        Section("Order of work", steps),
        *(_notes(title, [line.removeprefix("- ") for line in lines]) for title, *lines in rest if lines),
    ]
    return page(scenario.name, sections, kind="What it takes to build it", facts=made_by(scenario))


def _list(table: Table) -> Section:
    many = len(table.rows)
    rows = f"{many} row{'s' if many > 1 else ''}"
    return Section(
        f"{table.title} ({rows})",
        (),
        [replace(table, title="")],
        opened=many <= OPEN_TO or table.title == NOT_PASSED,
        printed_shut=True,
    )


def _notes(title: str, lines: list[str]) -> Section:
    """Lines of one kind; many of them are shut."""
    long = len(lines) > 2 * OPEN_TO
    return Section(f"{title} ({len(lines)})" if long else title, lines, folded=long, printed_shut=True, anchor=title)
