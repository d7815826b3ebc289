"""What a field of a section says of itself, beside its type: so that the core need know no plugin's words.

Written as `depth: Annotated[Size, GuardLength(stops_more=True)] = Field(...)`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from flightsim.scenario.reading.models import Scenario

STEP = 0.05  # m: what can be bought or cut
M = TypeVar("M")


@dataclass(frozen=True)
class GuardLength:
    """A length of what stops balls, which may be built off its drawing, and changed for the better.

    stops_more: more of it stops more balls, as a rule; False: less of it does, and nought leaves it as it is. words:
    what people call it, where the key's own words will not do. step, m: what it is changed by; least, most, m: what a
    builder accepts, judgements. moves: it is hung elsewhere, and takes no more of anything. common, m: common practice
    of the trade, no source; None where there is none. how: what is said after its value: "deep", "from the end wall";
    empty where it is told by name.
    """

    stops_more: bool
    words: str = ""
    step: float = STEP
    least: float = 0.0
    most: float = float("inf")
    common: float | None = None
    how: str = ""
    moves: bool = False


@dataclass(frozen=True)
class WhoPlays:
    """A length of who plays, which an answer is looked at with: `values`, m, each told as `words` with its length."""

    values: tuple[float, ...]
    words: str


@dataclass(frozen=True)
class OneOf:
    """What may be made otherwise without a tape: how tight, how its foot is held.

    values: as a scenario file writes them, from the least to the most work; words: what people call it; bought: it is
    another thing, and not the same one tied otherwise; a_thing: it is told as what the thing is: "a panel".
    """

    values: tuple[str, ...]
    words: str = ""
    bought: bool = False
    a_thing: bool = False


@dataclass(frozen=True)
class FacingOfAThing:
    """What something in the room is made of: it may be padded."""


@dataclass(frozen=True)
class MayBeShut:
    """Whether an opening is shut."""


@dataclass(frozen=True)
class MayBeMoved:
    """Where something stands that people could move. more, less: which way more and less of it is, for people."""

    more: str
    less: str


@dataclass(frozen=True)
class Declared:
    """A field that says something of itself.

    path: its dotted path, as for `--set`; name: of the thing that it belongs to; key: its own; value: as read, in SI.
    """

    path: str
    name: str
    key: str
    value: Any
    said: Any


def declared(scenario: Scenario, kind: type[Any]) -> list[Declared]:
    """All fields of a scenario that say this of themselves, by section, then in the order of its model."""
    return [one for key in sorted(scenario.sections) for one in _of_section(scenario, key, kind)]


def declared_by_default(models: Mapping[str, type[BaseModel]], scenario: Scenario, kind: type[Any]) -> list[Declared]:
    """The fields of sections, by key, that a scenario leaves out and that go by their defaults then."""
    found: list[Declared] = []
    for key in sorted(models):
        if scenario.entries(key):
            continue
        try:
            found += _in_model(models[key](), key, key.replace("_", " "), kind)
        except ValidationError:
            continue  # nothing stands for it where it is left out
    return found


def _of_section(scenario: Scenario, key: str, kind: type[Any]) -> Iterator[Declared]:
    entries = scenario.entries(key)
    for k, entry in enumerate(entries):
        where = f"{key}.{k}" if f"{key}.{k}" in scenario.lines or len(entries) > 1 else key
        yield from _in_model(entry, where, getattr(entry, "name", key.replace("_", " ")), kind)


def _in_model(value: Any, path: str, name: str, kind: type[Any]) -> Iterator[Declared]:
    if isinstance(value, tuple):
        for k, item in enumerate(value):
            yield from _in_model(item, f"{path}.{k}", getattr(item, "name", name), kind)
    elif isinstance(value, BaseModel):
        for word, field in type(value).model_fields.items():
            inner, where = getattr(value, word), f"{path}.{word}"
            if isinstance(inner, (tuple, BaseModel)):
                yield from _in_model(inner, where, name if isinstance(inner, tuple) else one_of(word, name), kind)
                continue
            for said in field.metadata:
                if isinstance(said, kind) and inner is not None:
                    yield Declared(where, name, word, inner, said)


def one_of(which: str, things: str) -> str:
    """The left one of `side nets`: `left side net`."""
    return f"{which} {things[:-1] if things.endswith('s') and not things.endswith('ss') else things}"


def field_at(scenario: Scenario, path: str) -> FieldInfo | None:
    """The field that a dotted path of `--set` leads to, entries by place or name; None where there is none."""
    first, *steps = path.split(".")
    here: Any = scenario.sections.get(first, getattr(scenario, first, None))
    found: FieldInfo | None = None
    for step in steps:
        here, found = _step_into(here, step)
    return found


def _step_into(here: Any, step: str) -> tuple[Any, FieldInfo | None]:
    if isinstance(here, tuple):
        if step.isdecimal():
            return (here[int(step)] if int(step) < len(here) else None), None
        named = [entry for entry in here if getattr(entry, "name", None) == step]
        if named:
            return named[0], None
        return _step_into(here[0], step) if len(here) == 1 else (None, None)
    if isinstance(here, BaseModel):
        for name, known in type(here).model_fields.items():
            if step in (name, known.alias):
                return getattr(here, name), known
    return None, None
