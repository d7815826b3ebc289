"""What is odd about the guards of a bay: two that hang in one place."""

from __future__ import annotations

from flightsim.bay.one_place import in_one_place
from flightsim.bay.parts import Bay
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem, Severity


def guard_problems(scenario: Scenario, bay: Bay) -> list[Problem]:
    """Warnings for guards in one place: the second makes a bay no safer than it looks."""
    return [
        scenario.problem(
            second.owner,
            f"'{first.label}' and '{second.label}' hang in one place: a ball strikes both as one",
            "guards that are apart by more than a ball and what the first one gives",
            "remove one of them, or move it",
            Severity.WARNING,
        )
        for first, second in in_one_place(bay.parts)
    ]
