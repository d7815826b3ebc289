"""Shots as a table: what a player sends, before it is flown."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.launches import Launches, launch

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ShotType:
    """One stratum: a club and kind of strike from one tee spot, sampled and counted together.

    share is its part of all shots, 0..1; the shares of a scenario add to 1.
    """

    label: str  # "driver clean", or "driver clean from left spot" where there are several spots
    club: str
    strike: str
    spot: str
    share: float


@dataclass(frozen=True)
class ShotTable:
    """n shots: type `(n,)` int, index into the shot types; start `(3, n)`, m; ball_speed `(n,)`, m/s;
    elevation, azimuth, spin_tilt `(n,)`, rad; spin_rate `(n,)`, rad/s.
    """

    type: NDArray[np.intp]
    start: Array
    ball_speed: Array
    elevation: Array
    azimuth: Array
    spin_rate: Array
    spin_tilt: Array

    def __len__(self) -> int:
        return int(self.type.shape[0])

    @classmethod
    def empty(cls, n: int) -> ShotTable:
        """Room for n shots."""
        one = [np.full(n, np.nan) for _ in range(5)]
        return cls(np.zeros(n, dtype=np.intp), np.full((3, n), np.nan), *one)

    def launches(self) -> Launches:
        """The shots as launches."""
        return launch(
            self.start, self.ball_speed, self.elevation, self.azimuth, self.spin_rate, self.spin_tilt
        )

    def take(self, index: NDArray[np.intp] | slice) -> ShotTable:
        """The shots at these places."""
        return ShotTable(
            self.type[index],
            self.start[:, index],
            self.ball_speed[index],
            self.elevation[index],
            self.azimuth[index],
            self.spin_rate[index],
            self.spin_tilt[index],
        )
