"""Every way to cut one bar that leaves no room for another wanted piece."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Patterns = NDArray[np.int32]  # one row a pattern: how many of each length


def full_patterns(takes: Sequence[int], demand: Sequence[int], room: int, most: int) -> Patterns | None:
    """All full patterns of one bar, `(n, lengths)`; None where more than `most` have to be looked at.

    takes: of each length with its kerf, longest first; room: for those; whole numbers of one unit.
    """
    counts = np.zeros((1, 0), dtype=np.int32)
    left = np.array([room], dtype=np.int64)
    for take, wanted in zip(takes, demand, strict=True):
        fit = np.minimum(left // take, wanted)
        if int((fit + 1).sum()) > most:
            return None
        parent = np.repeat(np.arange(len(left)), fit + 1)
        first = np.repeat(np.cumsum(fit + 1) - (fit + 1), fit + 1)
        chosen = np.arange(len(parent)) - first
        counts = np.hstack([counts[parent], chosen[:, None].astype(np.int32)])
        left = left[parent] - chosen * take
    return counts[_full(counts, left, takes, demand)]


def _full(counts: Patterns, left: NDArray[np.int64], takes: Sequence[int], demand: Sequence[int]) -> NDArray[np.bool_]:
    """Where no further wanted piece fits, and there is one at all."""
    unmet = counts < np.asarray(demand)
    fits = np.asarray(takes, dtype=np.int64)[None, :] <= left[:, None]
    return np.asarray(~(unmet & fits).any(axis=1) & counts.any(axis=1))
