"""Distributions of launch numbers, as models of the scenario file and as inverse distribution functions.

Every draw goes through the inverse of its distribution function at one uniform number, so that all shots use the same
count of random numbers, whatever their type.
"""

from __future__ import annotations

from math import fsum
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self, Union

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, create_model, model_validator

from flightsim.scenario.models import Model
from flightsim.scenario.quantities import quantity

Array = NDArray[np.float64]
_FIRST, _LAST = 2.0**-53, 1.0 - 2.0**-53  # the least and largest uniform that a stream gives


class Spread(Model):
    """Base of all distributions. Numbers are SI inside; the file gives them with units."""

    def inverse(self, u: Array) -> Array:
        """The value below which a share u of all values lies. u `(n,)`, strictly between 0 and 1."""
        raise TypeError(f"{type(self).__name__} has no inverse distribution function")

    @property
    def ends(self) -> tuple[float, float]:
        """The least and largest value that a run can draw."""
        low, high = self.inverse(np.array([_FIRST, _LAST]))
        return float(low), float(high)


class Normal(Spread):
    """Gauss's distribution."""

    kind: Literal["normal"]
    mean: Any
    sd: Any

    def inverse(self, u: Array) -> Array:
        from scipy.special import ndtri

        return np.asarray(self.mean + self.sd * ndtri(u))


class TruncatedNormal(Spread):
    """Gauss's distribution, cut off at low and high."""

    kind: Literal["truncated_normal"]
    mean: Any
    sd: Any
    low: Any
    high: Any

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.low < self.high:
            raise ValueError("low must be less than high")
        if not self.low - 8.0 * self.sd <= self.mean <= self.high + 8.0 * self.sd:
            raise ValueError("the mean is so far outside low..high that nothing is left of the distribution")
        return self

    def inverse(self, u: Array) -> Array:
        from scipy.special import ndtr, ndtri

        # Work in the lower tail, where differences of the distribution function keep their digits.
        a, b = (self.low - self.mean) / self.sd, (self.high - self.mean) / self.sd
        if a > 0.0:
            a, b, u = -b, -a, 1.0 - u
            z = -ndtri(ndtr(a) + u * (ndtr(b) - ndtr(a)))
        else:
            z = ndtri(ndtr(a) + u * (ndtr(b) - ndtr(a)))
        return np.clip(self.mean + self.sd * z, self.low, self.high)


class Uniform(Spread):
    """Every value from low to high alike."""

    kind: Literal["uniform"]
    low: Any
    high: Any

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.low < self.high:
            raise ValueError("low must be less than high")
        return self

    def inverse(self, u: Array) -> Array:
        return np.asarray(self.low + u * (self.high - self.low))


class Triangular(Spread):
    """From low to high, most often at mode."""

    kind: Literal["triangular"]
    low: Any
    mode: Any
    high: Any

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not (self.low <= self.mode <= self.high and self.low < self.high):
            raise ValueError("low, mode and high must be in this order, and low less than high")
        return self

    def inverse(self, u: Array) -> Array:
        width, rise = self.high - self.low, self.mode - self.low
        up = self.low + np.sqrt(u * width * rise)
        down = self.high - np.sqrt((1.0 - u) * width * (width - rise))
        return np.where(u * width < rise, up, down)


class Mixture(Spread):
    """One of several distributions, each with its weight."""

    kind: Literal["mixture"]
    components: Any

    @model_validator(mode="after")
    def _weights(self) -> Self:
        total = fsum(component.weight for component in self.components)
        if abs(total - 1.0) > 1e-9:
            raise ValueError(f"the components' weights add to {total:.12g}; they must add to 1")
        return self

    def inverse(self, u: Array) -> Array:
        """One uniform chooses the component and, stretched back to 0..1, the value in it."""
        edges = np.cumsum([0.0, *(component.weight for component in self.components)])
        edges[-1] = 1.0
        chosen = np.searchsorted(edges, u, side="right") - 1
        out = np.empty_like(u)
        for k, component in enumerate(self.components):
            mine = chosen == k
            inner = (u[mine] - edges[k]) / (edges[k + 1] - edges[k])
            out[mine] = value_at(component.of, np.clip(inner, _FIRST, _LAST))
        return out


def value_at(spread: Spread | float, u: Array) -> Array:
    """Values `(n,)` at uniforms u `(n,)`: of a distribution, or the one value that is given."""
    return spread.inverse(u) if isinstance(spread, Spread) else np.full(u.shape, float(spread))


def ends_of(spread: Spread | float) -> tuple[float, float]:
    """The least and largest value that a run can draw."""
    return spread.ends if isinstance(spread, Spread) else (float(spread), float(spread))


def _distribution(kind: str) -> Any:
    """The annotation of a field that holds a quantity of this kind, or a distribution of it."""
    value, spread = quantity(kind), quantity(kind, above=0.0)
    word = "".join(part.capitalize() for part in kind.split())

    def model(base: type[Spread], **fields: Any) -> Any:
        name = f"{word}{base.__name__}"
        made = create_model(name, __base__=base, __module__=__name__, __doc__=base.__doc__, **fields)
        globals()[name] = made  # so that a worker process finds it again
        return made

    simple = [
        model(Normal, mean=(value, ...), sd=(spread, ...)),
        model(TruncatedNormal, mean=(value, ...), sd=(spread, ...), low=(value, ...), high=(value, ...)),
        model(Uniform, low=(value, ...), high=(value, ...)),
        model(Triangular, low=(value, ...), mode=(value, ...), high=(value, ...)),
    ]
    one_of = Union[value, Annotated[Union[tuple(simple)], Field(discriminator="kind")]]  # noqa: UP007
    component = create_model(
        f"{word}Component",
        __base__=Model,
        __module__=__name__,
        __doc__="One distribution of a mixture.",
        weight=(Annotated[float, Field(gt=0.0, le=1.0, description="its part; all add to 1")], ...),
        of=(one_of, ...),
    )
    globals()[component.__name__] = component
    mixed = model(Mixture, components=(Annotated[tuple[component, ...], Field(min_length=1)], ...))  # type: ignore[valid-type]
    return Union[value, Annotated[Union[(*simple, mixed)], Field(discriminator="kind")]]  # noqa: UP007


if TYPE_CHECKING:
    SomeSpeed = SomeAngle = SomeSpin = SomeLength = Spread | float
else:
    SomeSpeed = _distribution("speed")
    SomeAngle = _distribution("angle")
    SomeSpin = _distribution("spin rate")
    SomeLength = _distribution("length")
