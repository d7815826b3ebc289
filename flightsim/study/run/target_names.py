"""Whether the parts, people and openings that targets name are in the bay."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches

from flightsim.bay.parts import Bay
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem
from flightsim.study.run.target_kinds import KINDS

_OF_PEOPLE = ("hitter_head", "hitter_head_hard", "other_head", "other_head_hard", "child", "child_hard", "body",
              "comes_back")  # fmt: skip
_OF_OPENINGS = ("got_out", "got_out_toward_people")


def target_problems(scenario: Scenario, bay: Bay) -> list[Problem]:
    """An error for each name that is nowhere in the bay: its target would be met for ever."""
    openings = [opening.name for opening in bay.openings]
    wrong = [_unknown(scenario, f"targets.toward_people.{k}", name, openings)
             for k, name in enumerate(scenario.targets.toward_people) if name not in openings]  # fmt: skip
    return [*wrong, *_named(scenario, bay, openings)]


def _named(scenario: Scenario, bay: Bay, openings: list[str]) -> Iterator[Problem]:
    people = sorted({zone.person for zone in bay.zones})
    parts = list(dict.fromkeys(part.label for part in bay.parts))
    for key in KINDS:
        known = people if key in _OF_PEOPLE else bay.ways_out if key in _OF_OPENINGS else parts
        for name in scenario.targets.limits(key):
            if name and name not in known:
                yield _unknown(scenario, f"targets.{key}.{name}", name, known)


def _unknown(scenario: Scenario, key: str, name: str, known: list[str]) -> Problem:
    near = get_close_matches(name, known, 1)
    return scenario.problem(
        key, f"there is no '{name}' in this bay", ", ".join(known) or "none", near[0] if near else ""
    )
