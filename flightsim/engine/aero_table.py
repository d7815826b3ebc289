"""Drag and lift that are a Python function, kept as a table over Reynolds number and spin ratio.

The function is asked once. A cubic spline runs through its places (de Boor 1978, A practical guide to splines, ch. 4:
natural at its ends): value, slope and curvature go on, only the third derivative jumps at the lines of the table. By
how much stands behind the table, since an arc's error counts it, as `kinks` does for the models of ours. It is told in
cells: one is the way from line to line.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flightsim.engine.compiled import compiled, place
from flightsim.engine.kinks import BEYOND, Range
from flightsim.engine.lanes import LANES
from flightsim.flight.aerodynamics import AeroModel

Array = NDArray[np.float64]

MOST_RE = 4.0e5  # held beyond, as the lowest below: a legal ball has it at 140 m/s
MOST_SPUN = 0.95  # of S/(1 + S): S of 19
PLACES_RE, PLACES_S = 101, 96
MISSES = 0.01  # of CD or CL: a table that misses its function by more, between its places, is none
VALUES = 2
# The table holds weights of B-splines, two more an axis than places. Behind it: by how much CD and CL together jump in
# the third derivative at each line of spin, then of flow, by weight of the other axis.
WEIGHTS_RE, WEIGHTS_S = PLACES_RE + 2, PLACES_S + 2
SPIN_JUMPS = place(VALUES * WEIGHTS_RE * WEIGHTS_S)
FLOW_JUMPS = SPIN_JUMPS + place(WEIGHTS_RE * PLACES_S)
CELLS_RE, CELLS_SPUN = (PLACES_RE - 1) / MOST_RE, (PLACES_S - 1) / MOST_SPUN
# What the six nodes of an arc may miss, twice integrated, of one where the slope, the curvature or the third derivative
# jumps somewhere on it (found on a grid of such places), by powers of the range that the arc has.
MISSED_SLOPE, MISSED_CURVATURE, MISSED_THIRD = 5.3e-3, 1.7e-4, 1.15e-5


class AeroTableError(ValueError):
    """Drag and lift that no table of this kind can hold."""


@lru_cache(maxsize=16)
def aero_table(model: AeroModel) -> Array:
    """The table and its jumps, a number after the other. Raises AeroTableError for values that are none, or that turn
    too sharply.
    """
    re, spun = np.linspace(0.0, MOST_RE, PLACES_RE), np.linspace(0.0, MOST_SPUN, PLACES_S)
    weights = _weights(_weights(_asked(model, re, spun)).swapaxes(0, 1)).swapaxes(0, 1)
    between = [(axis[1:] + axis[:-1]) / 2.0 for axis in (re, spun)]
    said, half = _asked(model, *between), np.array([1.0, 23.0, 23.0, 1.0]) / 48.0
    along = sum(half[k] * weights[k : k + PLACES_RE - 1] for k in range(4))
    kept = sum(half[k] * along[:, k : k + PLACES_S - 1] for k in range(4))
    off = np.abs(np.asarray(kept) - said)
    if not off.max() <= MISSES:
        i, j, what = np.unravel_index(int(off.argmax()), off.shape)
        raise AeroTableError(
            f"drag and lift of {getattr(model, '__name__', model)!r} turn too sharply for a table: at Re "
            f"{between[0][i]:.3g} and S {between[1][j] / (1.0 - between[1][j]):.3g} {('CD', 'CL')[what]} is off by "
            f"{off.max():.2g}"
        )
    return np.concatenate([weights.ravel(), _jumps(weights.swapaxes(0, 1)).T.ravel(), _jumps(weights).ravel()])


def strongest(model: AeroModel) -> float:
    """CD and CL of its table together, at most: between its places it is a mean of its weights."""
    weights = aero_table(model)[: int(SPIN_JUMPS)].reshape(-1, VALUES)
    return float(np.abs(weights).sum(axis=1).max())


def _weights(values: Array) -> Array:
    """The weights of the spline through values along the first axis, two more than those."""
    n = len(values)
    spline, wanted = np.zeros((n + 2, n + 2)), np.zeros((n + 2, *values.shape[1:]))
    for i in range(n):
        spline[i, i : i + 3] = 1.0 / 6.0, 4.0 / 6.0, 1.0 / 6.0
    for row, first in ((n, 0), (n + 1, n - 1)):  # straight where it begins and ends
        spline[row, first : first + 3] = 1.0, -2.0, 1.0
    wanted[:n] = values
    return np.asarray(np.linalg.solve(spline, wanted.reshape(n + 2, -1)).reshape(wanted.shape))


def _jumps(weights: Array) -> Array:
    """By how much CD and CL together jump in the third derivative at each line of the first axis `(lines, weights)`.

    At the last, beyond which the table is held, all that becomes nought at once: slope, curvature and third derivative.
    """
    by = np.concatenate([np.zeros_like(weights[:1]), np.diff(weights, 4, axis=0), np.zeros_like(weights[:1])])
    jumps = np.abs(by).sum(axis=-1)
    last = weights[-4:]
    ends = (0.5 * (last[3] - last[1]), last[3] - 2.0 * last[2] + last[1], np.diff(last, 3, axis=0)[0])
    jumps[-1] = sum(np.abs(end).sum(axis=-1) for end in ends)
    return jumps


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
    i, t = _cell(Re * CELLS_RE, PLACES_RE)
    j, u = _cell(S / (1.0 + S) * CELLS_SPUN, PLACES_S)
    CD, CL = 0.0, 0.0
    for a in range(4):
        row = begins + VALUES * (WEIGHTS_S * (i + a) + j)
        for b in range(4):
            share = _share(a, t) * _share(b, u)
            CD, CL = CD + share * table[row + VALUES * b], CL + share * table[row + VALUES * b + 1]
    return CD, CL


@compiled
def _cell(x: float, count: int) -> tuple[int, float]:
    """The cell that x lies in, and the share of it before x; held beyond the ends."""
    x = min(max(x, 0.0), count - 1.0)
    cell = int(min(np.floor(x), count - 2.0)) if x == x else 0
    return cell, x - cell


@compiled
def _share(which: int, t: float) -> float:
    """How much one of four weights counts, at a share t of the way through a cell."""
    if which == 0:
        return (1.0 - t) * (1.0 - t) * (1.0 - t) / 6.0
    if which == 1:
        return (4.0 + t * t * (3.0 * t - 6.0)) / 6.0
    if which == 2:
        return (1.0 + t * (3.0 + t * (3.0 - 3.0 * t))) / 6.0
    return t * t * t / 6.0


@compiled
def beside_lines(table: np.ndarray, begins: int, S: Range, Re: Range) -> float:
    """By how much CD and CL of the table may be off in the mean, unseen, on an arc over these ranges of S and Re."""
    spins = _reached(S[0] / (1.0 + S[0]) * CELLS_SPUN, S[1] / (1.0 + S[1]) * CELLS_SPUN)
    flows = _reached(Re[0] * CELLS_RE, Re[1] * CELLS_RE)
    off = 0.0
    for j in range(_first(spins), _end(spins, PLACES_S)):
        most = 0.0
        for i in range(_cell(flows[0], PLACES_RE)[0], _cell(flows[1], PLACES_RE)[0] + 4):
            most = max(most, table[begins + SPIN_JUMPS + PLACES_S * i + j])
        off += most * _missed(spins[1] - spins[0], j == PLACES_S - 1)
    for i in range(_first(flows), _end(flows, PLACES_RE)):
        most = 0.0
        for j in range(_cell(spins[0], PLACES_S)[0], _cell(spins[1], PLACES_S)[0] + 4):
            most = max(most, table[begins + FLOW_JUMPS + WEIGHTS_S * i + j])
        off += most * _missed(flows[1] - flows[0], i == PLACES_RE - 1)
    return off


@compiled
def _reached(low: float, high: float) -> Range:
    """A range of cells, and what the arc may reach beyond it between the moments looked at."""
    beyond = BEYOND * (high - low)
    return low - beyond, high + beyond


@compiled
def _first(span: Range) -> int:
    """The first line that is reached; at nought there is none."""
    return max(int(np.ceil(span[0])), 1)


@compiled
def _end(span: Range, lines: int) -> int:
    """One more than the last."""
    return int(min(np.floor(span[1]), lines - 1.0)) + 1


@compiled
def _missed(wide: float, last: bool) -> float:
    """What an arc over so many cells may miss of a jump by one at a line, or at the last line."""
    more = MISSED_SLOPE * wide + MISSED_CURVATURE * wide * wide if last else 0.0
    return more + MISSED_THIRD * wide * wide * wide
