"""A scenario file to a Scenario: every key known, every value checked, every problem told at once."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import fsum
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from flightsim.errors import PluginError
from flightsim.scenario.reading.explain import explain, not_a_choice, unknown_key
from flightsim.scenario.reading.known import fields_of, models_in
from flightsim.scenario.reading.models import Core, Scenario, Section
from flightsim.scenario.reading.overrides import apply_sets
from flightsim.scenario.reading.problems import Problem, ScenarioError
from flightsim.scenario.reading.source import Source, read_source
from flightsim.scenario.reading.written import Origin

Choices = Mapping[str, Sequence[str]]
M = TypeVar("M", bound=BaseModel)
_SHARES_TOLERANCE = 1e-9


def load_scenario(
    origin: Origin, sections: Sequence[Section], sets: Sequence[str] = (), choices: Choices | None = None
) -> Scenario:
    """Read, change and check a scenario: a file, or text.

    sections: what may stand in the file beside the core keys; sets: `path=value` changes; choices: the words that
    a dotted path of the core may hold, as `{"aero": [...]}`, where the room that knows them is above this one.
    Raises ScenarioError with every problem found, in file order.
    """
    source = _source(origin, sets)
    reading = _Reading(source, tuple(sections), choices or {})
    scenario = reading.scenario(tuple(sets))
    problems = _in_file_order(source, reading.problems)
    if problems or scenario is None:
        raise ScenarioError(problems)
    return scenario


def named_plugins(origin: Origin, sets: Sequence[str] = ()) -> tuple[str, ...]:
    """The strangers' plugins that the file names. What is no list of names is left for load_scenario to tell of."""
    named = _source(origin, sets).data.get("plugins", ())
    return tuple(name for name in named if isinstance(name, str)) if isinstance(named, list) else ()


def _source(origin: Origin, sets: Sequence[str]) -> Source:
    source = read_source(origin)
    apply_sets(source, sets)
    return source


def _in_file_order(source: Source, later: Sequence[Problem]) -> list[Problem]:
    """All problems by line. What follows from a problem told already is left out."""
    told_keys = [problem.key for problem in source.problems if problem.key]
    new = [p for p in later if not any(p.key == key or p.key.startswith(f"{key}.") for key in told_keys)]
    return sorted([*source.problems, *new], key=lambda p: (p.line is None, p.line or 0))


@dataclass
class _Reading:
    source: Source
    sections: tuple[Section, ...]
    choices: Choices
    problems: list[Problem] = field(default_factory=list)

    def scenario(self, sets: tuple[str, ...]) -> Scenario | None:
        """The scenario, or None with problems."""
        self._blanks()
        self._unknown_keys()
        core = self._core()
        entries = self._all_entries()
        if core is None or self.problems or self.source.problems:
            return None
        source = self.source
        return Scenario(
            source.file, core.name, core.units, core.ball, core.air, core.aero, core.tee, entries,
            core.harm, core.blunt_harm, core.struck_energy, source.text, sets, core.plugins, source.lines,
            source.origins, core.targets, core.may_change,
            next((section.key for section in self.sections if section.room), ""),
        )  # fmt: skip

    def _tell(self, key: str, found: str, allowed: str, fix: str = "") -> None:
        self.problems.append(self.source.problem(key, found, allowed, fix))

    def _blanks(self) -> None:
        """A key with nothing after it is a line somebody meant to finish: never a default in silence."""
        told_keys = {problem.key for problem in self.source.problems}
        for path in _empty_places(self.source.data, ""):
            if path in told_keys:
                continue
            fix = "write the value, or remove the line; `[]` is an empty list"
            self.source.problems.append(self.source.problem(path, "nothing is written here", "a value", fix))

    def _unknown_keys(self) -> None:
        known = [*Core.model_fields, *(section.key for section in self.sections)]
        for key in self.source.data:
            if key not in known:
                self._tell(key, *unknown_key(key, known))

    def _core(self) -> Core | None:
        data = {key: value for key, value in self.source.data.items() if key in Core.model_fields}
        core = self._validated(Core, data, "")
        self._check_choices()
        if core is not None:
            self._check_air(core)
            self._check_spots(core)
        return core

    def _check_choices(self) -> None:
        """Only what the file says: a default is always among the choices."""
        for path, words in self.choices.items():
            value: Any = self.source.data
            for step in path.split("."):
                value = value.get(step) if isinstance(value, dict) else None
            if isinstance(value, str) and value not in words:
                self._tell(path, *not_a_choice(value, words))

    def _check_air(self, core: Core) -> None:
        if core.air.pressure is not None and core.air.altitude is not None:
            self._tell("air.pressure", "both pressure and altitude are given", "one of them", "remove one")

    def _check_spots(self, core: Core) -> None:
        spots = core.tee.spots
        self._unique("tee.spots", [spot.name for spot in spots], listed=True)
        total = fsum(spot.share for spot in spots)
        if spots and abs(total - 1.0) > _SHARES_TOLERANCE:
            fix = ", ".join(f"{spot.name}: {spot.share / total:.12g}" for spot in spots)
            self._tell("tee.spots", f"the shares add to {total:.12g}", "shares that add to 1", fix)

    def _all_entries(self) -> dict[str, tuple[Any, ...]]:
        by_key = {section.key: section for section in self.sections}
        entries = {key: self._entries(by_key[key]) for key in self.source.data if key in by_key}
        for section in self.sections:
            if section.required and section.key not in entries:
                self._tell(section.key, "the section is missing", section.title, f"{section.key}:")
        return entries

    def _entries(self, section: Section) -> tuple[Any, ...]:
        raw = self.source.data[section.key]
        if isinstance(raw, list) and not section.several:
            self._tell(section.key, "a list", "one group of keys", "remove the `- `")
            return ()
        listed = isinstance(raw, list)
        items = _with_names(section, raw if listed else [raw])
        if all(isinstance(item, dict) and isinstance(item.get("name"), str) for item in items):
            self._unique(section.key, [item["name"] for item in items], listed)
        places = [f"{section.key}.{k}" if listed else section.key for k in range(len(items))]
        entries = [self._validated(section.model, item, where) for item, where in zip(items, places, strict=True)]
        return tuple(entry for entry in entries if entry is not None)

    def _unique(self, key: str, names: Sequence[str], listed: bool) -> None:
        for k, name in enumerate(names):
            if name in names[:k]:
                where = f"{key}.{k}.name" if listed else f"{key}.name"
                self._tell(where, f"the name {name!r} is taken", "names that differ", f"{name} {k + 1}")

    def _validated(self, model: type[M], data: Any, where: str) -> M | None:
        """The model, or None with problems. By way of JSON, where strict means: lists yes, 'yes' for true no."""
        try:
            return model.model_validate_json(json.dumps(data), strict=True)
        except ValidationError as error:
            self.problems += explain(error, model, data, where, self.source)
            return None
        except Exception as error:
            owner = next((section.owner for section in self.sections if section.model is model), "")
            if not owner:
                raise
            words = f"plugin '{owner}': its model of '{where}' failed: {type(error).__name__}"
            raise PluginError(f"{words}: what a validator does not like it raises as ValueError") from error


def _empty_places(value: Any, path: str) -> Iterator[str]:
    """Dotted paths that hold nothing."""
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, inner in steps:
        where = f"{path}.{step}" if path else str(step)
        if inner is None:
            yield where
        yield from _empty_places(inner, where)


def _with_names(section: Section, items: Sequence[Any]) -> list[Any]:
    """Entries of a several-section with a name each: its own, or `canopy`, `canopy 2`, ...

    A model that requires the name wants people to give it.
    """
    name_field = fields_of(models_in(section.model)).get("name")
    if not section.several or name_field is None or name_field.is_required():
        return list(items)
    given = [item.get("name") for item in items if isinstance(item, dict)]
    taken = {name for name in given if isinstance(name, str)}
    stem, named = section.key.replace("_", " "), []
    for k, item in enumerate(items):
        if isinstance(item, dict) and "name" not in item:
            numbers = (f"{stem} {n}" for n in range(k + 1, 2 * len(items) + 2))
            name = stem if k == 0 and stem not in taken else next(n for n in numbers if n not in taken)
            taken.add(name)
            item = {"name": name, **item}
        named.append(item)
    return named
