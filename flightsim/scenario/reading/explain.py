"""pydantic's errors in plain words, with file, line, key, what is allowed and a way out."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from flightsim.scenario.reading.known import Step, example_of, fields_of, models_at, nearest
from flightsim.scenario.reading.problems import Problem
from flightsim.scenario.reading.source import Source, join, kind_of

Details = Mapping[str, Any]
_NEEDS_KEY = {"missing", "extra_forbidden", "union_tag_not_found"}
# errors of a value that had the right shape: a group where a group was due, a list where a list was
_FROM_INSIDE = {
    "missing", "extra_forbidden", "union_tag_not_found", "union_tag_invalid", "value_error", "assertion_error",
    "too_short", "too_long",
}  # fmt: skip
_WRONG_SHAPE = 1000
UNKNOWN_KEY = "unknown key"


def explain(error: ValidationError, model: Any, data: Any, entry: str, source: Source) -> list[Problem]:
    """Problems of one section or entry. entry: its dotted path; data: as it went in."""
    problems: dict[str, Problem] = {}
    for item in _fitting(error.errors(include_url=False), data):
        problem = _explain_one(item, model, data, entry, source)
        before = problems.get(problem.key)
        problems[problem.key] = problem if before is None else _either(before, problem)
    return list(problems.values())


def _either(one: Problem, other: Problem) -> Problem:
    """One problem of two at the same key: a value that may be this or that."""
    words = [word for word in dict.fromkeys((one.allowed, other.allowed)) if word]
    return Problem(one.file, one.line, one.key, one.found, "; or ".join(words), one.fix or other.fix)


def _split(loc: Sequence[Step], data: Any) -> tuple[list[Step], list[tuple[int, str]]]:
    """A location as steps through the data, and the steps that only name a union's member, with their depths."""
    steps: list[Step] = []
    members: list[tuple[int, str]] = []
    for step in loc:
        inside = isinstance(data, dict) and step in data
        inside = inside or (isinstance(data, list) and isinstance(step, int) and step < len(data))
        if inside:
            data = data[step]
            steps.append(step)
        else:
            members.append((len(steps), str(step)))
    return steps, members


def _fitting(items: Sequence[Any], data: Any) -> list[Any]:
    """The errors of a union's member that fits best: without a tag, pydantic tells those of every member."""
    left, level = list(items), 0
    while any(len(_unions(item, data)) > level for item in left):
        left, level = _fitting_at(left, data, level), level + 1
    return left


def _unions(item: Any, data: Any) -> list[tuple[int, str]]:
    """The unions around an error, from the outside in: the depth of each, and the member that the error is of."""
    loc = item["loc"][:-1] if item["type"] == "missing" else item["loc"]
    _, members = _split(loc, data)
    return [(depth, name) for k, (depth, name) in enumerate(members) if depth not in [d for d, _ in members[:k]]]


def _fitting_at(items: Sequence[Any], data: Any, level: int) -> list[Any]:
    """The errors that fit best at one level of unions within unions."""
    count: Counter[tuple[tuple[Step, ...], str]] = Counter()
    where: list[tuple[Any, tuple[Step, ...], str]] = []
    for item in items:
        loc = item["loc"][:-1] if item["type"] == "missing" else item["loc"]
        steps, _ = _split(loc, data)
        unions = _unions(item, data)
        depth, member = unions[level] if len(unions) > level else (len(steps), "")
        prefix = tuple(steps[:depth])
        where.append((item, prefix, member if isinstance(_value(data, prefix), (dict, list)) else ""))
        whole = depth == len(steps) and item["type"] not in _FROM_INSIDE
        count[prefix, where[-1][2]] += _WRONG_SHAPE if whole else 1
    best: dict[tuple[Step, ...], tuple[int, str]] = {}
    for (prefix, member), errors in count.items():
        if member:
            best[prefix] = min(best.get(prefix, (errors, member)), (errors, member))
    return [item for item, prefix, member in where
            if not member or best[prefix][1] == member or best[prefix][0] >= _WRONG_SHAPE]  # fmt: skip


def _value(data: Any, steps: Sequence[Step]) -> Any:
    for step in steps:
        data = data[step]
    return data


def _explain_one(item: Details, model: Any, data: Any, entry: str, source: Source) -> Problem:
    loc = item["loc"]
    steps, _ = _split(loc, data)
    kind, context = item["type"], item.get("ctx", {})
    if kind in _NEEDS_KEY or kind == "union_tag_invalid":
        around, key = (loc, context["discriminator"].strip("'")) if kind.startswith("union") else (loc[:-1], loc[-1])
        steps, _ = _split(around, data)
        path = join([*([entry] if entry else []), *steps, key])
        return source.problem(path, *_about_key(kind, str(key), models_at(model, around), context))
    path = join([*([entry] if entry else []), *steps])
    return source.problem(path, *about_value(kind, item["input"], context, item["msg"]))


def _about_key(kind: str, key: str, models: Any, context: Details) -> tuple[str, str, str]:
    """A key that is missing, unknown, or says which member of a union is meant."""
    fields = fields_of(models)
    if kind == "extra_forbidden":
        return unknown_key(key, fields)
    if kind == "missing":
        info = fields.get(key)
        example = example_of(info) if info else ""
        what = (info.description if info else None) or "this key is required"
        return "missing", what, f"{key}: {example}" if example else f"add {key}:"
    choices = re.findall(r"'([^']*)'", context.get("expected_tags", "")) or [
        str(tag) for model in models for tag in _literals(model, key)
    ]
    if kind == "union_tag_not_found":
        return "missing", ", ".join(choices), f"{key}: {choices[0]}" if choices else ""
    return not_a_choice(context["tag"], choices)


def _literals(model: Any, key: str) -> Sequence[Any]:
    info = fields_of([model]).get(key)
    return getattr(info.annotation, "__args__", ()) if info else ()


def unknown_key(key: str, known: Sequence[str] | Mapping[str, Any]) -> tuple[str, str, str]:
    """Found, allowed and fix for a key that nobody knows."""
    names = list(known)
    close = nearest(key, names)
    return UNKNOWN_KEY, ", ".join(names), f"{close}:" if close else "remove it"


def not_a_choice(value: object, choices: Sequence[str]) -> tuple[str, str, str]:
    """Found, allowed and fix for a word that is not among the choices."""
    close = nearest(str(value), choices)
    return f"{kind_of(value)} is not known here", ", ".join(choices), close or ""


_YES = {"yes": "true", "on": "true", "y": "true", "no": "false", "off": "false", "n": "false"}
_LIMITS = {
    "greater_than": ("gt", "more than"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "less than"),
    "less_than_equal": ("le", "at most"),
}
_COUNTS = {
    "too_short": ("min_length", "at least", "items"),
    "too_long": ("max_length", "at most", "items"),
    "string_too_short": ("min_length", "at least", "characters"),
    "string_too_long": ("max_length", "at most", "characters"),
}


def about_value(kind: str, value: Any, context: Details, message: str) -> tuple[str, str, str]:
    """Found, allowed and fix for a value."""
    shown = kind_of(value)
    if {"found", "allowed"} <= context.keys():
        return context["found"], context["allowed"], context.get("fix", "")
    if kind in {"literal_error", "enum"}:
        return not_a_choice(value, re.findall(r"'([^']*)'", context["expected"]) or [context["expected"]])
    if kind in _LIMITS:
        name, words = _LIMITS[kind]
        return f"{shown} is out of range", f"{words} {context[name]:g}", ""
    if kind in _COUNTS:
        name, words, what = _COUNTS[kind]
        return f"{shown} is too {kind.rpartition('_')[2]}", f"{words} {context[name]} {what}", ""
    if kind in {"value_error", "assertion_error"}:
        return str(context.get("error", message)), "", ""
    return _about_type(kind, value, shown, message)


def _about_type(kind: str, value: Any, shown: str, message: str) -> tuple[str, str, str]:
    if kind.startswith("string"):
        return f"{shown} is not text", "text", f"'{value}', in quotes" if isinstance(value, (int, float)) else ""
    if kind.startswith("bool"):
        return f"{shown} is neither true nor false", "true, false", _YES.get(str(value).lower(), "")
    if kind.startswith(("int", "float", "finite")):
        words = "a whole number" if kind.startswith("int") else "a number"
        return f"{shown} is not {words}", f"{words}, without a unit", ""
    if kind.startswith(("model", "dict", "dataclass")):
        fix = "a space after the colon" if isinstance(value, str) and ":" in value else "its keys, indented below"
        if str(value).lower() == "none":
            fix = "leave the key out, or write null for none"
        return f"{shown} stands where keys are due", "a group of keys", fix
    if kind.startswith(("list", "tuple", "set")):
        return f"{shown} is not a list", "a list", f"[{value}]" if isinstance(value, (str, int, float)) else ""
    return f"{shown}: {message[:1].lower()}{message[1:]}", "", ""
