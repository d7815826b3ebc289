"""Launches: the ball just after the strike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Launches:
    """Start point (m), velocity (m/s) and the whole spin vector (rad/s) of n shots, each `(3, n) float`.

    Axes: x from the tee to the screen, y to the left, z up.
    """

    start: Array
    velocity: Array
    spin: Array

    def __len__(self) -> int:
        return int(self.start.shape[1])

    def take(self, index: NDArray[np.intp] | slice) -> Launches:
        """The launches at these places."""
        return Launches(self.start[:, index], self.velocity[:, index], self.spin[:, index])

    def mirrored(self) -> Launches:
        """The same strikes by the other hand: velocity mirrors as a true vector, spin as an axial one."""
        true = np.array([[1.0], [-1.0], [1.0]])
        return Launches(self.start * true, self.velocity * true, self.spin * -true)


def launch(
    start: Array,
    ball_speed: Array | float,
    elevation: Array | float,
    azimuth: Array | float,
    spin_rate: Array | float,
    spin_tilt: Array | float,
) -> Launches:
    """Launches from golfers' numbers.

    start `(3, n)`, m; speed m/s; elevation, azimuth (+ right) and spin-axis tilt (+ curves right) in rad;
    spin rate in rad/s (+ backspin). Angles are taken as given: elevation past 90 deg launches backwards, and
    its backspin still turns about the same axis.
    """
    speed, el, az, rate, tilt = np.broadcast_arrays(
        *(np.asarray(a, dtype=np.float64) for a in (ball_speed, elevation, azimuth, spin_rate, spin_tilt))
    )
    sin_el, cos_el, sin_az, cos_az = np.sin(el), np.cos(el), np.sin(az), np.cos(az)
    along = np.stack(np.broadcast_arrays(cos_el * cos_az, -cos_el * sin_az, sin_el))
    right = np.stack(np.broadcast_arrays(-sin_az, -cos_az, np.zeros_like(az)))
    up = np.cross(right, along, axis=0)
    axis = right * np.cos(tilt) - up * np.sin(tilt)
    shape = np.broadcast_shapes(np.shape(start), along.reshape(3, -1).shape)
    return Launches(
        np.ascontiguousarray(np.broadcast_to(start, shape), dtype=np.float64),
        np.ascontiguousarray(np.broadcast_to((along * speed).reshape(3, -1), shape)),
        np.ascontiguousarray(np.broadcast_to((axis * rate).reshape(3, -1), shape)),
    )
