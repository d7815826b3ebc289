"""Shots drawn from their types: one stratum for each club, kind of strike and tee spot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.strike.distributions import value_at
from flightsim.strike.models import VARIABLES, Grid, Launches, Strike
from flightsim.strike.shot_types import shipped_clubs, shipped_strikes
from flightsim.strike.shots import ShotTable, ShotType, weights_of

Array = NDArray[np.float64]
Draw = Callable[[str, int], Array]  # (purpose, dims) -> uniforms (dims, count)
Spot = tuple[str, float, float, float]  # name, share, x m, y m
_FIRST, _LAST = 2.0**-53, 1.0 - 2.0**-53


@dataclass(frozen=True)
class ShotPlan:
    """How the shots of a scenario are drawn.

    types: the strata, with shares that add to 1; strikes and spots: of each type, by index; ground_height and
    ball_radius in m; hand: 1 for a right-hander, -1 for a left-hander; grid: instead of strikes.
    """

    types: tuple[ShotType, ...]
    strikes: tuple[Strike, ...]
    spots: tuple[Spot, ...]
    strike_of: tuple[int, ...]
    spot_of: tuple[int, ...]
    ground_height: float
    ball_radius: float
    hand: float
    grid: Grid | None

    @property
    def sampled(self) -> bool:
        """False for a grid: it covers launches, and says nothing of how often they come."""
        return self.grid is None

    @property
    def grid_size(self) -> int:
        """Shots of the grid, from all spots."""
        return self.grid.size * len(self.spots) if self.grid is not None else 0

    def weights(self, n: int) -> Array:
        """Share of each of n shots `(n,)`: its type's share over the type's number of shots. They add to 1."""
        return weights_of(self.types, n)

    def draw(self, draw: Draw, first: int, count: int) -> ShotTable:
        """Shots first..first+count-1: shot i is of type i mod K, so a longer run begins as a shorter one."""
        shot = np.arange(first, first + count)
        kind = shot % len(self.types)
        if self.grid is not None:
            numbers = _grid_numbers(self.grid, shot // len(self.types))
        else:
            u = draw("launch", len(VARIABLES))
            numbers = np.empty((len(VARIABLES), count))
            for k in range(len(self.types)):
                mine = np.flatnonzero(kind == k)
                numbers[:, mine] = strike_numbers(self.strikes[self.strike_of[k]], u[:, mine])
        return self._table(kind, numbers)

    def _table(self, kind: NDArray[np.intp], numbers: Array) -> ShotTable:
        speed, elevation, azimuth, rate, tilt, tee, forward, right = numbers
        spots = np.array([spot[2:] for spot in self.spots])[np.array(self.spot_of)[kind]].T
        height = self.ground_height + self.ball_radius + tee
        start = np.stack([spots[0] + forward, spots[1] - self.hand * right, height])
        return ShotTable(kind, start, speed, elevation, self.hand * azimuth, rate, self.hand * tilt, np.zeros(len(kind)))


def plan_shots(launches: Launches, spots: Sequence[Spot], ground_height: float, ball_radius: float) -> ShotPlan:
    """The plan of a scenario's `launches`. spots: (name, share, x, y) of each tee spot, m; shares add to 1."""
    hand = 1.0 if launches.hand == "right" else -1.0
    spots = tuple(spots)
    strikes, shares = _strikes(launches)
    types, strike_of, spot_of = [], [], []
    names = [(strike.club, strike.strike) for strike in strikes] if launches.grid is None else [("grid", "grid")]
    shares = shares if launches.grid is None else [1.0]
    for k, (club, strike) in enumerate(names):
        for s, (spot, part, _, _) in enumerate(spots):
            label = club if club == strike else f"{club} {strike}"
            label = f"{label} from {spot}" if len(spots) > 1 else label
            part = part if launches.grid is None else 1.0 / len(spots)
            types.append(ShotType(label, club, strike, spot, shares[k] * part))
            strike_of.append(k)
            spot_of.append(s)
    return ShotPlan(
        tuple(types), strikes, spots, tuple(strike_of), tuple(spot_of), ground_height, ball_radius, hand, launches.grid
    )


def _strikes(launches: Launches) -> tuple[tuple[Strike, ...], list[float]]:
    """The strikes and the share of each among all shots."""
    if isinstance(launches.use, dict):
        clubs = dict(launches.use)
    else:
        usual = {club: shipped_clubs()[club] for club in launches.use or ()}
        clubs = {club: share / sum(usual.values()) for club, share in usual.items()}
    shipped = [(strike, clubs[club] * strike.share) for club in clubs for strike in shipped_strikes(club)]
    both = shipped + [(strike, strike.share) for strike in launches.types]
    return tuple(strike for strike, _ in both), [share for _, share in both]


def strike_numbers(strike: Strike, u: Array) -> Array:
    """Launch numbers `(8, n)` in the order of VARIABLES, SI, from uniforms `(8, n)`, correlated as the strike says."""
    if strike.correlations:
        from scipy.special import ndtr, ndtri

        u = np.clip(ndtr(strike.normal_scores() @ ndtri(u)), _FIRST, _LAST)
    return np.stack([value_at(getattr(strike, name), u[k]) for k, name in enumerate(VARIABLES)])


def _grid_numbers(grid: Grid, point: NDArray[np.intp]) -> Array:
    """Launch numbers `(8, n)` of these grid points; the last axis turns fastest."""
    axes = grid.axes()
    places = np.unravel_index(point, [len(axis) for axis in axes])
    rows = [axis[place] for axis, place in zip(axes, places, strict=True)]
    still = np.zeros(len(point))
    return np.stack([*rows, still + grid.tee_height, still, still])
