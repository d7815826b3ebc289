"""One shot type of the `launches` section: a club and a kind of strike, with the distribution of each launch number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Field, ValidationInfo, field_validator

from flightsim.scenario.reading.models import Model
from flightsim.scenario.reading.quantities import refusal
from flightsim.shots.distributions import (
    SomeAngle,
    SomeLength,
    SomeSpeed,
    SomeSpin,
    Spread,
    ends_of,
    value_at,
)

VARIABLES = (
    "ball_speed",
    "elevation",
    "azimuth",
    "spin_rate",
    "spin_tilt",
    "tee_height",
    "forward",
    "right",
    "spin_along",
)
Variable = Literal[
    "ball_speed", "elevation", "azimuth", "spin_rate", "spin_tilt", "tee_height", "forward", "right", "spin_along"
]  # fmt: skip
Share = Annotated[float, Field(gt=0.0, le=1.0)]
_LEAST_EIGENVALUE = 1e-6  # of a correlation matrix: nearer nought, rounding decides whether it can be one


class Correlation(Model):
    """How two numbers of a shot go together: the correlation of their normal scores (a Gaussian copula)."""

    between: tuple[Variable, Variable] = Field(description="the two numbers")
    value: float = Field(gt=-1.0, lt=1.0, description="+ when they rise together; 0 is none")

    @field_validator("between", mode="before")
    @classmethod
    def _two(cls, names: Any) -> Any:
        if not isinstance(names, list | tuple):
            return names
        if len(names) != 2 or names[0] == names[1]:
            found = f"{names[0]} stands twice" if len(names) == 2 else f"a list of {len(names)}"
            raise refusal(found, "two different numbers", "[ball_speed, elevation]")
        return tuple(names)


@dataclass(frozen=True)
class Limits:
    """What a number of a shot may be, in a unit that people write; `all_of` it, or all but 2 of 1,000."""

    least: float
    most: float
    unit: str
    si: float  # of one unit
    example: str
    all_of: bool = False
    open_below: bool = False  # the least itself is not allowed

    def check(self, spread: Spread | float) -> None:
        """Raise an error for a number or a distribution that is out of range."""
        ends = ends_of(spread) if self.all_of else value_at(spread, np.array([0.001, 0.999]))
        low, high = (float(end) / self.si for end in ends)
        slack = 1e-9 * self.most  # for limits that are written in another unit
        too_low = low <= self.least if self.open_below else low < self.least - slack
        if not too_low and high <= self.most + slack:
            return
        worst = f"{low if too_low else high:,.6g} {self.unit}"
        allowed = f"{'above' if self.open_below else 'from'} {self.least:,g} up to {self.most:,g} {self.unit}"
        if not isinstance(spread, Spread):
            raise refusal(f"{worst} is out of range", allowed, self.example)
        end = "low" if too_low else "high"
        found = f"values as {end} as {worst} would be drawn"
        raise refusal(found, allowed, f"a truncated_normal or uniform with its {end} in range")


_ANGLE = Limits(-180.0, 180.0, "deg", np.pi / 180.0, "12 deg")
_PLACE = Limits(-10.0, 10.0, "m", 1.0, "100 mm")
LIMITS = {
    "ball_speed": Limits(0.0, 200.0, "m/s", 1.0, "67 m/s", all_of=True, open_below=True),
    "elevation": _ANGLE,
    "azimuth": _ANGLE,
    "spin_rate": Limits(-30_000.0, 30_000.0, "rpm", 2.0 * np.pi / 60.0, "2700 rpm"),
    "spin_tilt": _ANGLE,
    "tee_height": Limits(0.0, 500.0, "mm", 1e-3, "40 mm", all_of=True),
    "forward": _PLACE,
    "right": _PLACE,
    "spin_along": Limits(-30_000.0, 30_000.0, "rpm", 2.0 * np.pi / 60.0, "300 rpm"),
}


class Strike(Model):
    """One club and kind of strike, as a right-hander plays it: a left-hander's is its mirror."""

    club: str = Field(min_length=1, description="driver, mid iron, wedge, or a name of your own")
    strike: str = Field(min_length=1, description="clean, pulled, pushed, skied, thin, topped, toe, shank, lob, ...")
    share: Share = Field(description="part of the shots; all shares of the list add to 1")
    ball_speed: SomeSpeed = Field(description="just after the strike")
    elevation: SomeAngle = Field(description="up angle")
    azimuth: SomeAngle = Field(description="left-right angle, + right")
    spin_rate: SomeSpin = Field(description="+ backspin")
    spin_tilt: SomeAngle = Field(0.0, description="tilt of the spin axis, + curves right; default 0 deg")
    tee_height: SomeLength = Field(0.0, description="mat or turf to the ball's underside; default 0 m")
    forward: SomeLength = Field(0.0, description="ball ahead of the tee spot; default 0 m")
    right: SomeLength = Field(0.0, description="ball to the right of the tee spot; default 0 m")
    spin_along: SomeSpin = Field(
        0.0, description="spin about the path, + clockwise as seen from the tee; default 0 rpm"
    )
    correlations: tuple[Correlation, ...] = Field((), description="which of these numbers go together")
    source: str = Field("", description="where the numbers come from")

    @field_validator(*VARIABLES)
    @classmethod
    def _within_limits(cls, value: Spread | float, info: ValidationInfo) -> Spread | float:
        LIMITS[str(info.field_name)].check(value)
        return value

    @field_validator("correlations")
    @classmethod
    def _can_hold(cls, given: tuple[Correlation, ...], info: ValidationInfo) -> tuple[Correlation, ...]:
        pairs = [frozenset(correlation.between) for correlation in given]
        for correlation, pair in zip(given, pairs, strict=True):
            words = " and ".join(correlation.between)
            if pairs.count(pair) > 1:
                raise refusal(f"the correlation between {words} is given twice", "each pair once", "keep one of them")
            # A number that is not in info.data has an error of its own, told beside this one.
            fixed = [
                each for each in correlation.between if each in info.data and not isinstance(info.data[each], Spread)
            ]
            if fixed:
                found = f"{fixed[0]} is one fixed number: nothing goes together with it"
                raise refusal(found, "numbers that have a distribution", f"a distribution of {fixed[0]}")
        least = float(np.linalg.eigvalsh(_matrix(given))[0])
        if least < _LEAST_EIGENVALUE:
            part = np.floor(100.0 * (1.0 - _LEAST_EIGENVALUE) / (1.0 - least)) / 100.0
            allowed = "correlations that can all be true at once"
            raise refusal("these correlations cannot hold together", allowed, f"each of them times {part:g}")
        return given

    @property
    def mixing(self) -> np.ndarray:
        """Lower-triangular factor `(9, 9)` of the correlation matrix of the variables' normal scores."""
        return _factor(self.correlations)


@lru_cache(maxsize=256)  # not kept in the model: two models are compared by all that they hold
def _factor(correlations: tuple[Correlation, ...]) -> np.ndarray:
    return np.linalg.cholesky(_matrix(correlations))


def _matrix(correlations: Sequence[Correlation]) -> np.ndarray:
    """Correlation matrix `(9, 9)` of the variables' normal scores."""
    matrix = np.eye(len(VARIABLES))
    for correlation in correlations:
        i, j = (VARIABLES.index(name) for name in correlation.between)
        matrix[i, j] = matrix[j, i] = correlation.value
    return matrix


def strike_label(strike: Strike) -> str:
    """A shot type's name: its club and kind of strike, once where they are the same."""
    return strike.club if strike.club == strike.strike else f"{strike.club} {strike.strike}"
