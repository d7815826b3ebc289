"""The page of what it takes to build a bay: the answer, every list, the order of work."""

from __future__ import annotations

from collections.abc import Sequence

from flightsim.making.strength.check import NOT_A_CERTIFICATE
from flightsim.report.pages.frame import Section, made_by, page
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.models import Scenario


def build_page(scenario: Scenario, told: Sequence[str], tables: Sequence[Table], work: str) -> str:
    """As text. told: the answer in words, the worst first; tables: every list; work: its order, a line a step.

    A paragraph of the work is a section: its first line is the title, but for the steps themselves.
    """
    steps, *rest = [part.splitlines() for part in work.split("\n\n")[1:]]
    sections = [
        Section("The answer", [*told, NOT_A_CERTIFICATE]),
        Section("Lists", [NOT_A_CERTIFICATE], [table for table in tables if table.rows]),
        Section("Order of work", steps),
        *(Section(title, lines) for title, *lines in rest if lines),
    ]
    return page(scenario.name, sections, kind="What it takes to build it", facts=made_by(scenario))
