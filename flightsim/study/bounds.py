"""Bounds on rates: Clopper-Pearson for one shot type, a weighted sum of such bounds for a total.

Clopper & Pearson 1934, Biometrika 26:404. The total: with K independent strata of known weight, P = sum w_k p_k is
at most sum w_k u_k with confidence 1 - alpha when each u_k is a one-sided bound at alpha/K (Bonferroni).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, log, log1p

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.outcomes import Outcome
from flightsim.strike.shots import ShotType
from flightsim.study.result import Rate, Rates

Array = NDArray[np.float64]
CONFIDENCE = 0.95


def upper_bound(count: NDArray[np.intp] | int, shots: NDArray[np.intp] | int, alpha: float) -> Array:
    """One-sided Clopper-Pearson upper bound at confidence 1 - alpha, for count of shots."""
    from scipy.special import betaincinv

    k, n = np.broadcast_arrays(np.asarray(count, dtype=np.float64), np.asarray(shots, dtype=np.float64))
    inner = betaincinv(k + 1.0, np.maximum(n - k, 1.0), 1.0 - alpha)
    return np.where(k >= n, 1.0, inner)


def lower_bound(count: NDArray[np.intp] | int, shots: NDArray[np.intp] | int, alpha: float) -> Array:
    """One-sided Clopper-Pearson lower bound at confidence 1 - alpha."""
    k, n = np.broadcast_arrays(np.asarray(count), np.asarray(shots))
    return np.asarray(1.0 - upper_bound(n - k, n, alpha))


def two_sided(count: int, shots: int, alpha: float) -> tuple[float, float]:
    """Two-sided Clopper-Pearson interval at confidence 1 - alpha."""
    return float(lower_bound(count, shots, alpha / 2)), float(upper_bound(count, shots, alpha / 2))


def weighted_bounds(share: Array, count: NDArray[np.intp], shots: NDArray[np.intp], alpha: float) -> tuple[float, float]:
    """One-sided lower and upper bound, each at confidence 1 - alpha, of sum share_k p_k. All arrays `(K,)`."""
    each = alpha / len(share)
    return float(share @ lower_bound(count, shots, each)), float(share @ upper_bound(count, shots, each))


def shots_needed(rate: float, confidence: float = CONFIDENCE) -> int:
    """Shots of one type, none of them seen to fail, that show a rate below this one."""
    return ceil(log(1.0 - confidence) / log1p(-rate))


def make_rates(
    outcome: NDArray[np.int8],
    failed: NDArray[np.bool_],
    kind: NDArray[np.intp],
    types: Sequence[ShotType],
    sampled: bool,
    confidence: float = CONFIDENCE,
) -> Rates:
    """Rates of each outcome, of `failed`, and of `not_met_guard`, by shot type and in all.

    outcome, failed, kind `(n,)`: each shot's outcome code, whether its flight failed, and its shot type.
    """
    cases = {each.key: outcome == each for each in Outcome}
    cases |= {"failed": failed, "not_met_guard": outcome != Outcome.MET_GUARD}
    share = np.array([some.share for some in types])
    shots = np.bincount(kind, minlength=len(types))
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
