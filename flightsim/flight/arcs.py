"""Arcs: free flight as polynomials of time, so that a contact is a root and not a step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def horner(coefficients: Array, tau: Array) -> Array:
    """Value of monomial coefficients `(degree + 1, n)` (or `(degree + 1, 3, n)`) at tau `(n,)`."""
    value: Array = coefficients[-1] * tau + coefficients[-2]
    for coefficient in coefficients[-3::-1]:
        value *= tau
        value += coefficient
    return value


@dataclass(frozen=True)
class Flights:
    """One arc for each of n balls.

    start_time `(n,)`, s since the strike; duration `(n,)`, s; `path` `(degree + 1, 3, n)`, m: monomial
    coefficients of the ball centre in tau = (t - start_time)/duration, 0..1; `spin` `(3, n)`, rad/s at tau 0;
    `end_velocity` `(3, n)`, m/s and `end_spin` `(3, n)`, rad/s at tau 1; `air_path` `(degree, n)`, m: the
    length of air flown through, same monomials; spin_decay, 1/m: spin falls by exp(-spin_decay air_path);
    `error` `(n,)`, m: the estimated position error of the arc.
    """

    start_time: Array
    duration: Array
    path: Array
    spin: Array
    end_velocity: Array
    end_spin: Array
    air_path: Array
    spin_decay: float
    error: Array

    def __len__(self) -> int:
        return int(self.duration.shape[0])

    def position(self, tau: Array) -> Array:
        """Ball centre `(3, n)`, m, at tau `(n,)`."""
        return horner(self.path, tau)

    def velocity(self, tau: Array) -> Array:
        """Velocity `(3, n)`, m/s, at tau `(n,)`."""
        order = np.arange(1.0, self.path.shape[0])
        return horner(self.path[1:] * order[:, None, None], tau) / self.duration

    def spin_at(self, tau: Array) -> Array:
        """Spin vector `(3, n)`, rad/s, at tau `(n,)`."""
        return self.spin * np.exp(horner(self.air_path, tau) * -self.spin_decay)

    def time(self, tau: Array) -> Array:
        """Time since the strike `(n,)`, s, at tau `(n,)`."""
        return self.start_time + tau * self.duration

    def take(self, index: NDArray[np.intp]) -> Flights:
        """The arcs at these places."""
        return Flights(
            self.start_time[index],
            self.duration[index],
            self.path.take(index, axis=-1),
            self.spin.take(index, axis=-1),
            self.end_velocity.take(index, axis=-1),
            self.end_spin.take(index, axis=-1),
            self.air_path.take(index, axis=-1),
            self.spin_decay,
            self.error[index],
        )

    def joined(self, other: Flights) -> Flights:
        """These arcs, then the others, whose spin must decay alike or whose air path is nought."""

        def both(name: str) -> Array:
            return np.concatenate([getattr(self, name), getattr(other, name)], axis=-1)

        return Flights(
            both("start_time"), both("duration"), both("path"), both("spin"), both("end_velocity"), both("end_spin"),
            both("air_path"), self.spin_decay, both("error"),
        )  # fmt: skip
