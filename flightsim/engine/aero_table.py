"""Drag and lift that are a Python function, kept as a table over Reynolds number and spin ratio.

The function is asked once. Between its places the table is a cubic that runs smoothly through them (Catmull and Rom
1974), so that an arc's equation of motion stays smooth.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flightsim.engine.compiled import compiled
from flightsim.engine.lanes import LANES
from flightsim.flight.aerodynamics import AeroModel

Array = NDArray[np.float64]

MOST_RE = 4.0e5  # held beyond, as the lowest below: a legal ball has it at 140 m/s
MOST_SPUN = 0.95  # of S/(1 + S): S of 19
PLACES_RE, PLACES_S = 101, 96
MISSES = 0.01  # of CD or CL: a table that misses its function by more, between its places, is none
VALUES = 2


class AeroTableError(ValueError):
    """Drag and lift that no table of this kind can hold."""


@lru_cache(maxsize=16)
def aero_table(model: AeroModel) -> Array:
    """The table, a number after the other. Raises AeroTableError for values that are none, or that turn too sharply."""
    re, spun = np.linspace(0.0, MOST_RE, PLACES_RE), np.linspace(0.0, MOST_SPUN, PLACES_S)
    table = _asked(model, re, spun)
    between = [(axis[1:] + axis[:-1]) / 2.0 for axis in (re, spun)]
    said = _asked(model, *between)
    # What the smooth curve gives half way: 9/16 of both neighbours less 1/16 of those beyond.
    held = np.pad(table, ((1, 1), (1, 1), (0, 0)), mode="edge")
    weights = np.array([-1.0, 9.0, 9.0, -1.0]) / 16.0
    along = sum(weights[k] * held[k : k + PLACES_RE - 1] for k in range(4))
    kept = sum(weights[k] * along[:, k : k + PLACES_S - 1] for k in range(4))
    off = np.abs(np.asarray(kept) - said)
    if not off.max() <= MISSES:
        i, j, what = np.unravel_index(int(off.argmax()), off.shape)
        raise AeroTableError(
            f"drag and lift of {getattr(model, '__name__', model)!r} turn too sharply for a table: at Re "
            f"{between[0][i]:.3g} and S {between[1][j] / (1.0 - between[1][j]):.3g} {('CD', 'CL')[what]} is off by "
            f"{off.max():.2g}"
        )
    return table.ravel()


def _asked(model: AeroModel, re: Array, spun: Array) -> Array:
    """CD and CL at each place `(m, n, 2)`."""
    S, Re = np.meshgrid(spun / (1.0 - spun), np.maximum(re, 1.0))
    CD, CL = (np.broadcast_to(np.asarray(each, dtype=np.float64), S.shape) for each in model(S, Re))
    if not (np.isfinite(CD).all() and np.isfinite(CL).all()):
        raise AeroTableError(f"drag and lift of {getattr(model, '__name__', model)!r} are not finite everywhere")
    return np.stack([CD, CL], axis=-1)


@compiled
def look_up(table: np.ndarray, begins: int, places: np.ndarray, spins: int, flows: int) -> None:
    """Turn eight spin ratios into CD and as many Reynolds numbers into CL, in their places in a row.

    table: a row in which the table begins at a place; places: the row in which they begin at `spins` and `flows`.
    """
    for lane in range(LANES):
        CD, CL = _looked_up(table, begins, places[spins + lane], places[flows + lane])
        places[spins + lane], places[flows + lane] = CD, CL


@compiled
def _looked_up(table: np.ndarray, begins: int, S: float, Re: float) -> tuple[float, float]:
    """CD and CL at spin ratio S and Reynolds number Re, from a table that begins at a place of a row."""
    i, t = _cell(Re * ((PLACES_RE - 1) / MOST_RE), PLACES_RE)
    j, u = _cell(S / (1.0 + S) * ((PLACES_S - 1) / MOST_SPUN), PLACES_S)
    CD, CL = 0.0, 0.0
    for a in range(4):
        row = begins + VALUES * PLACES_S * min(max(i + a - 1, 0), PLACES_RE - 1)
        for b in range(4):
            at = row + VALUES * min(max(j + b - 1, 0), PLACES_S - 1)
            weight = _weight(a, t) * _weight(b, u)
            CD, CL = CD + weight * table[at], CL + weight * table[at + 1]
    return CD, CL


@compiled
def _cell(x: float, count: int) -> tuple[int, float]:
    """The cell that x lies in, and the share of it before x; held beyond the ends."""
    x = min(max(x, 0.0), count - 1.0)
    cell = int(min(np.floor(x), count - 2.0)) if x == x else 0
    return cell, x - cell


@compiled
def _weight(which: int, t: float) -> float:
    """The weight of one of four neighbours at a share t between the middle two."""
    if which == 0:
        return 0.5 * t * (-1.0 + t * (2.0 - t))
    if which == 1:
        return 1.0 + 0.5 * t * t * (3.0 * t - 5.0)
    if which == 2:
        return 0.5 * t * (1.0 + t * (4.0 - 3.0 * t))
    return 0.5 * t * t * (t - 1.0)
