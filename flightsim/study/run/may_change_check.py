"""What is wrong in a scenario's `may_change`: paths of nothing that may change, and sections that add nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from flightsim.scenario.reading.declared import GuardLength, OneOf, declared
from flightsim.scenario.reading.may_change import covers
from flightsim.scenario.reading.models import Scenario, Section
from flightsim.scenario.reading.problems import Problem

TEE = "tee.from_end_wall"


def may_change_problems(scenario: Scenario, sections: Sequence[Section]) -> list[Problem]:
    """Errors at their keys, each with the nearest that is known."""
    may = scenario.may_change
    sizes = [TEE, *(declaration.path for declaration in declared(scenario, GuardLength))]
    known = [*sizes, *(declaration.path for declaration in declared(scenario, OneOf))]
    whole = {prefix for path in known for prefix in _prefixes(path)} | {section.key for section in sections}
    found = [
        *(_unknown(scenario, "may_change.stays", path, sorted(whole)) for path in may.stays
          if path not in whole and not any(covers(path, each) for each in known)),
        *(_unknown(scenario, "may_change.sizes", path, sizes) for path in may.sizes
          if not any(covers(path, each) and covers(each, path) for each in sizes)),
    ]  # fmt: skip
    if not isinstance(may.new_guards, bool):
        adding = [section.key for section in sections if section.adds_guards]
        found += [_unknown(scenario, "may_change.new_guards", key, adding)
                  for key in may.new_guards if key not in adding]  # fmt: skip
    return found


def _prefixes(path: str) -> Iterable[str]:
    steps = path.split(".")
    return (".".join(steps[:k]) for k in range(1, len(steps) + 1))


def _unknown(scenario: Scenario, key: str, path: str, known: Sequence[str]) -> Problem:
    near = next(iter(get_close_matches(path, known, 1) or known), "")
    return scenario.problem(key, f"'{path}' is nothing that may change here", ", ".join(known), near)
