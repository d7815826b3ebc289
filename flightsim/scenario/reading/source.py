"""A scenario file as plain data, with the line of every key: YAML, without what no scenario needs.

Scalars are read as YAML 1.2's core schema has them (yaml.org/spec/1.2.2, section 10.3), not as YAML 1.1: `on`,
`yes` and `no` are text, and so are `12:30` and `2026-01-02`. Anchors, aliases and tags are refused, so that a
small file cannot grow into a huge one or make objects.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from math import isfinite
from pathlib import Path
from typing import Any

import yaml

from flightsim.scenario.reading.problems import Problem, ScenarioError, place
from flightsim.scenario.reading.text import UNPRINTABLE
from flightsim.scenario.reading.written import Origin, Written

SCENARIO = "a scenario file"
_SUFFIXES = (".yaml", ".yml")
MOST_BYTES = 1_000_000
MOST_DEPTH = 20
_LONGEST_NUMBER = 40  # characters
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

_NULL = re.compile(r"~|null|Null|NULL|")
_BOOL = re.compile(r"true|True|TRUE|false|False|FALSE")
_INT = re.compile(r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")

_NO_TABS = "indent with spaces, not tabs"
_HINTS = (
    (r"tab", _NO_TABS),
    (r"cannot start any token", "put the text in quotes"),
    (r"mapping values are not allowed", "one key a line; keys of one group in the same column; ': ' inside quotes"),
    (r"expected ':'", "a key, a colon, a space and the value, as in `depth: 1.4 m`"),
    (r"quoted scalar|end of stream", "close the quotes"),
    (r"',' or", "close the bracket, and put a comma between the items"),
    (r"block end|expected key|block mapping", "keys of one group start in the same column; list items with `- `"),
)


@dataclass
class Source:
    """A file's plain data.

    lines: dotted path (`canopy.0.depth`) to 1-based line; origins: dotted path to the `--set` that wrote it;
    problems: what is wrong but could be stepped over, so that all problems are told at once.
    """

    file: str
    text: str
    data: dict[str, Any]
    lines: dict[str, int] = field(default_factory=dict)
    origins: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def problem(self, key: str, found: str, allowed: str, fix: str = "") -> Problem:
        """A problem at a dotted path: at its own line, or at that of the nearest thing around it."""
        file, line = place(self.file, self.lines, self.origins, key)
        return Problem(file, line, key, found, allowed, fix)


def read_source(origin: Origin, what: str = SCENARIO) -> Source:
    """Read a scenario file, or text. Raises ScenarioError when it is no file, no UTF-8 text, or no YAML.

    what: the file is to be, for a file that is none.
    """
    if isinstance(origin, Written):
        file, text = origin.name, _checked(origin.text, origin.name)
    else:
        file, text = str(origin), _read_text(Path(origin), str(origin), what)
    source = Source(file, text, {})
    data = _Reader(file, text, source).document()
    if not isinstance(data, dict):
        raise ScenarioError(
            [Problem(file, 1, "", f"the file holds {kind_of(data)}", "keys and values", "begin with `name: My bay`")]
        )
    source.data = data
    return source


def read_value(text: str, file: str) -> Any:
    """Read a value as YAML: a scalar, or a list or group in one line. Raises ScenarioError."""
    bad = UNPRINTABLE.search(text)
    if bad:
        words = "a byte that is no UTF-8 text" if "\ud800" <= bad[0] <= "\udfff" else "an unprintable character"
        raise _fatal(file, None, f"{words}, {bad[0]!r}", "plain text", "remove it")
    source = Source(file, text, {})
    value = _Reader(file, text, source, line=None).document(empty=None)
    if source.problems:
        raise ScenarioError(source.problems)
    return value


def kind_of(value: object) -> str:
    """What a value is, in plain words."""
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a group of keys"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, bool):
        return str(value).lower()
    return repr(value) if len(repr(value)) < 60 else f"{repr(value)[:56]}..."


def _instead(path: Path, what: str) -> str:
    """A file beside one that is not there, of nearly that name; failing that, how to make a scenario of that name."""
    try:
        beside = [other.name for other in path.parent.iterdir() if other.suffix in _SUFFIXES and other.is_file()]
    except (OSError, ValueError):
        beside = []
    same = [
        name for name in sorted(beside) if Path(name).stem.casefold() in (path.stem.casefold(), path.name.casefold())
    ]
    stems = {Path(name).stem: name for name in sorted(beside)}  # a suffix that all have in common makes nothing alike
    near = same or [stems[stem] for stem in get_close_matches(path.stem, stems, 1)]
    if near:
        return str(path.with_name(near[0]))
    named = path if path.suffix in _SUFFIXES else path.with_name(f"{path.name}.yaml")
    return f"flightsim new {named}" if what == SCENARIO else ""


def _read_text(path: Path, file: str, what: str) -> str:
    try:
        if path.exists() and not path.is_file():  # a pipe would be waited for, and can be read only once
            if path.is_dir():
                raise _fatal(file, None, "this is a folder", what, "name the file in it")
            raise _fatal(file, None, "this is a pipe or a device", what, "save it as a file first")
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise _fatal(file, None, "there is no such file", what, _instead(path, what)) from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in its name
        words = getattr(error, "strerror", None) or str(error)
        raise _fatal(file, None, f"the file cannot be read: {words}", what) from None
    if len(raw) > MOST_BYTES:
        raise _fatal(file, None, "the file is too large", f"up to {MOST_BYTES:,} bytes of YAML")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise _fatal(file, line, "the file is not UTF-8 text", "UTF-8", "save it as UTF-8 in your editor") from None
    return _checked(text, file)


def _checked(text: str, file: str) -> str:
    """The text, if it is short and plain enough."""
    if len(text) > MOST_BYTES:
        raise _fatal(file, None, "the text is too long", f"up to {MOST_BYTES:,} characters of YAML")
    bad = UNPRINTABLE.search(text)
    if bad:
        line = text.count("\n", 0, bad.start()) + 1
        raise _fatal(file, line, f"an unprintable character, {bad[0]!r}", "plain text", "remove it")
    return text


def _fatal(file: str, line: int | None, found: str, allowed: str, fix: str = "") -> ScenarioError:
    return ScenarioError([Problem(file, line, "", found, allowed, fix)])


class _Reader:
    """Events to data. Depth is bounded, so plain recursion will do."""

    def __init__(self, file: str, text: str, source: Source, line: int | None = 1) -> None:
        self.file, self.text, self.source, self.line = file, text, source, line

    def document(self, empty: object = ...) -> Any:
        """The one document's data."""
        try:
            return self._document(iter(yaml.parse(self.text, Loader=_LOADER)), empty)
        except yaml.MarkedYAMLError as error:
            raise self._syntax(error) from None
        except yaml.YAMLError as error:
            raise _fatal(self.file, None, f"not YAML: {error}", "YAML") from None

    def _document(self, events: Iterator[Any], empty: object) -> Any:
        data: Any = empty
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                if data is not empty:
                    fix = "one bay a file; remove the `---` line, or put the second bay into its own file"
                    raise _fatal(self.file, self._at(event), "a second document begins", "one", fix)
                data = self._node(next(events), events, "", 0)
        if data is ... or (data is None and empty is ...):
            fix = "flightsim new FILE, which asks for a bay and writes one"
            raise _fatal(self.file, self.line, "the file is empty", "a scenario", fix)
        return data

    def _at(self, event: Any) -> int | None:
        return None if self.line is None else event.start_mark.line + 1

    def _node(self, event: Any, events: Iterator[Any], path: str, depth: int) -> Any:
        self._refuse(event, path)
        if isinstance(event, yaml.ScalarEvent):
            return self._scalar(event, path)
        if depth >= MOST_DEPTH and not isinstance(event, yaml.AliasEvent):
            raise self._too_deep(self._at(event))
        if isinstance(event, yaml.SequenceStartEvent):
            return self._list(events, path, depth)
        return self._group(events, path, depth) if isinstance(event, yaml.MappingStartEvent) else None

    def _list(self, events: Iterator[Any], path: str, depth: int) -> list[Any]:
        items: list[Any] = []
        for event in events:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            inner = f"{path}.{len(items)}"
            self._mark(inner, event)
            items.append(self._node(event, events, inner, depth + 1))
        return items

    def _group(self, events: Iterator[Any], path: str, depth: int) -> dict[str, Any]:
        group: dict[str, Any] = {}
        for event in events:
            if isinstance(event, yaml.MappingEndEvent):
                break
            key = self._key(event, events, path, depth)
            inner = f"{path}.{key}" if path else key
            twice = key in group
            if twice:
                first, second = self.source.lines.get(inner), self._at(event)
                words = f"the key is written twice, on lines {first} and {second}" if second else "written twice"
                self._add(event, inner, words, "each key once", "keep one of them")
            else:
                self._mark(inner, event)
            # what stands under the second of two equal keys must not overwrite the first's lines
            value = self._node(next(events), events, f"{inner} (again)" if twice else inner, depth + 1)
            group.setdefault(key, value)
        return group

    def _key(self, event: Any, events: Iterator[Any], path: str, depth: int) -> str:
        key = self._node(event, events, path, depth + 1)
        if isinstance(key, str) and key:
            return key
        inner = f"{path}.{key}" if path else str(key)
        self._add(event, inner, f"{kind_of(key)} stands as a key", "a word as key", "put it in quotes")
        return str(key)

    def _scalar(self, event: Any, path: str) -> Any:
        text: str = event.value
        bad = UNPRINTABLE.search(text)
        if bad:
            self._add(event, path, f"text with an unprintable character, {bad[0]!r}", "plain text", "remove it")
            return ""
        if not event.implicit[0]:
            return text
        if _NOT_FINITE.fullmatch(text) or (_FLOAT.fullmatch(text) and not isfinite(float(text))):
            self._add(event, path, f"{text[:30]} is not a finite number", "a finite number")
            return 0
        return plain(text)

    def _refuse(self, event: Any, path: str) -> None:
        if isinstance(event, yaml.AliasEvent):
            self._add(event, path, f"an alias, *{event.anchor}", "values written out", "write the value out here")
        elif getattr(event, "anchor", None):
            self._add(event, path, f"an anchor, &{event.anchor}", "values written out", "remove the anchor")
        if getattr(event, "tag", None):
            self._add(event, path, f"a tag, {event.tag}", "plain values", "remove the tag")

    def _mark(self, path: str, event: Any) -> None:
        if self.line is not None:
            self.source.lines[path] = event.start_mark.line + 1

    def _add(self, event: Any, key: str, found: str, allowed: str, fix: str = "") -> None:
        self.source.problems.append(Problem(self.file, self._at(event), key, found, allowed, fix))

    def _syntax(self, error: yaml.MarkedYAMLError) -> ScenarioError:
        rows = self.text.split("\n")
        line, since = (None if mark is None else min(mark.line + 1, len(rows))
                       for mark in (error.problem_mark or error.context_mark, error.context_mark))  # fmt: skip
        problem = error.problem or error.context or "unreadable"
        if "nesting depth" in problem:
            return self._too_deep(line)
        words = f"{problem} {error.context or ''}"
        fix = next((hint for pattern, hint in _HINTS if re.search(pattern, words)), "look here and at the line above")
        if line is not None and rows[line - 1][: len(rows[line - 1]) - len(rows[line - 1].lstrip())].count("\t"):
            fix = _NO_TABS
        if since is not None and since != line and self.line is not None:
            problem += f", for what begins on line {since}"
        return _fatal(self.file, None if self.line is None else line, f"not YAML: {problem}", "YAML", fix)

    def _too_deep(self, line: int | None) -> ScenarioError:
        return _fatal(self.file, line, "nested too deep", f"up to {MOST_DEPTH} levels")


def plain(text: str) -> Any:
    """An unquoted scalar: null, true, false, a number, or text. Numbers of silly length stay text."""
    if _NULL.fullmatch(text):
        return None
    if _BOOL.fullmatch(text):
        return text.lower() == "true"
    if len(text) > _LONGEST_NUMBER:
        return text
    if _INT.fullmatch(text):
        return int(text, 0) if text[:2] in {"0o", "0x"} else int(text)
    return float(text) if _FLOAT.fullmatch(text) else text


def join(path: Sequence[str | int]) -> str:
    """A dotted path."""
    return ".".join(str(step) for step in path)
