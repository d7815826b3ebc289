"""`path=value`: a change to the scenario without editing its file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from flightsim.scenario.reading.known import nearest
from flightsim.scenario.reading.problems import Problem, ScenarioError
from flightsim.scenario.reading.source import Source, kind_of, read_value
from flightsim.scenario.reading.text import cut

LONGEST_CHANGE = 120  # characters of a change that are repeated
APPEND = "+"  # the last step of a path that adds an entry to a list


def apply_sets(source: Source, sets: Sequence[str]) -> None:
    """Write changes into the source's data, in order. Raises ScenarioError with all that cannot be placed.

    A path goes by key, list index (from 0) or an entry's name: `canopy.depth`, `canopy.1.depth`,
    `canopy.front.depth`. It may add a key; whether the model knows the key is checked with all others.
    `path=null` takes a key out; `ceiling.pads.+={...}` adds an entry to a list, and makes the list where there is none.
    """
    problems: list[Problem] = []
    for text in sets:
        try:
            _Change(source, f"change {cut(text, LONGEST_CHANGE)}").apply(text)
        except ScenarioError as error:
            problems += error.problems
    if problems:
        raise ScenarioError(problems)


@dataclass
class _Change:
    source: Source
    origin: str

    def apply(self, text: str) -> None:
        path, equals, value_text = text.partition("=")
        steps = [step.strip() for step in path.split(".")]
        if not equals or not all(steps):
            raise self.error("", "no change can be read in it", "KEY=VALUE", "canopy.depth=1.4m")
        if not value_text.strip():
            fix = f"{path}=1.4m, or {path}=null to take it out"
            raise self.error(path, "nothing is written after the =", "a value", fix)
        value = read_value(value_text.strip(), self.origin)
        if steps[-1] == APPEND and len(steps) > 1:
            self.append(steps, value)
            return
        holder: Any = self.source.data
        done: list[str] = []
        for step in steps[:-1]:
            holder, done = self.enter(holder, done, step)
        holder, done, last = self.locate(holder, done, steps[-1])
        self.write(holder, ".".join([*done, last]), last, value)

    def append(self, steps: Sequence[str], value: Any) -> None:
        """A new entry at the end of a list; a section that is one group of keys becomes a list of two."""
        holder: Any = self.source.data
        done: list[str] = []
        for step in steps[:-2]:
            holder, done = self.enter(holder, done, step)
        holder, done, key = self.locate(holder, done, steps[-2])
        path = ".".join([*done, key])
        there = holder[int(key)] if isinstance(holder, list) else holder.setdefault(key, [])
        if isinstance(there, dict) and not done:
            there = holder[key] = [there]
        if not isinstance(there, list) or value is None:
            words = "nothing can be added" if value is None else f"it holds {kind_of(there)}, which is no list"
            raise self.error(path, words, "an entry for a list", f"{path}={{...}}")
        there.append(value)
        self.record(f"{path}.{len(there) - 1}")

    def enter(self, data: Any, done: list[str], step: str) -> tuple[Any, list[str]]:
        """One step inwards: what stands there, and the way to it. A group that is missing is made."""
        data, done, key = self.locate(data, done, step)
        if isinstance(data, list):
            return data[int(key)], [*done, key]
        if key not in data and self.names_itself(data, done, step):
            return data, done
        if data.get(key) is None:
            data[key] = {}
            self.record(".".join([*done, key]))
        return data[key], [*done, key]

    def locate(self, data: Any, done: list[str], step: str) -> tuple[Any, list[str], str]:
        """The group or list that a step is in, the way to it, and the key or index of the step in it."""
        if isinstance(data, dict):
            return data, done, step
        if not isinstance(data, list):
            path = ".".join(done)
            words = f"{path} holds {kind_of(data)}, which has no keys"
            raise self.error(f"{path}.{step}", words, "a path to a value", path)
        index = self.index(data, done, step)
        if index is not None:
            return data, done, str(index)
        return data[0], [*done, "0"], step

    def names_itself(self, data: dict[str, Any], done: Sequence[str], step: str) -> bool:
        """Whether a step only says which entry, where the section has just one, written without a list."""
        if len(done) == 1 and step.isdecimal() and step != "0":
            raise self.error(f"{done[0]}.{step}", f"there is no entry {step}", "0: there is only one")
        return len(done) == 1 and step in {"0", data.get("name"), done[0].replace("_", " ")}

    def index(self, items: list[Any], done: Sequence[str], step: str) -> int | None:
        """The place of an entry by index or name; None when the only entry must be meant."""
        path = ".".join([*done, step])
        if step.isdecimal():
            if int(step) < len(items):
                return int(step)
            there = f"0 to {len(items) - 1}" if items else "none: the list is empty"
            raise self.error(path, f"there is no entry {step}", there)
        names = [_name(item, k, done) for k, item in enumerate(items)]
        if step in names:
            if names.count(step) > 1:
                raise self.error(path, f"several entries are named {step!r}", "names that differ, or an index")
            return names.index(step)
        close = nearest(step, names)
        if len(items) == 1 and isinstance(items[0], dict) and close is None:
            return None
        words = ", ".join(f"{k} ({name})" for k, name in enumerate(names)) or "none: the list is empty"
        raise self.error(path, f"{step!r} is no entry of the list", words, close or (names[0] if names else ""))

    def write(self, holder: Any, path: str, key: str, value: Any) -> None:
        if isinstance(holder, list):
            if value is None:
                raise self.error(path, "an entry of a list cannot be taken out here", "a key", "edit the file")
            holder[int(key)] = value
        elif value is not None:
            holder[key] = value
        elif key in holder:
            del holder[key]
        else:
            raise self.error(path, "it is not in the file", ", ".join(holder), nearest(key, holder) or "")
        self.record(path)

    def record(self, path: str) -> None:
        """The change owns the path now: lines and older changes at and under it no longer hold."""
        places: tuple[dict[str, Any], ...] = (self.source.lines, self.source.origins)
        for table in places:
            for key in [key for key in table if key == path or key.startswith(f"{path}.")]:
                del table[key]
        self.source.origins[path] = self.origin

    def error(self, key: str, found: str, allowed: str, fix: str = "") -> ScenarioError:
        return ScenarioError([Problem(self.origin, None, key, found, allowed, fix)])


def _name(item: Any, k: int, done: Sequence[str]) -> str:
    """An entry's name: its own, or the one that it will get."""
    stem = done[-1].replace("_", " ") if done else ""
    default = stem if k == 0 else f"{stem} {k + 1}"
    return str(item.get("name", default)) if isinstance(item, dict) else default
