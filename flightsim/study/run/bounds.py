"""Bounds on rates: Clopper-Pearson for one shot type, a weighted sum of such bounds for a total.

Clopper & Pearson 1934, Biometrika 26:404. The total: with K independent strata of known weight, P = sum w_k p_k is
at most sum w_k u_k with confidence 1 - alpha when each u_k is a one-sided bound at alpha/K (Bonferroni).
"""

from __future__ import annotations

from math import ceil, floor, log, log1p

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
CONFIDENCE = 0.95


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
    alpha_of_type = alpha / len(share)
    lower, upper = share @ lower_bound(count, shots, alpha_of_type), share @ upper_bound(count, shots, alpha_of_type)
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
