"""What is varied: `canopy.depth=0.4m..2.5m`, any length, angle or number of any section."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, degrees, floor
from typing import Any

from pydantic import BaseModel
from pydantic_core import PydanticCustomError

from flightsim.errors import Asked, BadInputError
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.quantities import KINDS, parse

LENGTH_STEP = 0.05  # m: what can be bought or cut
ANGLE_STEP = 1.0  # deg
NUMBER_STEPS = 20  # of a plain number's range, where no step is given
_LEAST_STEP = 1.0e-4  # m
_SLACK = 1.0e-9
_EXAMPLE = "canopy.depth=0.4m..2.5m"


@dataclass(frozen=True)
class Vary:
    """One path and its range. kind: length (m), angle (deg) or number; step: what it is rounded up to."""

    path: str
    kind: str
    lower: float
    upper: float
    step: float

    def values(self) -> tuple[float, ...]:
        """Every value in the range that can be bought or cut: the multiples of the step."""
        first, last = ceil(self.lower / self.step - _SLACK), floor(self.upper / self.step + _SLACK)
        return tuple(round(k * self.step, 9) for k in range(first, last + 1))

    def present(self, scenario: Scenario) -> float | None:
        """What a scenario has at the path now; None where it has no number there."""
        first, *steps = self.path.split(".")
        here: Any = scenario.sections.get(first, getattr(scenario, first, None))
        for step in steps:
            here = _inward(here, step)
        if isinstance(here, tuple) and len(here) == 1:
            here = here[0]
        if isinstance(here, bool) or not isinstance(here, (int, float)):
            return None
        return degrees(here) if self.kind == "angle" else float(here)

    def set(self, value: float) -> str:
        """As for --set."""
        unit = {"length": "m", "angle": "deg", "number": ""}[self.kind]
        return f"{self.path}={value:.9g}{unit}"

    def show(self, value: float, display: Display) -> str:
        """For people."""
        if self.kind == "length":
            return display.length(value)
        return f"{value:.4g} deg" if self.kind == "angle" else f"{value:.4g}"


def parse_vary(text: str, step: str | None = None) -> Vary:
    """Read `path=low..high`. Raises BadInputError that shows how to write one."""
    path, equals, span = text.partition("=")
    low, dots, high = span.partition("..")
    if not (equals and dots and path.strip() and low.strip() and high.strip()):
        raise _refuse(text, "no range can be read in it", "PATH=LOW..HIGH", _EXAMPLE)
    kind, lower, upper = _range(text, low.strip(), high.strip())
    if not lower < upper:
        raise _refuse(text, "the range is empty", "the lower end first, and less than the upper", _EXAMPLE)
    vary = Vary(path.strip(), kind, lower, upper, _step(text, kind, step, upper - lower))
    if not vary.values():
        unit = {"length": "m", "angle": "deg", "number": ""}[kind]
        found = f"no multiple of the step, {vary.step:g} {unit}, lies in the range"
        raise _refuse(text, found.replace(" ,", ","), "a range that holds one, or a smaller step", _EXAMPLE)
    return vary


def _inward(here: Any, step: str) -> Any:
    """What stands at one step of a path: an entry by its place or name, or a key; None where nothing does."""
    if isinstance(here, tuple):
        if step.isdecimal():
            return here[int(step)] if int(step) < len(here) else None
        named = [entry for entry in here if getattr(entry, "name", None) == step]
        return named[0] if named else _inward(here[0], step) if len(here) == 1 else None
    if not isinstance(here, BaseModel):
        return None
    for name, known in type(here).model_fields.items():
        if step in (name, known.alias):
            return getattr(here, name)
    return here if step == getattr(here, "name", None) else None


def _range(text: str, low: str, high: str) -> tuple[str, float, float]:
    for kind in ("length", "angle"):
        try:
            ends = [parse(KINDS[kind], end) for end in (low, high)]
        except PydanticCustomError:
            continue
        lower, upper = ends if kind == "length" else [degrees(end) for end in ends]
        return kind, lower, upper
    try:
        return "number", float(low), float(high)
    except ValueError:
        allowed = "two lengths, two angles, or two plain numbers"
        raise _refuse(text, f"'{low}' and '{high}' are not of one kind", allowed, _EXAMPLE) from None


def _step(text: str, kind: str, step: str | None, span: float) -> float:
    if kind == "number":
        return span / NUMBER_STEPS
    if kind == "angle":
        return ANGLE_STEP
    if step is None:
        return LENGTH_STEP
    try:
        size = parse(KINDS["length"], step)
    except PydanticCustomError as error:
        raise BadInputError(Asked("step", step), f": {error.message()}") from None
    if not _LEAST_STEP <= size <= span + _SLACK:
        raise BadInputError(
            Asked("step", step),
            f": does not fit the range of '{text}'\n  allowed: 0.1 mm or more, and no more than the range\n  try: ",
            Asked("step", "50mm"),
        )
    return size


def _refuse(text: str, found: str, allowed: str, fix: str) -> BadInputError:
    return BadInputError(Asked("vary", text), f": {found}\n  allowed: {allowed}\n  try: ", Asked("vary", fix))


def parse_varies(texts: Sequence[str], step: str | None) -> tuple[Vary, ...]:
    """Read all; a path may be varied once."""
    varies = tuple(parse_vary(text, step) for text in texts)
    paths = [vary.path for vary in varies]
    twice = sorted({path for path in paths if paths.count(path) > 1})
    if twice:
        raise BadInputError(Asked("vary"), f": {', '.join(twice)} is given twice\n  allowed: each path once")
    return varies
