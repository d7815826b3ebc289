"""Bounds on rates: Clopper-Pearson for one shot type, a weighted sum of such bounds for a total.

Clopper & Pearson 1934, Biometrika 26:404. The total: with K independent strata of known weight, P = sum w_k p_k is
at most sum w_k u_k with confidence 1 - alpha when each u_k is a one-sided bound at alpha/K (Bonferroni).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor, log, log1p

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Flag, Outcome
from flightsim.strike.shots import ShotType
from flightsim.study.result import Rate, Rates

Array = NDArray[np.float64]
CONFIDENCE = 0.95
ESCAPE = "escape"  # any flag


def upper_bound(count: NDArray[np.intp] | int, shots: NDArray[np.intp] | int, alpha: float) -> Array:
    """One-sided Clopper-Pearson upper bound at confidence 1 - alpha, for count of shots: exactly 1 for all of n.

    The p at which the chance of seeing at most `count` is alpha. count and shots broadcast. Raises ValueError for
    counts outside 0..shots.
    """
    from scipy.special import betainccinv

    k, n = _counts(count, shots)
    return np.where(k == n, 1.0, betainccinv(k + 1.0, np.maximum(n - k, 1.0), alpha))


def lower_bound(count: NDArray[np.intp] | int, shots: NDArray[np.intp] | int, alpha: float) -> Array:
    """One-sided Clopper-Pearson lower bound at confidence 1 - alpha: exactly 0 for none of n.

    The p at which the chance of seeing at least `count` is alpha. Raises ValueError as upper_bound does.
    """
    from scipy.special import betaincinv

    k, n = _counts(count, shots)
    return np.where(k == 0.0, 0.0, betaincinv(np.maximum(k, 1.0), n - k + 1.0, alpha))


def _counts(count: NDArray[np.intp] | int, shots: NDArray[np.intp] | int) -> tuple[Array, Array]:
    k, n = np.broadcast_arrays(np.asarray(count, dtype=np.float64), np.asarray(shots, dtype=np.float64))
    if not ((k >= 0.0) & (k <= n)).all():
        raise ValueError("a count must lie between nought and the number of shots")
    return k, n


def two_sided(count: NDArray[np.intp] | int, shots: NDArray[np.intp] | int, alpha: float) -> tuple[Array, Array]:
    """Two-sided Clopper-Pearson interval at confidence 1 - alpha: each side at alpha/2."""
    return lower_bound(count, shots, alpha / 2.0), upper_bound(count, shots, alpha / 2.0)


def weighted_bounds(
    share: Array, count: NDArray[np.intp], shots: NDArray[np.intp], alpha: float
) -> tuple[float, float]:
    """One-sided lower and upper bound, each at confidence 1 - alpha, of sum share_k p_k. All arrays `(K,)`."""
    each = alpha / len(share)
    lower, upper = share @ lower_bound(count, shots, each), share @ upper_bound(count, shots, each)
    return max(float(lower), 0.0), min(float(upper), 1.0)  # shares add to 1 only to rounding


def at_worst_one_in(upper: float) -> str:
    """An upper bound for people, rounded to the worse side: `1 in 1,049`, or `63 in 100` above one in ten.

    Raises ValueError for nought or less: no number of shots bounds a rate at nought.
    """
    if not upper > 0.0:
        raise ValueError(f"{upper:g} is no upper bound of a rate")
    if upper > 0.1:
        return f"{min(ceil(100.0 * upper), 100)} in 100"
    return f"1 in {floor(1.0 / upper):,}"


def shots_needed(rate: float, confidence: float = CONFIDENCE) -> int:
    """Shots of one type, none of them seen to fail, that show a rate below this one: (1 - rate)^n <= 1 - confidence.

    Raises ValueError for a rate that is not between 0 and 1.
    """
    if not 0.0 < rate < 1.0:
        raise ValueError(f"no number of shots shows a rate below {rate:g}; it must be between 0 and 1")
    return max(1, ceil(log(1.0 - confidence) / log1p(-rate)))


def make_rates(
    flags: NDArray[np.bool_],
    outcome: NDArray[np.int8],
    kind: NDArray[np.intp],
    types: Sequence[ShotType],
    sampled: bool,
    confidence: float = CONFIDENCE,
) -> Rates:
    """Rates of each flag, of `escape` (any flag), and of the outcomes without one, by shot type and in all.

    flags `(5, n)`: by Flag, which apply; outcome, kind `(n,)`: each shot's outcome code and its shot type. sampled:
    False for a grid, which has no bounds. Raises ValueError for a type without shots.
    """
    escape = flags.any(axis=0)
    cases = {flag.key: flags[flag] for flag in Flag} | {ESCAPE: escape}
    cases |= {each.key: (outcome == each) & ~escape for each in Outcome if not each.escape}
    share = np.array([some.share for some in types])
    shots = np.bincount(kind, minlength=len(types))
    if not shots.all():
        raise ValueError(f"no shots of type {types[int(np.argmin(shots))].label}: nothing can be said of it")
    counts = {key: np.bincount(kind[case], minlength=len(types)) for key, case in cases.items()}
    total = {key: _total(share, count, shots, sampled, 1.0 - confidence) for key, count in counts.items()}
    by_type = tuple(
        {key: _one(int(count[k]), int(shots[k]), sampled, 1.0 - confidence) for key, count in counts.items()}
        for k in range(len(types))
    )
    return Rates(total, by_type, confidence)


def _one(count: int, shots: int, sampled: bool, alpha: float) -> Rate:
    if not sampled:
        return Rate(count, shots, count / shots, None, None)
    lower, upper = float(lower_bound(count, shots, alpha)), float(upper_bound(count, shots, alpha))
    return Rate(count, shots, count / shots, lower, upper)


def _total(share: Array, count: NDArray[np.intp], shots: NDArray[np.intp], sampled: bool, alpha: float) -> Rate:
    rate = float(share @ (count / shots))
    lower, upper = weighted_bounds(share, count, shots, alpha) if sampled else (None, None)
    return Rate(int(count.sum()), int(shots.sum()), rate, lower, upper)
