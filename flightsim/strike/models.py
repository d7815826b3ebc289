"""The `launches` section: shot types with their distributions, or a plain grid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from math import fsum
from types import GenericAlias
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self, TypeAlias, Union

import numpy as np
from pydantic import Field, ValidationInfo, WithJsonSchema, create_model, field_validator, model_validator

from flightsim.scenario.models import Model, Section
from flightsim.scenario.quantities import Distance, quantity, refusal
from flightsim.strike.distributions import (
    SomeAngle,
    SomeLength,
    SomeSpeed,
    SomeSpin,
    Spread,
    ends_of,
    refused_at,
    value_at,
)
from flightsim.strike.shot_types import CLUBS, shipped_strikes

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
ShippedClub = Annotated[str, WithJsonSchema({"type": "string", "enum": list(CLUBS)})]  # editors complete it
_MOST_GRID_SHOTS = 5_000_000
_LEAST_EIGENVALUE = 1e-6  # of a correlation matrix: nearer nought, rounding decides whether it can be one
_SHARES_TOLERANCE = 1e-9


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


def _axis(kind: str, **limits: float) -> Any:
    """The annotation of a grid axis: one value, a list of values, or from, to and steps."""
    value = quantity(kind, **limits)
    name = f"Grid{''.join(part.capitalize() for part in kind.split())}{'Above' if limits else ''}"
    ends: dict[str, Any] = {
        "start": (Annotated[value, Field(alias="from", description="the first value")], ...),
        "end": (Annotated[value, Field(alias="to", description="the last value")], ...),
    }
    doc = "Evenly spread values, both ends included."
    steps = create_model(name, __base__=GridSteps, __module__=__name__, __doc__=doc, **ends)
    globals()[name] = steps  # so that a worker process finds it again
    several: Any = GenericAlias(tuple, (value, ...))
    return Union[value, Annotated[several, Field(min_length=1)], steps]  # noqa: UP007


class GridSteps(Model):
    """Evenly spread values from one end to the other."""

    start: Any
    end: Any
    steps: int = Field(ge=2, le=100_000, description="how many values, both ends included")

    @model_validator(mode="after")
    def _apart(self) -> Self:
        if self.start == self.end:
            fix = "one value in place of the group"
            raise refused_at(("to",), refusal("the same as from", "two different ends", fix))
        return self


if TYPE_CHECKING:
    SpeedAxis: TypeAlias = GridSteps | tuple[float, ...] | float
    AngleAxis: TypeAlias = GridSteps | tuple[float, ...] | float
    SpinAxis: TypeAlias = GridSteps | tuple[float, ...] | float
else:
    SpeedAxis = _axis("speed", above=0.0, most=200.0)
    AngleAxis = _axis("angle")
    SpinAxis = _axis("spin rate")


class Grid(Model):
    """Every combination of these values, each one shot. It covers launches; it says nothing of how often they come."""

    ball_speed: SpeedAxis = Field(description="just after the strike")
    elevation: AngleAxis = Field(description="up angle")
    azimuth: AngleAxis = Field(description="left-right angle, + right")
    spin_rate: SpinAxis = Field(description="+ backspin")
    spin_tilt: AngleAxis = Field(0.0, description="tilt of the spin axis, + curves right; default 0 deg")
    tee_height: Distance = Field(0.0, description="mat or turf to the ball's underside; default 0 m")

    @model_validator(mode="after")
    def _not_too_many(self) -> Self:
        if self.size > _MOST_GRID_SHOTS:
            most = f"at most {_MOST_GRID_SHOTS:,} shots from one tee spot"
            raise refusal(f"the grid has {self.size:,} shots", most, "fewer steps")
        return self

    @property
    def size(self) -> int:
        """Number of shots from one tee spot."""
        return int(np.prod([_length(getattr(self, name)) for name in VARIABLES[:5]], dtype=np.float64))

    def axes(self) -> list[np.ndarray]:
        """Values of the first five variables, SI."""
        return [_values(getattr(self, name)) for name in VARIABLES[:5]]


def _length(axis: GridSteps | tuple[float, ...] | float) -> int:
    return axis.steps if isinstance(axis, GridSteps) else len(axis) if isinstance(axis, tuple) else 1


def _values(axis: GridSteps | tuple[float, ...] | float) -> np.ndarray:
    if isinstance(axis, GridSteps):
        return np.linspace(axis.start, axis.end, axis.steps)
    return np.atleast_1d(np.asarray(axis, dtype=np.float64))


def _used(value: Any) -> Any:
    """Refuse a club without shipped types, or one that stands twice."""
    for k, club in enumerate(names := list(value)):
        if club not in CLUBS:
            near = get_close_matches(club.lower().replace(" ", "_"), CLUBS, 1)
            fix = near[0] if near else "one of these, or shot types of your own under `types`"
            raise refusal(f"no shot types are shipped for '{club}'", ", ".join(CLUBS), fix)
        if club in names[:k]:
            raise refusal(f"'{club}' stands twice", "each club once", "{driver: 0.6, wedge: 0.4}, to give one more")
    return value


class Launches(Model):
    """The shots: shipped types by club (`use`), types of your own (`types`), both, or a `grid`."""

    hand: Literal["right", "left"] = Field(
        "right", description="a left-hander's shots are the mirror of a right-hander's; a grid stays as it is written"
    )
    use: tuple[ShippedClub, ...] | dict[ShippedClub, Share] | None = Field(
        None, description="clubs whose shot types are shipped; or each with its share, all adding to 1"
    )
    types: tuple[Strike, ...] = Field((), description="shot types of your own")
    grid: Grid | None = None

    _known = field_validator("use")(_used)

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        kinds = "use, types, or both; or a grid"
        if self.grid is not None and (self.use or self.types):
            raise refusal("both a grid and shot types are given", kinds, "remove the grid, or use and types")
        if self.grid is None and not self.use and not self.types:
            raise refusal("no shots", kinds, "use: [driver, mid_iron, wedge]")
        self._check_labels()
        self._check_shares()
        return self

    def _check_labels(self) -> None:
        labels = [strike_label(strike) for club in self.use or () for strike in shipped_strikes(club)]
        for k, strike in enumerate(self.types):
            label = strike_label(strike)
            if label in labels:
                error = refusal(f"the shot type '{label}' is there twice", "names that differ", f"{strike.strike} 2")
                raise refused_at(("types", k, "strike"), error)
            labels.append(label)

    def _check_shares(self) -> None:
        if not self.types and not isinstance(self.use, dict):
            return
        if self.types and isinstance(self.use, tuple) and self.use:
            own = fsum(strike.share for strike in self.types)
            each = f"{max(1.0 - own, 0.0) / len(self.use):.4g}"
            fix = f"{{{', '.join(f'{club}: {each}' for club in self.use)}}}"
            raise refused_at(
                ("use",), refusal("clubs without shares, beside types of your own", "a share for each", fix)
            )
        names = {**(self.use if isinstance(self.use, dict) else {})}
        names |= {strike_label(strike): strike.share for strike in self.types}
        total = fsum(names.values())
        if abs(total - 1.0) > _SHARES_TOLERANCE:
            fix = ", ".join(f"{name}: {share / total:.12g}" for name, share in names.items())
            where = "types" if self.types else "use"
            both = "the shares of use and types" if self.types and self.use else "the shares"
            raise refused_at((where,), refusal(f"{both} add to {total:.12g}", "shares that add to 1", fix))


def strike_label(strike: Strike) -> str:
    """A shot type's name: its club and kind of strike, once where they are the same."""
    return strike.club if strike.club == strike.strike else f"{strike.club} {strike.strike}"


LAUNCHES_SECTION = Section("launches", Launches, "Shots", owner="strike", order=900)
