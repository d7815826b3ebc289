"""Whether the facings that a scenario names are known: told before any ball is flown."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from flightsim.bay.facing_words import FacingMark
from flightsim.bay.parts import Part
from flightsim.errors import PluginError
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem

Keys = Mapping[str, str]


def facing_problems(
    scenario: Scenario,
    parts: Collection[Part],
    known: Collection[str],
    key_of: Keys = MappingProxyType({}),
) -> list[Problem]:
    """An error for each word of the scenario, and for each word that parts take from it, that names no known facing.

    key_of: the section of each plugin. Raises PluginError for a facing that a plugin made up itself.
    """
    named = [(path, word) for key in scenario.sections for path, word in _named(scenario, key)]
    problems = [_problem(scenario, path, word, known) for path, word in named if word not in known]
    judged = {word for _, word in named}
    for part in parts:
        if part.facing in known or part.facing in judged:
            continue
        judged.add(part.facing)
        key = key_of.get(part.owner, part.owner)
        if not any(part.facing in _texts(entry) for entry in scenario.entries(key)):
            raise _made_up(part, known)
        problems.append(_problem(scenario, key, part.facing, known, f"of {part.name} "))
    return problems


def _made_up(part: Part, known: Collection[str]) -> PluginError:
    near = get_close_matches(part.facing, known, 1)
    fix = f"\n  try: {near[0]}" if near else "\n  try: give it in flightsim_facings"
    words = f"plugin '{part.owner}': part '{part.name}' has the facing '{part.facing}', which is not known"
    return PluginError(f"{words}\n  allowed: {', '.join(sorted(known))}{fix}")


def _texts(value: Any) -> set[str]:
    """All words that an entry holds, at any depth."""
    if isinstance(value, str):
        return {value}
    if isinstance(value, BaseModel):
        return set().union(*(_texts(getattr(value, name)) for name in type(value).model_fields))
    if isinstance(value, dict):
        return set().union(*map(_texts, value.values()))
    return set().union(*map(_texts, value)) if isinstance(value, (list, tuple, set, frozenset)) else set()


def _problem(scenario: Scenario, path: str, word: str, known: Collection[str], of: str = "") -> Problem:
    near = get_close_matches(word, known, 1)
    fix = near[0] if near else f"a `facings:` entry named {word}"
    return scenario.problem(
        path, f"the facing {of}'{word}' is not known".replace("  ", " "), ", ".join(sorted(known)), fix
    )


def _named(scenario: Scenario, key: str) -> Iterator[tuple[str, str]]:
    """Dotted paths of a section that hold the name of a facing, and the name."""
    for k, entry in enumerate(scenario.entries(key)):
        entry_path = f"{key}.{k}" if f"{key}.{k}" in scenario.lines or k else key
        yield from _in_model(entry, entry_path)


def _in_model(value: Any, path: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, (list, tuple)):
        for k, item in enumerate(value):
            yield from _in_model(item, f"{path}.{k}")
    elif isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            inner, inner_path = getattr(value, name), f"{path}.{field.alias or name}"
            if isinstance(inner, str):
                if _marked(field):
                    yield inner_path, inner
            else:
                yield from _in_model(inner, inner_path)


def _marked(field: FieldInfo) -> bool:
    return any(isinstance(mark, FacingMark) for mark in (*field.metadata, *_marks(field.annotation)))


def _marks(annotation: Any) -> Iterator[Any]:
    """What is attached to an annotation, at any depth."""
    yield from getattr(annotation, "__metadata__", ())
    for inner in get_args(annotation):
        yield from _marks(inner)
