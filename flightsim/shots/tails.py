"""Tails: how a player's errors are distributed, and the conditional draw of a strike point within a cell.

Normal tails are wrong for golfers (Ko 2012, Columbia thesis: t and mixtures fit shot patterns). Student's t is scaled
to the same standard deviation. Its axes may each have a tail of their own (`independent`), or share one bad moment
(`joint`, the multivariate t): the two differ far out, so both are on offer.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from flightsim.scenario.reading.models import Model

Array = NDArray[np.float64]
Span = tuple[float, float]
_EDGE = 2.0**-53
_NODES = 4001


class Tails(Model):
    """The tail model of a scenario's players."""

    model: Literal["student_t", "gaussian"] = Field(
        "student_t", description="student_t with the player's nu, or gaussian"
    )
    axes: Literal["independent", "joint"] = Field(
        "independent", description="joint: one bad moment spoils strike point and delivery together"
    )

    def law(self, nu: float) -> Law:
        """The law of standard scores for a player with this nu."""
        if self.model == "gaussian":
            return Gaussian()
        return IndependentT(nu) if self.axes == "independent" else JointT(nu)


class Law(Protocol):
    """Standard scores: mean 0, standard deviation 1 on every axis."""

    def weight(self, toe: Span, height: Span) -> float:
        """Probability that the two scores of the strike point fall into a rectangle."""
        ...

    def draw(self, toe: Span, height: Span, u: Array) -> tuple[Array, Array, Array]:
        """Scores of the strike point within the rectangle, `(n,)` each, and factors `(n,)` on normal scores of the
        other axes, from uniforms u `(3, n)`.
        """
        ...

    def other(self, normal: Array, factor: Array) -> Array:
        """Scores of another axis from normal scores."""
        ...


def _between(low: Array | float, high: Array | float, u: Array) -> Array:
    """Standard normal scores within low..high, through the inverse, in the tail that keeps its digits."""
    from scipy.special import ndtr, ndtri

    low, high, u = np.broadcast_arrays(np.asarray(low, float), np.asarray(high, float), u)
    flip = low > 0.0
    a, b = np.where(flip, -high, low), np.where(flip, -low, high)
    v = np.where(flip, 1.0 - u, u)
    p = ndtr(a) + v * (ndtr(b) - ndtr(a))
    z = np.clip(ndtri(np.clip(p, 1e-300, 1.0 - _EDGE)), a, b)
    return np.asarray(np.where(flip, -z, z))


def _normal_span(span: Span, scale: Array | float = 1.0) -> Array:
    """Probability of a span for normal scores that are scaled."""
    from scipy.special import ndtr

    low, high = span[0] / scale, span[1] / scale
    flip = np.asarray(low) > 0.0
    return np.asarray(np.where(flip, ndtr(-np.asarray(low)) - ndtr(-np.asarray(high)), ndtr(high) - ndtr(low)))


@dataclass(frozen=True)
class Gaussian:
    """Normal tails."""

    def weight(self, toe: Span, height: Span) -> float:
        """Product of two normal probabilities."""
        return float(_normal_span(toe) * _normal_span(height))

    def draw(self, toe: Span, height: Span, u: Array) -> tuple[Array, Array, Array]:
        """Two truncated normals."""
        return _between(*toe, u[0]), _between(*height, u[1]), np.ones(u.shape[1])

    def other(self, normal: Array, factor: Array) -> Array:
        """As they are."""
        return normal


@dataclass(frozen=True)
class IndependentT:
    """Student's t on every axis by itself, scaled to standard deviation 1."""

    nu: float

    @property
    def _scale(self) -> float:
        return float(np.sqrt((self.nu - 2.0) / self.nu))

    def _span(self, span: Span) -> tuple[float, float, bool]:
        """Distribution function at both ends, mirrored into the lower tail where that keeps digits."""
        from scipy.special import stdtr

        low, high = span[0] / self._scale, span[1] / self._scale
        flip = low > 0.0
        if flip:
            low, high = -high, -low
        return float(stdtr(self.nu, low)), float(stdtr(self.nu, high)), flip

    def weight(self, toe: Span, height: Span) -> float:
        """Product of two t probabilities."""
        (a, b, _), (c, d, _) = self._span(toe), self._span(height)
        return (b - a) * (d - c)

    def draw(self, toe: Span, height: Span, u: Array) -> tuple[Array, Array, Array]:
        """Two truncated t scores."""
        return self._between(toe, u[0]), self._between(height, u[1]), np.ones(u.shape[1])

    def _between(self, span: Span, u: Array) -> Array:
        from scipy.special import stdtrit

        low, high, flip = self._span(span)
        p = low + (1.0 - u if flip else u) * (high - low)
        t = stdtrit(self.nu, np.clip(p, 1e-300, 1.0 - _EDGE)) * self._scale
        return np.asarray(np.clip(-t if flip else t, *span))

    def other(self, normal: Array, factor: Array) -> Array:
        """t scores at the same probability."""
        from scipy.special import ndtr, stdtrit

        return np.asarray(stdtrit(self.nu, np.clip(ndtr(normal), _EDGE, 1.0 - _EDGE)) * self._scale)


@dataclass(frozen=True)
class JointT:
    """The multivariate t: one factor sqrt((nu - 2)/W), W chi-squared with nu degrees, on all axes of a shot."""

    nu: float

    @cached_property
    def _factors(self) -> tuple[Array, Array]:
        """Quadrature of the factor: nodes and weights, even in the logarithm of W."""
        from scipy.special import gammaln

        log_w = np.linspace(np.log(1e-9), np.log(50.0 * self.nu + 200.0), _NODES)
        w, half = np.exp(log_w), self.nu / 2.0
        density = np.exp(half * log_w - w / 2.0 - half * np.log(2.0) - gammaln(half))
        return np.sqrt((self.nu - 2.0) / w), density / density.sum()

    def _given(self, toe: Span, height: Span) -> Array:
        """Weight of the rectangle at each node."""
        factor, weight = self._factors
        return np.asarray(weight * _normal_span(toe, factor) * _normal_span(height, factor))

    def weight(self, toe: Span, height: Span) -> float:
        """By quadrature over the common factor."""
        return float(self._given(toe, height).sum())

    def draw(self, toe: Span, height: Span, u: Array) -> tuple[Array, Array, Array]:
        """The factor given the rectangle, then two truncated normals at it."""
        factor, _ = self._factors
        given = self._given(toe, height)
        edges = np.cumsum(given) / given.sum()
        scale = np.interp(u[2], edges, factor)
        x = _between(toe[0] / scale, toe[1] / scale, u[0]) * scale
        y = _between(height[0] / scale, height[1] / scale, u[1]) * scale
        return np.clip(x, *toe), np.clip(y, *height), scale

    def other(self, normal: Array, factor: Array) -> Array:
        """Normal scores at the shot's common factor."""
        return normal * factor
