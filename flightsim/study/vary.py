"""What is varied: `canopy.depth=0.4m..2.5m`, any length, angle or number of any section."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, degrees, floor

from pydantic_core import PydanticCustomError

from flightsim.errors import BadInputError
from flightsim.scenario.display import Display
from flightsim.scenario.quantities import KINDS, parse

LENGTH_STEP = 0.05  # m: what can be bought or cut
ANGLE_STEP = 1.0  # deg
NUMBER_STEPS = 20  # of a plain number's range, where no step is given
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
        return tuple(k * self.step for k in range(first, last + 1))

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
    return Vary(path.strip(), kind, lower, upper, _step(text, kind, step, upper - lower))


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
        raise BadInputError(f"--step {step}: {error.message()}") from None
    if not 1.0e-4 <= size <= span:
        raise _refuse(text, f"a step of {step} does not fit the range", "more than 0.1 mm, less than the range", "50mm")
    return size


def _refuse(text: str, found: str, allowed: str, fix: str) -> BadInputError:
    return BadInputError(f"--vary '{text}': {found}\n  allowed: {allowed}\n  try: --vary {fix}")


def parse_varies(texts: Sequence[str], step: str | None) -> tuple[Vary, ...]:
    """Read all; a path may be varied once."""
    varies = tuple(parse_vary(text, step) for text in texts)
    paths = [vary.path for vary in varies]
    twice = sorted({path for path in paths if paths.count(path) > 1})
    if twice:
        raise BadInputError(f"--vary: {', '.join(twice)} is given twice\n  allowed: each path once")
    return varies
