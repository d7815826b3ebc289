"""Distributions of launch numbers, as models of the scenario file and as inverse distribution functions.

Every draw goes through the inverse of its distribution function at one uniform number, so that all shots use the same
count of random numbers, whatever their type, and a larger uniform never gives a smaller value.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from functools import cache, lru_cache
from math import fsum
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self, TypeAlias, Union

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, ValidationError, create_model, model_validator
from pydantic_core import PydanticCustomError

from flightsim.scenario.reading.models import Model
from flightsim.scenario.reading.quantities import quantity, refusal

Array = NDArray[np.float64]
FIRST, LAST = 2.0**-53, 1.0 - 2.0**-53  # the least and largest uniform that a stream gives
_FARTHEST = 8.0  # standard deviations from a mean to the nearest end of what is left of its distribution


class Spread(Model, ABC):
    """Base of all distributions. Numbers are SI inside; the file gives them with units."""

    @abstractmethod
    def inverse(self, u: Array) -> Array:
        """The value below which a share u of all values lies. u `(n,)`, strictly between 0 and 1."""

    @abstractmethod
    def below(self, value: Array) -> Array:
        """The distribution function: the share of all values at or below these `(n,)`."""

    @property
    def ends(self) -> tuple[float, float]:
        """The least and largest value that a run can draw."""
        low, high = self.inverse(np.array([FIRST, LAST]))
        return float(low), float(high)


class Normal(Spread):
    """Gauss's distribution."""

    kind: Literal["normal"]
    mean: Any
    sd: Any

    def inverse(self, u: Array) -> Array:
        """mean + sd z, z the normal score of u."""
        from scipy.special import ndtri

        return np.asarray(self.mean + self.sd * ndtri(u))

    def below(self, value: Array) -> Array:
        """The normal distribution function."""
        from scipy.special import ndtr

        return np.asarray(ndtr((value - self.mean) / self.sd))


class TruncatedNormal(Spread):
    """Gauss's distribution, cut off at low and high."""

    kind: Literal["truncated_normal"]
    mean: Any
    sd: Any
    low: Any
    high: Any

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        _check_low_high(self.low, self.high)
        if not self.low - _FARTHEST * self.sd <= self.mean <= self.high + _FARTHEST * self.sd:
            found = f"more than {_FARTHEST:g} sd outside low to high: nothing is left of the distribution"
            fix = "a mean between low and high, or {kind: uniform, low: ..., high: ...}"
            raise refused_at(("mean",), refusal(found, "a mean in or near low to high", fix))
        return self

    def _cut(self) -> tuple[float, float, float, float, float]:
        """Standard scores of both ends, the probability below and above them, and what is left between."""
        from scipy.special import ndtr

        a, b = (self.low - self.mean) / self.sd, (self.high - self.mean) / self.sd
        below, above = float(ndtr(a)), float(ndtr(-b))
        # A difference of two small numbers keeps its digits, one of two numbers near 1 does not.
        left = float(ndtr(-a)) - above if a > 0.0 else float(ndtr(b)) - below
        return a, b, below, above, left

    def inverse(self, u: Array) -> Array:
        """The normal score, within the probability that the cut leaves."""
        from scipy.special import ndtri

        a, b, below, above, left = self._cut()
        from_below = (u < 0.5) if a <= 0.0 <= b else np.full(np.shape(u), b < 0.0)
        z = ndtri(np.where(from_below, below + u * left, above + (1.0 - u) * left))
        return np.asarray(np.clip(self.mean + self.sd * np.where(from_below, z, -z), self.low, self.high))

    def below(self, value: Array) -> Array:
        """What lies between low and the value, of all that the cut leaves."""
        from scipy.special import ndtr

        a, _, below, above, left = self._cut()
        z = (value - self.mean) / self.sd
        share = 1.0 - (ndtr(-z) - above) / left if a > 0.0 else (ndtr(z) - below) / left
        return np.asarray(np.clip(share, 0.0, 1.0))


class Uniform(Spread):
    """Every value from low to high alike."""

    kind: Literal["uniform"]
    low: Any
    high: Any

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        _check_low_high(self.low, self.high)
        return self

    def inverse(self, u: Array) -> Array:
        """low + u (high - low)."""
        return np.asarray(self.low + u * (self.high - self.low))

    def below(self, value: Array) -> Array:
        """The part of low..high."""
        return np.asarray(np.clip((value - self.low) / (self.high - self.low), 0.0, 1.0))


class Triangular(Spread):
    """From low to high, most often at mode."""

    kind: Literal["triangular"]
    low: Any
    mode: Any
    high: Any

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        _check_low_high(self.low, self.high)
        if not self.low <= self.mode <= self.high:
            raise refused_at(
                ("mode",), refusal("not between low and high", "low <= mode <= high", "a mode between them")
            )
        return self

    def inverse(self, u: Array) -> Array:
        """A square root from low, or from high."""
        width, rise = self.high - self.low, self.mode - self.low
        up = self.low + np.sqrt(u * width * rise)
        down = self.high - np.sqrt((1.0 - u) * width * (width - rise))
        return np.asarray(np.where(u * width < rise, up, down))

    def below(self, value: Array) -> Array:
        """A parabola on either side of the mode."""
        width, rise = self.high - self.low, self.mode - self.low
        inside = np.clip(value, self.low, self.high)
        with np.errstate(over="ignore"):  # above a mode that all but is the low end it is not asked for
            up = (inside - self.low) ** 2 / (width * rise) if rise > 0.0 else np.zeros_like(inside)
        down = 1.0 - (self.high - inside) ** 2 / (width * (width - rise)) if rise < width else np.ones_like(inside)
        return np.where(inside < self.mode, up, down)


class Mixture(Spread):
    """One of several distributions, each with its weight."""

    kind: Literal["mixture"]
    components: Any

    @model_validator(mode="after")
    def _weights(self) -> Self:
        weights = [component.weight for component in self.components]
        total = fsum(weights)
        if not weights:
            example = "components: [{weight: 0.3, of: ...}, {weight: 0.7, of: ...}]"
            raise refused_at(
                ("components",), refusal("an empty list", "the distributions, each with its weight", example)
            )
        if abs(total - 1.0) > 1e-9:
            fix = "weights " + ", ".join(f"{weight / total:.6g}" for weight in weights)
            raise refused_at(("components",), refusal(f"the weights add to {total:.12g}", "weights that add to 1", fix))
        return self

    def inverse(self, u: Array) -> Array:
        """From a table of the distribution function, which is off by less than 2e-4 of a standard deviation.

        A mixture's inverse has no closed form. Choosing a component by the uniform would give the same values in
        another order, and then what correlations say of a mixture would not hold.
        """
        values, shares = _table(self)
        return np.interp(u, shares, values)

    def below(self, value: Array) -> Array:
        """The weighted sum of the components'."""
        total = np.zeros(np.shape(value))
        for component in self.components:
            of = component.of
            total += component.weight * (of.below(value) if isinstance(of, Spread) else value >= of)
        return total


def value_at(spread: Spread | float, u: Array) -> Array:
    """Values `(n,)` at uniforms u `(n,)`: of a distribution, or the one value that is given."""
    return spread.inverse(u) if isinstance(spread, Spread) else np.full(np.shape(u), float(spread))


def ends_of(spread: Spread | float) -> tuple[float, float]:
    """The least and largest value that a run can draw."""
    return spread.ends if isinstance(spread, Spread) else (float(spread), float(spread))


@lru_cache(maxsize=256)  # not kept in the model: two models are compared by all that they hold
def _table(mixture: Mixture) -> tuple[Array, Array]:
    """Values that lie close, and the share of all values at or below each."""
    values = np.unique(np.concatenate([_close_values(component.of) for component in mixture.components]))
    return values, np.maximum.accumulate(mixture.below(values))


@cache
def _close_uniforms() -> Array:
    """Uniforms from FIRST to LAST, closer where a tail asks for it: each 4.4 % from the next, or 1/2048."""
    tail = 2.0 ** (-np.arange(16, 53 * 16 + 1) / 16.0)
    return np.unique(np.concatenate([tail, np.arange(1, 2048) / 2048.0, 1.0 - tail]))


def _close_values(spread: Spread | float) -> Array:
    if isinstance(spread, Spread):
        return spread.inverse(_close_uniforms())
    return np.array([np.nextafter(spread, -np.inf), spread])  # a step of the distribution function


def _check_low_high(low: float, high: float) -> None:
    if not low < high:
        fix = "low and high the other way round" if high < low else "one number in place of the group"
        raise refused_at(("low",), refusal("not less than high", "low < high", fix))


def refused_at(place: tuple[str | int, ...], error: PydanticCustomError) -> ValidationError:
    """An error at a key below the model that raises it."""
    return ValidationError.from_exception_data("launches", [{"type": error, "loc": place, "input": None}])


def _distribution(kind: str) -> Any:
    """The annotation of a field that holds a quantity of this kind, or a distribution of it."""
    value, spread = quantity(kind), quantity(kind, above=0.0)
    word = "".join(part.capitalize() for part in kind.split())

    def model(base: type[Spread], **fields: Any) -> Any:
        name = f"{word}{base.__name__}"
        made = create_model(name, __base__=base, __module__=__name__, __doc__=base.__doc__, **fields)
        globals()[name] = made  # so that a worker process finds it again
        return made

    mean = (Annotated[value, Field(description="the middle")], ...)
    sd = (Annotated[spread, Field(description="standard deviation")], ...)
    low = (Annotated[value, Field(description="the least there is")], ...)
    mode = (Annotated[value, Field(description="where most are")], ...)
    high = (Annotated[value, Field(description="the most there is")], ...)
    simple = [
        model(Normal, mean=mean, sd=sd),
        model(TruncatedNormal, mean=mean, sd=sd, low=low, high=high),
        model(Uniform, low=low, high=high),
        model(Triangular, low=low, mode=mode, high=high),
    ]
    weight = Annotated[float, Field(gt=0.0, le=1.0, description="its part; all add to 1")]
    of = Field(description="one value, or a distribution that is no mixture itself")
    parts: dict[str, Any] = {"weight": (weight, ...), "of": (_value_or(value, simple), of)}
    component = create_model(
        f"{word}Component",
        __base__=Model,
        __module__=__name__,
        __doc__="One distribution of a mixture.",
        **parts,
    )
    globals()[component.__name__] = component
    # The length is told to editors only: pydantic would count components with errors as missing.
    words = Field(description="the distributions, each with its weight", json_schema_extra={"minItems": 1})
    mixed = model(Mixture, components=(tuple[component, ...], words))
    return _value_or(value, [*simple, mixed])


def _value_or(value: Any, models: Sequence[Any]) -> Any:
    return Union[value, Annotated[Union[tuple(models)], Field(discriminator="kind")]]  # noqa: UP007


if TYPE_CHECKING:
    SomeSpeed: TypeAlias = Spread | float
    SomeAngle: TypeAlias = Spread | float
    SomeSpin: TypeAlias = Spread | float
    SomeLength: TypeAlias = Spread | float
else:
    SomeSpeed = _distribution("speed")
    SomeAngle = _distribution("angle")
    SomeSpin = _distribution("spin rate")
    SomeLength = _distribution("length")
