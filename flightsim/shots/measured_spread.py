"""A spread around measured shots: a smoothed bootstrap, or a fitted Student's t.

Both live in the numbers ball speed, elevation, azimuth, backspin and sidespin, where nothing jumps as a spin turns
over.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from flightsim.shots.measured_limits import MOST_SPIN, QUANTITIES
from flightsim.shots.measured_section import unit_factor

Array = NDArray[np.float64]
DIMS = 6  # uniforms a shot: one for the row or the common factor, five for the numbers
LEAST_ROWS = {"kernel": 10, "t": 20}  # of a club, for a spread around them: judgement
_STEPS = 2000
_TINY = 1e-10


class CannotFitError(ValueError):
    """These rows have no spread of the kind that is asked for."""


class Spread(Protocol):
    """Where new shots are drawn from."""

    def draw(self, u: Array) -> Array:
        """Numbers `(5, n)` from uniforms `(6, n)`."""
        ...

    def facts(self) -> dict[str, Any]:
        """What was fitted, for the record."""
        ...


@dataclass(frozen=True)
class Kernel:
    """Smoothed bootstrap: a measured row, plus a normal step of `bandwidth` standard deviations of all rows.

    points `(5, m)`; factor `(5, 5)`, symmetric root of their covariance. Not shrunk to the rows' own variance: the
    spread is wider by 1 + bandwidth^2, to the careful side. Silverman, Density Estimation, 1986, sections 4.3 and 6.4
    (cited from memory).
    """

    points: Array
    factor: Array
    bandwidth: float

    def draw(self, u: Array) -> Array:
        """Numbers `(5, n)` from uniforms `(6, n)`."""
        from scipy.special import ndtri

        m = self.points.shape[1]
        row = np.minimum((u[0] * m).astype(np.intp), m - 1)
        return within_limits(self.points[:, row] + self.bandwidth * _times(self.factor, ndtri(u[1:])))

    def facts(self) -> dict[str, Any]:
        """The bandwidth."""
        return {"spread": "kernel", "bandwidth": self.bandwidth}


@dataclass(frozen=True)
class StudentT:
    """Multivariate Student's t: centre `(5, 1)`, factor `(5, 5)` with factor factor^T the scatter matrix, and nu."""

    centre: Array
    factor: Array
    nu: float

    def draw(self, u: Array) -> Array:
        """Numbers `(5, n)` from uniforms `(6, n)`: normal scores over the root of one chi-squared a shot."""
        from scipy.special import gammaincinv, ndtri

        chi_squared = 2.0 * gammaincinv(self.nu / 2.0, u[0])
        return within_limits(self.centre + _times(self.factor, ndtri(u[1:])) * np.sqrt(self.nu / chi_squared))

    def facts(self) -> dict[str, Any]:
        """nu."""
        return {"spread": "t", "nu": self.nu}


def _times(matrix: Array, columns: Array) -> Array:
    """Matrix product, in an order that does not depend on how many columns there are."""
    out = matrix[:, :1] * columns[:1]
    for k in range(1, matrix.shape[1]):
        out = out + matrix[:, k : k + 1] * columns[k : k + 1]
    return np.asarray(out)


def within_limits(numbers: Array) -> Array:
    """Numbers `(5, n)` with what no ball does brought back to the nearest that one can do."""
    out = numbers.copy()
    for k, name in enumerate(("ball_speed", "elevation", "azimuth")):
        quantity = QUANTITIES[name]
        out[k] = np.clip(out[k], quantity.limits[0] * quantity.si, quantity.limits[1] * quantity.si)
    most = MOST_SPIN * unit_factor("rpm")
    out[3:] *= most / np.maximum(np.hypot(out[3], out[4]), most)
    return out


def fit_kernel(points: Array, bandwidth: float | None) -> Kernel:
    """A kernel on rows `(5, m)`. bandwidth: None for Silverman's rule, (4 / ((d + 2) m))^(1 / (d + 4)), d the rank.

    Raises CannotFitError where nothing differs.
    """
    moving = np.ptp(points, axis=1) > 0.0
    if not moving.any():
        raise CannotFitError("all its rows are the same")
    scale = np.where(moving, points.std(axis=1, ddof=1), 1.0)
    correlation = np.cov((points - points[:, :1]) / scale[:, None])
    values, vectors = np.linalg.eigh(correlation)
    values = np.where(values > _TINY * values[-1], values, 0.0)
    rank = int((values > 0.0).sum())
    root = (vectors * np.sqrt(values)) @ vectors.T  # the symmetric root: the same whatever the eigenvectors' signs
    m = points.shape[1]
    width = (4.0 / ((rank + 2.0) * m)) ** (1.0 / (rank + 4.0)) if bandwidth is None else bandwidth
    return Kernel(points, scale[:, None] * root, width)


def fit_student_t(points: Array, nu: float) -> StudentT:
    """The t of greatest likelihood for rows `(5, m)` at this nu, by expectation and maximisation.

    A number that never changes stays as it is. Raises CannotFitError where the others go together exactly. Kent, Tyler
    & Vardi 1994, Commun. Stat. Simul. Comput. 23(2):441 (cited from memory).
    """
    moving = np.ptp(points, axis=1) > 0.0
    centre, factor = points.mean(axis=1, keepdims=True), np.zeros((5, 5))
    x = points[moving]
    if x.shape[0] == 0:
        raise CannotFitError("all its rows are the same")
    middle, scale = x.mean(axis=1, keepdims=True), x.std(axis=1, keepdims=True)
    mean, scatter = _most_likely((x - middle) / scale, nu)
    centre[moving] = middle + scale * mean
    factor[np.ix_(moving, moving)] = scale * np.linalg.cholesky(scatter)
    return StudentT(centre, factor, nu)


def _most_likely(x: Array, nu: float) -> tuple[Array, Array]:
    """Centre `(p, 1)` and scatter `(p, p)` for standardised rows `(p, m)`."""
    p, m = x.shape
    mean, scatter = np.zeros((p, 1)), np.cov(x).reshape(p, p)
    for _ in range(_STEPS):
        if np.linalg.eigvalsh(scatter)[0] < _TINY:
            raise CannotFitError("its numbers go together exactly")
        away = x - mean
        weight = (nu + p) / (nu + (away * np.linalg.solve(scatter, away)).sum(axis=0))
        new_mean = (x * weight).sum(axis=1, keepdims=True) / weight.sum()
        away = x - new_mean
        new_scatter = (away * weight) @ away.T / m
        moved = max(np.abs(new_mean - mean).max(), np.abs(new_scatter - scatter).max())
        mean, scatter = new_mean, new_scatter
        if moved < _TINY:
            return mean, scatter
    raise CannotFitError("no fit is found")
