"""Scenarios and bays in Python: from a file, text or plain data, with changes, and with parts of one's own."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape
from pathlib import Path
from typing import Any

from flightsim.bay.parts import Part
from flightsim.errors import BadInputError
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.source import read_source, read_value
from flightsim.scenario.reading.written import Origin, Written, written
from flightsim.study.run.open_bay import BayOrigin, OpenBay
from flightsim.study.run.open_bay import open_bay as open_from

CHANGE = "(a change in code)"  # what messages call a value that cannot be written


@dataclass(frozen=True)
class Scenario:
    """A bay and its shots as they are written, with changes; nothing changes it afterwards.

    origin: a scenario file's path, or text. changes: as for `--set`, `canopy.depth=1.4m`, in order. Make one with
    `flightsim.load`, which checks it.
    """

    origin: Origin
    changes: tuple[str, ...] = ()

    @classmethod
    def from_file(cls, path: str | Path) -> Scenario:
        """Of a scenario file."""
        return cls(path)

    @classmethod
    def from_text(cls, text: str) -> Scenario:
        """Of the text of a scenario file."""
        return cls(Written(text))

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Scenario:
        """Of plain data, with the keys of a scenario file. Raises BadInputError for what no scenario can hold."""
        return cls(written(data))

    def with_changes(self, changes: Mapping[str, Any] | None = None, *texts: str) -> Scenario:
        """The same with changes: `{"canopy.depth": "1.4 m"}`, or texts as for `--set`; None takes a key out.

        Lengths and the like are text with a unit. Whether they can be is checked when the bay is opened.
        """
        assigned = (f"{path}={_as_text(value)}" for path, value in (changes or {}).items())
        return replace(self, changes=(*self.changes, *assigned, *texts))

    @property
    def name(self) -> str:
        """What the bay is called. Raises ScenarioError where the scenario cannot be read."""
        return str(read_source(self.origin).data.get("name", ""))

    @property
    def text(self) -> str:
        """The scenario file's text, without the changes. Raises ScenarioError where it cannot be read."""
        return read_source(self.origin).text

    def _repr_html_(self) -> str:
        changes = "".join(f"<li><code>{escape(change)}</code></li>" for change in self.changes)
        return f"<b>{escape(self.name)}</b>" + (f"<ul>{changes}</ul>" if changes else "")


ScenarioLike = Scenario | str | Path | Mapping[str, Any]


def load(source: ScenarioLike) -> Scenario:
    """A scenario from a file, text (of several lines) or plain data, checked with all that stands in it.

    Raises ScenarioError with every problem found, its line, key and a way out; PluginError where a plugin that it
    names is missing or fails.
    """
    scenario = scenario_of(source)
    open_bay(scenario)
    return scenario


def scenario_of(source: ScenarioLike) -> Scenario:
    """The same, not checked yet. Raises BadInputError for what can be no scenario."""
    if isinstance(source, Scenario):
        return source
    if isinstance(source, Mapping):
        return Scenario.from_dict(source)
    if isinstance(source, Path) or (isinstance(source, str) and "\n" not in source):
        return Scenario.from_file(source)
    if isinstance(source, str):
        return Scenario.from_text(source)
    raise BadInputError(
        f"a {type(source).__name__} is no scenario\n  allowed: a path, the text of a scenario, a dict, or a Scenario\n"
        "  try: flightsim.load('my_bay.yaml')"
    )


def open_bay(scenario: ScenarioLike | OpenBay, parts: Sequence[Part] = ()) -> OpenBay:
    """A scenario's bay, ready to be flown: `.bay.parts`, `.bay.zones`, `.physics`, `.warnings`.

    parts: more of them, with shapes of `flightsim.bay.shapes`, beside those that the scenario gives. A bay that is
    open already is given back, or opened again with the parts. Raises as `load` does.
    """
    if isinstance(scenario, OpenBay):
        if not parts:
            return scenario
        return open_from(replace(scenario.origin, parts=(*scenario.origin.parts, *parts)), scenario.scenario.overrides)
    wanted = scenario_of(scenario)
    return open_from(BayOrigin(wanted.origin, tuple(parts)), wanted.changes)


def changed(bay: OpenBay, changes: Sequence[str]) -> OpenBay:
    """The same bay opened again with changes, as for `--set`. Raises as `load` does."""
    return open_from(bay.origin, (*bay.scenario.overrides, *changes))


def _as_text(value: Any) -> str:
    """A value as one types it after the `=` of a change. Raises BadInputError."""
    if isinstance(value, str) and _reads_back(value):
        return value
    try:
        return json.dumps(value.tolist() if hasattr(value, "tolist") else value)
    except (TypeError, ValueError) as error:
        fix = "text with a unit, a number, true or false, a list or a group of these"
        raise BadInputError(f"{CHANGE}: {error}\n  allowed: {fix}\n  try: '1.4 m'") from None


def _reads_back(text: str) -> bool:
    try:
        return bool(read_value(text, CHANGE) == text)
    except ScenarioError:
        return False
