"""A sharper bound on a weighted total: shots in proportion to their shares, counted together.

Let stratum k have share w_k, chance p_k and m_k shots, N = sum m_k and M = min m_k/w_k. Then
P = sum w_k p_k <= sum m_k p_k/M = (N/M) mean(p). The number of hits X is a sum of N independent trials, and for c <=
N mean(p) - 1 its chance of being at most c is no more than the binomial's with the mean chance (Hoeffding 1956, Ann.
Math. Stat. 27:713, theorem 4). So the one-sided Clopper-Pearson bound of X in N bounds mean(p) at the same confidence
(docs/decisions/0007), and N/M times it bounds P. Nearly proportional shots make N/M nearly 1: none of N seen is below
3/N, however many strata there are.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.study.run.bounds import upper_bound, weighted_bounds

Array = NDArray[np.float64]
Index = NDArray[np.intp]
MOST = 0.5  # a bound above this is none: the theorem is used below the mean only, and above this nothing is lost


def in_proportion(share: Array, each: Index) -> tuple[Index, float]:
    """How many shots of each type `(K,)` to count, and M: as many as `each` `(K,)` allows, in proportion to `share`.

    share adds to 1; each is at least 1 where the share is above nought. Raises ValueError where it is not.
    """
    some = share > 0.0
    if (each[some] < 1).any():
        raise ValueError("no shots of a type that is played: nothing can be said of the total")
    most = float((each[some] / share[some]).min())
    count = np.minimum(np.ceil(most * share - 1e-9).astype(np.intp), each)
    return count, float((count[some] / share[some]).min())


def counted(kind: Index, count: Index) -> NDArray[np.bool_]:
    """The first `count[k]` shots of each type k `(n,)`."""
    order = np.argsort(kind, kind="stable")
    starts = np.searchsorted(kind[order], np.arange(len(count)))
    rank = np.empty(kind.size, dtype=np.intp)
    rank[order] = np.arange(kind.size) - starts[kind[order]]
    return np.asarray(rank < count[kind])


def pooled_upper(hits: NDArray[np.bool_], kind: Index, share: Array, alpha: float) -> float:
    """Upper bound at confidence 1 - alpha of sum share_k p_k, from hits `(n,)` and types `(n,)` of independent shots.

    Which shots are counted depends on their types and order alone, never on their hits.
    """
    count, most = in_proportion(share, np.bincount(kind, minlength=len(share)))
    some = counted(kind, count)
    return _pooled(int(hits[some].sum()), int(some.sum()), most, alpha)


def _pooled(seen: int, n: int, most: float, alpha: float) -> float:
    bound = float(upper_bound(seen, n, alpha))
    return min(1.0, n / most * bound) if bound <= MOST else 1.0


def total_upper(hits: NDArray[np.bool_], kind: Index, share: Array, alpha: float) -> float:
    """The better of the pooled bound and the weighted sum of the types' own, each at half of alpha.

    Of one type both are its own Clopper-Pearson bound, at all of alpha.
    """
    count, shots = (np.bincount(k, minlength=len(share)) for k in (kind[hits], kind))
    if len(share) == 1:
        return weighted_bounds(share, count, shots, alpha)[1]
    by_types = weighted_bounds(share, count, shots, alpha / 2.0)[1]
    return min(by_types, pooled_upper(hits, kind, share, alpha / 2.0))


def none_seen(share: Array, each: Index, alpha: float) -> float:
    """The upper bound of a total of which none is seen in `each` `(K,)` shots of each type."""
    if len(share) == 1:
        return weighted_bounds(share, np.zeros_like(each), each, alpha)[1]
    by_types = weighted_bounds(share, np.zeros_like(each), each, alpha / 2.0)[1]
    count, most = in_proportion(share, each)
    return min(by_types, _pooled(0, int(count.sum()), most, alpha / 2.0))


def each_needed(share: Array, limit: float, alpha: float) -> int:
    """The least number of shots of each type that shows a total below the limit, when none is seen."""
    low, high = 0, 1
    while none_seen(share, np.full(len(share), high), alpha) >= limit:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if none_seen(share, np.full(len(share), middle), alpha) < limit else (middle, high)
    return high
