"""Shots drawn from their types: one stratum for each club, kind of strike and tee spot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import fsum

import numpy as np
from numpy.typing import NDArray

from flightsim.shots.distributions import FIRST, LAST, value_at
from flightsim.shots.launches_section import Grid, Launches
from flightsim.shots.shipped_types import shipped_clubs, shipped_strikes
from flightsim.shots.shot_table import ShotTable, ShotType, kinds_of, weights_of
from flightsim.shots.strike_kind import VARIABLES, Strike, strike_label

Array = NDArray[np.float64]
Draw = Callable[[str, int], Array]  # (purpose, dims) -> uniforms (dims, count)
Spot = tuple[str, float, float, float]  # name, share, x m, y m


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
        return weights_of(self.types, n) if self.sampled else np.full(n, 1.0 / n)

    def draw(self, draw: Draw, first: int, count: int) -> ShotTable:
        """Shots first..first+count-1, of the types of kinds_of: a longer run begins as a shorter one."""
        shot = np.arange(first, first + count)
        if self.grid is not None:
            kind = shot % len(self.types)
            numbers = _grid_numbers(self.grid, shot // len(self.types))
        else:
            u = draw("launch", len(VARIABLES))
            numbers = np.empty((len(VARIABLES), count))
            kind = kinds_of(self.types, shot)
            for k in np.unique(kind):
                of_type = np.flatnonzero(kind == k)
                numbers[:, of_type] = strike_numbers(self.strikes[self.strike_of[k]], u[:, of_type])
        return self._table(kind, numbers)

    def _table(self, kind: NDArray[np.intp], numbers: Array) -> ShotTable:
        speed, elevation, azimuth, rate, tilt, tee, forward, right, along = numbers
        spots = np.array([spot[2:] for spot in self.spots])[np.array(self.spot_of)[kind]].T
        height = self.ground_height + self.ball_radius + tee
        start = np.stack([spots[0] + forward, spots[1] - self.hand * right, height])
        turned = self.hand * azimuth, rate, self.hand * tilt, self.hand * along
        return ShotTable(kind, start, speed, elevation, *turned)


def plan_shots(launches: Launches, spots: Sequence[Spot], ground_height: float, ball_radius: float) -> ShotPlan:
    """The plan of a scenario's `launches`. spots: (name, share, x, y) of each tee spot, m; shares add to 1.

    A grid is flown as it is written, from each spot alike, whoever plays.
    """
    grid, spots = launches.grid, tuple(spots)
    hand = -1.0 if launches.hand == "left" and grid is None else 1.0
    strikes, shares = _strikes(launches) if grid is None else ((), [1.0])
    names = [(strike_label(strike), strike.club, strike.strike) for strike in strikes] or [("grid", "grid", "grid")]
    parts = [spot[1] if grid is None else 1.0 for spot in spots]
    pairs = [(k, s) for k in range(len(names)) for s in range(len(spots))]
    weights = [shares[k] * parts[s] for k, s in pairs]
    total = fsum(weights)
    types = []
    for (k, s), weight in zip(pairs, weights, strict=True):
        label, club, strike = names[k]
        label = f"{label} from {spots[s][0]}" if len(spots) > 1 else label
        types.append(ShotType(label, club, strike, spots[s][0], weight / total, launches.hand))
    strike_of, spot_of = tuple(k for k, _ in pairs), tuple(s for _, s in pairs)
    return ShotPlan(tuple(types), strikes, spots, strike_of, spot_of, ground_height, ball_radius, hand, grid)


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
    """Launch numbers `(9, n)` in the order of VARIABLES, SI, from uniforms `(9, n)`, correlated as the strike says."""
    rows = _correlated(strike.mixing, u) if strike.correlations else u
    return np.stack([value_at(getattr(strike, name), row) for name, row in zip(VARIABLES, rows, strict=True)])


def _correlated(mixing: Array, u: Array) -> list[Array]:
    """Rows of uniforms whose normal scores have the correlations of this factor (a Gaussian copula)."""
    from scipy.special import ndtr, ndtri

    # Sums of single rows and no matrix product: that could differ in the last digit with the number of shots.
    parts = [np.flatnonzero(row[:k]) for k, row in enumerate(mixing)]
    scores = {j: ndtri(u[j]) for j in {*np.concatenate(parts), *(k for k, part in enumerate(parts) if part.size)}}
    rows = list(u)
    for k, part in enumerate(parts):
        if part.size:
            score = mixing[k, k] * scores[k]
            for j in part:
                score = score + mixing[k, j] * scores[j]
            rows[k] = np.clip(ndtr(score), FIRST, LAST)
    return rows


def _grid_numbers(grid: Grid, point: NDArray[np.intp]) -> Array:
    """Launch numbers `(9, n)` of these grid points; the last axis turns fastest."""
    axes = grid.axes()
    places = np.unravel_index(point, [len(axis) for axis in axes])
    rows = [axis[place] for axis, place in zip(axes, places, strict=True)]
    still = np.zeros(len(point))
    return np.stack([*rows, still + grid.tee_height, still, still, still])
