"""The sizes of all guards in a scenario, as paths that --set takes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from flightsim.bay.parts import Role
from flightsim.scenario.reading.models import Scenario
from flightsim.study.run.open_bay import OpenBay

# More of these stops more balls, as a rule; what a change does is always flown.
WIDER = {"depth", "height", "width", "length", "drop", "side_overhang", "front_lip", "bottom_flap", "gap_behind"}
CLOSER = {"left_gap", "right_gap", "above_floor", "offset", "gap"}  # and less of these


@dataclass(frozen=True)
class GuardSize:
    """One size: its dotted path, what people call it, its value in m, and whether more of it stops more, as a rule."""

    path: str
    words: str
    value: float
    wider: bool


def guard_sizes(opened: OpenBay) -> list[GuardSize]:
    """Every size of every section that gives guards; the room's own are as they are."""
    owners = {part.owner for part in opened.bay.parts if part.role is Role.GUARD}
    sections = {opened.plugins.section_of[name].key for name in owners if name in opened.plugins.section_of}
    scenario = opened.scenario
    return [size for key in sorted(sections - {"room"}) for size in _of_section(scenario, key)]


def _of_section(scenario: Scenario, key: str) -> Iterator[GuardSize]:
    for k, entry in enumerate(scenario.entries(key)):
        at = f"{key}.{k}" if f"{key}.{k}" in scenario.lines or k else key
        yield from _in_model(entry, at, getattr(entry, "name", key.replace("_", " ")))


def _in_model(value: Any, path: str, name: str) -> Iterator[GuardSize]:
    if isinstance(value, tuple):
        for k, item in enumerate(value):
            yield from _in_model(item, f"{path}.{k}", getattr(item, "name", name))
    elif isinstance(value, BaseModel):
        for word in type(value).model_fields:
            inner, at = getattr(value, word), f"{path}.{word}"
            if isinstance(inner, (tuple, BaseModel)):
                yield from _in_model(inner, at, name if isinstance(inner, tuple) else f"{word} {name}")
            elif isinstance(inner, float) and (word in WIDER or (word in CLOSER and inner > 0.0)):
                yield GuardSize(at, f"{name}: {word.replace('_', ' ')}", inner, word in WIDER)
