"""A scenario file's text with changes as for `--set`, its comments, order and layout kept.

The text is edited where the changed value stands. What comes out is read back: it holds exactly the data that the
changes make of the file.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import yaml

from flightsim.scenario.reading.overrides import APPEND, apply_sets
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.source import read_source, read_value
from flightsim.scenario.reading.written import Origin, Written, written

_CHANGE = "(a change)"
_Group, _List = yaml.MappingNode, yaml.SequenceNode


def rewritten(origin: Origin, sets: Sequence[str]) -> str:
    """The text with these changes. Where it cannot be edited so, it is written anew from the data, comments lost.

    Raises ScenarioError where a change cannot be placed.
    """
    wanted, text = read_source(origin), read_source(origin).text
    for change in sets:
        step = read_source(Written(text))
        apply_sets(step, [change])
        text = _edited(text, change, step.data)
    apply_sets(wanted, sets)
    return text if _holds(text, wanted.data) else written(wanted.data).text


def _edited(text: str, change: str, wanted: dict[str, Any]) -> str:
    """One change made in the text; from the data where no edit gives just that."""
    path, _, value = change.partition("=")
    try:
        new = _Edit(text).changed([step.strip() for step in path.split(".")], _spelt(value.strip()))
    except (yaml.YAMLError, LookupError, ValueError):
        new = text
    return new if _holds(new, wanted) else written(wanted).text


def _holds(text: str, wanted: dict[str, Any]) -> bool:
    try:
        return read_source(Written(text)).data == wanted
    except ScenarioError:
        return False


def _spelt(value: str) -> str | None:
    """A value as it stands in the file: plain text stays plain, groups and lists in one line. None takes a key out."""
    read = read_value(value, _CHANGE)
    return None if read is None else in_one_line(read) if isinstance(read, (dict, list)) else value


def in_one_line(value: Any) -> str:
    """Plain data in YAML's flow style, as one would type it: `{depth: 1.5 m, height: 2.3 m}`."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {in_one_line(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(in_one_line, value)) + "]"
    if isinstance(value, str):
        plain = not set(value) & set("{}[],:#&*!|>'\"%@`") and value == value.strip()
        return value if plain and _reads_back(value) else json.dumps(value, ensure_ascii=False)
    return json.dumps(value)


def _reads_back(value: str) -> bool:
    try:
        return bool(read_value(value, _CHANGE) == value)
    except ScenarioError:
        return False


class _Edit:
    """One edit of a text, by the marks of its nodes."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.root = yaml.compose(text, Loader=yaml.SafeLoader)

    def changed(self, steps: Sequence[str], value: str | None) -> str:
        """The text with what stands at a path replaced, added (value) or taken out (None). Raises LookupError."""
        node: Any = self.root
        for k, step in enumerate(steps):
            inner = None if step == APPEND else _inward(node, step, top=k == 1)
            if inner is None:
                return self.added(node, steps[k:], value)
            if inner is not node:
                holder, node = node, inner
        if value is None:
            return self.without(holder, node)
        return self.text[: node.start_mark.index] + value + self.text[_end(node) :]

    def added(self, node: Any, steps: Sequence[str], value: str | None) -> str:
        """A new key of a group, with what is below it, or a new entry of a list."""
        if value is None:
            raise LookupError("not there")
        for step in reversed(steps[1:]):
            value = f"[{value}]" if step == APPEND else f"{{{step}: {value}}}"
        if steps[0] == APPEND:
            return self.entry(node, value)
        if not isinstance(node, _Group) or not node.value:
            raise LookupError("no group")
        return self.beside(node, f"{steps[0]}: {value}", node.value[0][0].start_mark.column)

    def entry(self, node: Any, value: str) -> str:
        """A new entry of a list; a section that is one group of keys becomes a list of two."""
        if isinstance(node, _Group):
            return self.listed(node, value)
        if not isinstance(node, _List) or not node.value:
            raise LookupError("no list")
        if node.flow_style:
            return self.beside(node, value, 0)
        return self.beside(node, f"- {value}", node.start_mark.column)

    def listed(self, node: Any, value: str) -> str:
        start, end = node.start_mark.index, _end(node)
        if node.flow_style:
            return f"{self.text[:start]}[{self.text[start:end]}, {value}]{self.text[end:]}"
        own = self.text[start:end].replace("\n", "\n  ")
        return f"{self.text[:start]}- {own}\n{' ' * node.start_mark.column}- {value}{self.text[end:]}"

    def beside(self, node: Any, words: str, column: int) -> str:
        """After the last of what a group or list holds: in its line where it is written in one, else below it."""
        last = node.value[-1][1] if isinstance(node, _Group) else node.value[-1]
        where = _end(last)
        if node.flow_style:
            return f"{self.text[:where]}, {words}{self.text[where:]}"
        end = self.text.find("\n", where)
        where = len(self.text) if end < 0 else end
        return f"{self.text[:where]}\n{' ' * column}{words}{self.text[where:]}"

    def without(self, holder: Any, node: Any) -> str:
        """A line of a group taken out, with the line end."""
        key = next(key for key, value in holder.value if value is node)
        if holder.flow_style or len(holder.value) < 2:
            raise LookupError("not a line of its own")
        start, end = key.start_mark.index - key.start_mark.column, self.text.find("\n", _end(node))
        return self.text[:start] + ("" if end < 0 else self.text[end + 1 :])


def _end(node: Any) -> int:
    """Where a node's own text ends: a block's mark stands at whatever comes next."""
    if isinstance(node, yaml.ScalarNode) or node.flow_style or not node.value:
        return int(node.end_mark.index)
    last = node.value[-1]
    return _end(last[1] if isinstance(node, _Group) else last)


def _inward(node: Any, step: str, top: bool) -> Any:
    """What stands at one step of a path, as `--set` goes: a key, an index, an entry's name, or the only entry."""
    if isinstance(node, _Group):
        found = [value for key, value in node.value if key.value == step]
        if not found and top and step == "0":
            return node
        return found[0] if found else None
    if not isinstance(node, _List):
        raise LookupError("a value has no keys")
    if step.isdecimal():
        return node.value[int(step)]
    named = [item for item in node.value if isinstance(item, _Group) and _named(item) == step]
    if named:
        return named[0]
    if len(node.value) == 1:
        return _inward(node.value[0], step, top=False)
    raise LookupError("no such entry")


def _named(item: Any) -> str:
    return next((str(value.value) for key, value in item.value if key.value == "name"), "")
