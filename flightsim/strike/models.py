"""The `launches` section: shot types with their distributions, or a plain grid."""

from __future__ import annotations

from math import fsum
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self, Union

import numpy as np
from pydantic import Field, create_model, model_validator

from flightsim.scenario.models import Model, Section
from flightsim.scenario.quantities import Distance, quantity
from flightsim.strike.distributions import SomeAngle, SomeLength, SomeSpeed, SomeSpin, ends_of

VARIABLES = (
    "ball_speed",
    "elevation",
    "azimuth",
    "spin_rate",
    "spin_tilt",
    "tee_height",
    "forward",
    "right",
)
Variable = Literal["ball_speed", "elevation", "azimuth", "spin_rate", "spin_tilt", "tee_height", "forward", "right"]
Share = Annotated[float, Field(gt=0.0, le=1.0)]
_MOST_GRID_SHOTS = 5_000_000


class Correlation(Model):
    """How two numbers of a shot go together: the correlation of their normal scores (a Gaussian copula)."""

    between: tuple[Variable, Variable] = Field(description="the two numbers")
    value: float = Field(gt=-1.0, lt=1.0, description="+ when they rise together; 0 is none")

    @model_validator(mode="after")
    def _two(self) -> Self:
        if self.between[0] == self.between[1]:
            raise ValueError("a correlation is between two different numbers")
        return self


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
    correlations: tuple[Correlation, ...] = Field((), description="which of these numbers go together")
    source: str = Field("", description="where the numbers come from")

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if not ends_of(self.ball_speed)[0] > 0.0:
            raise ValueError("ball_speed could be drawn at or below nought: use truncated_normal with a low above it")
        if ends_of(self.tee_height)[0] < 0.0:
            raise ValueError("tee_height could be drawn below nought: use truncated_normal with low: 0 mm")
        self.normal_scores()
        return self

    def normal_scores(self) -> np.ndarray:
        """Lower-triangular factor `(8, 8)` of the correlation matrix of the variables' normal scores."""
        matrix = np.eye(len(VARIABLES))
        for correlation in self.correlations:
            i, j = (VARIABLES.index(name) for name in correlation.between)
            if matrix[i, j] != 0.0:
                raise ValueError(f"the correlation between {' and '.join(correlation.between)} is given twice")
            matrix[i, j] = matrix[j, i] = correlation.value
        try:
            return np.linalg.cholesky(matrix)
        except np.linalg.LinAlgError:
            raise ValueError("these correlations cannot hold together: make them smaller") from None


def _axis(kind: str, **limits: float) -> Any:
    """The annotation of a grid axis: one value, a list of values, or from, to and steps."""
    value = quantity(kind, **limits)
    name = f"Grid{''.join(part.capitalize() for part in kind.split())}{'Above' if limits else ''}"
    steps = create_model(
        name,
        __base__=GridSteps,
        __module__=__name__,
        __doc__="Evenly spread values, both ends included.",
        start=(Annotated[value, Field(alias="from")], ...),
        end=(Annotated[value, Field(alias="to")], ...),
    )
    globals()[name] = steps  # so that a worker process finds it again
    return Union[value, Annotated[tuple[value, ...], Field(min_length=1)], steps]  # noqa: UP007


class GridSteps(Model):
    """Evenly spread values from one end to the other."""

    start: Any
    end: Any
    steps: int = Field(ge=2, le=100_000, description="how many values, both ends included")


if TYPE_CHECKING:
    SpeedAxis = AngleAxis = SpinAxis = GridSteps | tuple[float, ...] | float
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
            raise ValueError(f"the grid has {self.size:,} shots; at most {_MOST_GRID_SHOTS:,} are flown: use fewer steps")
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


class Launches(Model):
    """The shots: shipped types by club (`use`), types of your own (`types`), both, or a `grid`."""

    hand: Literal["right", "left"] = Field("right", description="a left-hander's shots are the mirror of a right-hander's")
    use: tuple[str, ...] | dict[str, Share] | None = Field(
        None, description="clubs whose shot types are shipped: driver, mid_iron, wedge; or each with its share"
    )
    types: tuple[Strike, ...] = Field((), description="shot types of your own")
    grid: Grid | None = None

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        if self.grid is not None and (self.use or self.types):
            raise ValueError("give a grid, or shot types (use, types), not both")
        if self.grid is None and not self.use and not self.types:
            raise ValueError("no shots: give use: [driver, mid_iron, wedge], types, or a grid")
        self._check_use()
        pairs = self._pairs()
        twice = [pair for k, pair in enumerate(pairs) if pair in pairs[:k]]
        if twice:
            raise ValueError(f"{' '.join(twice[0])} is there twice: give the kinds of strike different names")
        own = fsum(strike.share for strike in self.types)
        used = fsum(self.use.values()) if isinstance(self.use, dict) else 0.0
        if isinstance(self.use, tuple) and self.types:
            raise ValueError("beside types of your own, use needs shares: use: {driver: 0.4, wedge: 0.2}")
        if (self.types or isinstance(self.use, dict)) and abs(own + used - 1.0) > 1e-9:
            raise ValueError(f"the shares add to {own + used:.12g}; they must add to 1")
        return self

    def _pairs(self) -> list[tuple[str, str]]:
        from flightsim.strike.shot_types import shipped_strikes

        used = [(strike.club, strike.strike) for club in self.use or () for strike in shipped_strikes(club)]
        return used + [(strike.club, strike.strike) for strike in self.types]

    def _check_use(self) -> None:
        from flightsim.strike.shot_types import shipped_clubs

        known = shipped_clubs()
        names = list(self.use or ())
        for name in names:
            if name not in known:
                raise ValueError(f"no shot types are shipped for {name!r}; there are {', '.join(known)}")
        if len(set(names)) < len(names):
            raise ValueError("use names a club twice")


LAUNCHES_SECTION = Section("launches", Launches, "Shots", owner="strike", order=900)
