"""What is wrong or odd in a scenario's `shots`, each at its key: unknown names, entries given twice, rare strikes."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from difflib import get_close_matches

from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem, Severity
from flightsim.shots.played_plan import LEAST_SHARE
from flightsim.shots.players import player_names
from flightsim.strike.clubs import club_names

_SHOWN = 3  # strikes left out that are named


def shot_problems(scenario: Scenario) -> list[Problem]:
    """Players and clubs that nobody knows, and those given twice."""
    problems: list[Problem] = []
    for shots in scenario.entries("shots"):
        players, clubs = (*shots.own_players, *player_names()), (*shots.own_clubs, *club_names())
        used_players, used_clubs = [entry.player for entry in shots.players], [entry.club for entry in shots.clubs]
        problems += _unknown(scenario, "player", used_players, players) + _unknown(scenario, "club", used_clubs, clubs)
        hands = [(entry.player, entry.hand) for entry in shots.players]
        swings = [(entry.club, entry.swing) for entry in shots.clubs]
        problems += _twice(scenario, "player", hands) + _twice(scenario, "club", swings)
    return problems


def _unknown(scenario: Scenario, kind: str, names: Sequence[str], known: Sequence[str]) -> list[Problem]:
    problems = []
    for k, name in enumerate(names):
        if name not in known:
            near = get_close_matches(name, known, 1) or [known[0]]
            fix = f"{kind}: {near[0]}"
            key = f"shots.{kind}s.{k}.{kind}"
            problems.append(scenario.problem(key, f"'{name}' is not known here", ", ".join(known), fix))
    return problems


def _twice(scenario: Scenario, kind: str, entries: Sequence[tuple[str, Hashable]]) -> list[Problem]:
    """Entries that could not be told apart in the results."""
    return [
        scenario.problem(
            f"shots.{kind}s.{k}.{kind}",
            f"'{name}' ({condition}) is given twice",
            "each once",
            "add its share to the first",
        )
        for k, (name, condition) in enumerate(entries)
        if (name, condition) in entries[:k]
    ]


def rare_problems(scenario: Scenario, left_out: Sequence[tuple[str, float]]) -> list[Problem]:
    """A warning of strikes too rare to be flown."""
    if not left_out:
        return []
    named = "; ".join(label for label, _ in sorted(left_out, key=lambda each: -each[1])[:_SHOWN])
    more = f" and {len(left_out) - _SHOWN} more" if len(left_out) > _SHOWN else ""
    together = sum(share for _, share in left_out)
    found = (
        f"kinds of strike rarer than 1 in {1.0 / LEAST_SHARE:,.0f} shots are not flown, and no rate counts them "
        f"(together {together:.1e} of all shots): {named}{more}"
    )
    fix = "tails: {model: student_t}, under which they are less rare" if _gaussian(scenario) else ""
    return [scenario.problem("shots", found, "", fix, Severity.WARNING)]


def _gaussian(scenario: Scenario) -> bool:
    return any(shots.tails.model == "gaussian" for shots in scenario.entries("shots"))
