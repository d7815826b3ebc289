"""A sharper bound on a weighted total: shots in proportion to their shares, counted together.

Let stratum k have share w_k, chance p_k and m_k shots, N = sum m_k and M = min m_k/w_k. Then
P = sum w_k p_k <= sum m_k p_k/M = (N/M) mean(p). The number of hits X is a sum of N independent trials, and for c <=
N mean(p) - 1 its chance of being at most c is no more than the binomial's with the mean chance (Hoeffding 1956, Ann.
Math. Stat. 27:713, theorem 4). So the one-sided Clopper-Pearson bound of X in N bounds mean(p) at the same confidence
(docs/decisions/0007), and N/M times it bounds P. Nearly proportional shots make N/M nearly 1: none of N seen is below
3/N, however many strata there are.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.shots.shot_table import ShotType, counts_of, ranks
from flightsim.study.run.bounds import lower_bound, shots_needed, upper_bound, weighted_bounds

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Whole = NDArray[np.integer[Any]]
POOLED = 0.9  # of the error: the types' own bounds lose little with a tenth, the pooled one gains a fifth
MOST = 0.5  # a bound above this is none: the theorem is used below the mean only, and above this nothing is lost


def in_proportion(share: Array, each: Index) -> tuple[Index, float]:
    """How many shots of each type `(K,)` to count, and M: as many as `each` `(K,)` allows, in proportion to `share`.

    share adds to 1; each is at least 1 where the share is above nought. Raises ValueError where it is not.
    """
    played = share > 0.0
    if (each[played] < 1).any():
        raise ValueError("no shots of a type that is played: nothing can be said of the total")
    most = float((each[played] / share[played]).min())
    count = np.minimum(np.ceil(most * share - 1e-9).astype(np.intp), each)
    return count, float((count[played] / share[played]).min())


def _seen(hits: NDArray[np.bool_], kind: Index, count: Index, rank: Whole | None) -> int:
    """How many hits are among the first `count[k]` shots of each type k."""
    if rank is None:
        rank = ranks(kind, len(count))
    hit = np.flatnonzero(hits)
    return int((rank[hit] < count[kind[hit]]).sum())


def pooled_upper(hits: NDArray[np.bool_], kind: Index, share: Array, alpha: float, rank: Whole | None = None) -> float:
    """Upper bound at confidence 1 - alpha of sum share_k p_k, from hits `(n,)` and types `(n,)` of independent shots.

    Which shots are counted depends on their types and order alone, never on their hits. rank `(n,)`: `ranks` of the
    types, where they are at hand.
    """
    count, most = in_proportion(share, np.bincount(kind, minlength=len(share)))
    return _pooled(_seen(hits, kind, count, rank), int(count.sum()), most, alpha)


def _pooled(seen: int, n: int, most: float, alpha: float) -> float:
    bound = float(upper_bound(seen, n, alpha))
    return min(1.0, n / most * bound) if bound <= MOST else 1.0


def pooled_lower(hits: NDArray[np.bool_], kind: Index, share: Array, alpha: float, rank: Whole | None = None) -> float:
    """Lower bound at confidence 1 - alpha of sum share_k p_k, from hits `(n,)` and types `(n,)` of independent shots.

    Of each type at most M share_k shots are counted, so that P >= (N/M) mean(p); see docs/decisions/0007 for the proof
    of both tails.
    """
    each = np.bincount(kind, minlength=len(share))
    most = float((each[share > 0.0] / share[share > 0.0]).min())
    count = np.minimum(np.floor(most * share).astype(np.intp), each)
    n, seen = int(count.sum()), _seen(hits, kind, count, rank)
    if seen == 0:
        return 0.0
    bound = alpha / n if seen == 1 else float(lower_bound(seen, n, alpha))
    return n / most * bound


def total_bounds(
    hits: NDArray[np.bool_], kind: Index, share: Array, alpha: float, rank: Whole | None = None
) -> tuple[float, float]:
    """Lower and upper bound of a total, each at confidence 1 - alpha: see total_upper."""
    count, shots = _counts(hits, kind, share)
    if len(share) == 1:
        return weighted_bounds(share, count, shots, alpha)
    by_types = weighted_bounds(share, count, shots, (1.0 - POOLED) * alpha)[0]
    lower = max(by_types, pooled_lower(hits, kind, share, POOLED * alpha, rank))
    return min(lower, _rate(share, count, shots)), total_upper(hits, kind, share, alpha, rank)


def _rate(share: Array, count: Index, shots: Index) -> float:
    """What was seen: no bound is on the wrong side of it, though one from some of the shots alone might be."""
    return float(share @ (count / np.maximum(shots, 1)))


def _counts(hits: NDArray[np.bool_], kind: Index, share: Array) -> tuple[Index, Index]:
    """Hits and shots of each type `(K,)`."""
    return np.bincount(kind[hits], minlength=len(share)), np.bincount(kind, minlength=len(share))


def total_upper(hits: NDArray[np.bool_], kind: Index, share: Array, alpha: float, rank: Whole | None = None) -> float:
    """The better of the pooled bound, at POOLED of alpha, and the weighted sum of the types' own, at the rest.

    Of one type both are its own Clopper-Pearson bound, at all of alpha.
    """
    count, shots = _counts(hits, kind, share)
    if len(share) == 1:
        return weighted_bounds(share, count, shots, alpha)[1]
    by_types = weighted_bounds(share, count, shots, (1.0 - POOLED) * alpha)[1]
    upper = min(by_types, pooled_upper(hits, kind, share, POOLED * alpha, rank))
    return max(upper, _rate(share, count, shots))


def none_seen(share: Array, each: Index, alpha: float) -> float:
    """The upper bound of a total of which none is seen in `each` `(K,)` shots of each type."""
    if len(share) == 1:
        return weighted_bounds(share, np.zeros_like(each), each, alpha)[1]
    by_types = weighted_bounds(share, np.zeros_like(each), each, (1.0 - POOLED) * alpha)[1]
    count, most = in_proportion(share, each)
    return min(by_types, _pooled(0, int(count.sum()), most, POOLED * alpha))


def shots_needed_of(types: Sequence[ShotType], limit: float, alpha: float) -> int:
    """How many shots show a total below the limit, when none is seen: of several types some, to a hundredth."""
    if len(types) == 1:
        return shots_needed(limit, 1.0 - alpha)
    share, rounds = np.array([kind.share for kind in types]), 2 * len(types)

    def shows(many: int) -> bool:
        return none_seen(share, counts_of(types, many), alpha) < limit

    low, high = 0, 1
    while not shows(high):
        low, high = high, 2 * high
    while high - low > max(1, high // 100):
        middle = (low + high) // 2
        low, high = (low, middle) if shows(middle) else (middle, high)
    return high * rounds
