"""The page of what it takes to build a bay: the answer, every list, the order of work."""

from __future__ import annotations

from collections.abc import Sequence

from flightsim.making.strength.check import NOT_A_CERTIFICATE
from flightsim.report.pages.frame import Section, made_by, page
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.models import Scenario


def build_page(scenario: Scenario, told: Sequence[str], tables: Sequence[Table], work: str) -> str:
    """As text. told: the answer in words, the worst first; tables: every list; work: its order, a line a step."""
    sections = [
        Section("The answer", [*told, NOT_A_CERTIFICATE]),
        Section("Lists", (), [table for table in tables if table.rows]),
        Section("Order of work", [line for line in work.splitlines()[1:] if line]),
    ]
    return page(scenario.name, sections, kind="What it takes to build it", facts=made_by(scenario))
