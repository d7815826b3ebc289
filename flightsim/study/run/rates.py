"""Rates of what went wrong, by shot type and in all, with their bounds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact.fates import Fates, Flag, Outcome
from flightsim.shots.shot_table import ShotType
from flightsim.study.run.bounds import CONFIDENCE, lower_bound, upper_bound
from flightsim.study.run.on_disk import in_pieces
from flightsim.study.run.pooled import total_bounds
from flightsim.study.run.result import Rate, Rates

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
ESCAPE = "escape"  # any flag
HEAD_HIT, LEFT_SLOWLY, BEHIND_TEE = "head_hit", "left_slowly", "behind_tee"  # see told_cases
COMES_BACK = "comes_back"
NOTHING: Mapping[str, Mask] = MappingProxyType({})


def make_rates(
    flags: Mask,
    outcome: NDArray[np.int8],
    kind: NDArray[np.intp],
    types: Sequence[ShotType],
    sampled: bool,
    confidence: float = CONFIDENCE,
    beside: Mapping[str, Mask] = NOTHING,
    rank: NDArray[np.int32] | None = None,
) -> Rates:
    """Rates of each flag, of `escape` (any flag), of the outcomes without one, and of what is told beside, by shot type
    and in all.

    flags `(5, n)`: by Flag, which apply; outcome, kind `(n,)`: each shot's outcome code and its shot type. sampled:
    False for a grid, which has no bounds; beside: see told_cases; rank: `ShotTable.rank`, where it is at hand. Raises
    ValueError for a type without shots.
    """
    cases = cases_of(flags, outcome) | dict(beside)
    shots = np.bincount(kind, minlength=len(types))
    if not shots.all():
        raise ValueError(f"no shots of type {types[int(np.argmin(shots))].label}: nothing can be said of it")
    share, alpha = np.array([shot_type.share for shot_type in types]), 1.0 - confidence
    total = {key: _total(share, case, kind, sampled, alpha, rank) for key, case in cases.items()}
    counts = {key: np.bincount(kind[case], minlength=len(types)) for key, case in cases.items()}
    by_type = tuple(
        {key: _one(int(count[k]), int(shots[k]), sampled, alpha) for key, count in counts.items()}
        for k in range(len(types))
    )
    judged = {
        key: _total(share, cases[key] | flags[Flag.UNRESOLVED], kind, sampled, alpha, rank)
        for key in MAY_BE_REQUIRED
        if key in cases
    }
    return Rates(total, by_type, confidence, judged)


def cases_of(flags: Mask, outcome: NDArray[np.int8]) -> dict[str, Mask]:
    """Which balls `(n,)` each rate counts, by its key."""
    escape = flags.any(axis=0)
    cases = {flag.key: flags[flag] for flag in Flag} | {ESCAPE: escape}
    return cases | {each.key: (outcome == each) & ~escape for each in Outcome if not each.escape}


def told_cases(bay: Bay, fates: Fates, zone_harm: Array) -> dict[str, Mask]:
    """Which balls `(n,)` are told beside their flags, by the rate's key.

    head_hit: could hit a person's head, wherever their worst was; left_slowly: left the room too slowly to count as got
    out; behind_tee: crossed the space behind the tee after a touch at the harm speed or faster, whoever is there;
    comes_back: came to somebody at the speed that harms a head or faster, and harmed nobody. zone_harm `(zones,)`, m/s:
    from where on a ball harms in each zone.
    """
    heads = np.array([zone.head for zone in bay.zones], dtype=bool)
    return {
        HEAD_HIT: ~np.isnan(fates.hits(heads, zone_harm)),
        LEFT_SLOWLY: fates.left_slowly,
        BEHIND_TEE: ~np.isnan(fates.behind_tee),
        COMES_BACK: ~np.isnan(fates.harmless_return),
    }


def told_in_pieces(bay: Bay, fates: Fates, zone_harm: Array) -> dict[str, Mask]:
    """The same, of a run that may be on disk."""
    rows = in_pieces(fates, lambda balls: np.stack(list(told_cases(bay, balls, zone_harm).values())))
    return dict(zip(told_cases(bay, fates.first(0), zone_harm), rows, strict=True))


JUDGED = (ESCAPE, *(flag.key for flag in Flag))  # a ball that is unresolved counts as each
MAY_BE_REQUIRED = (*JUDGED, HEAD_HIT)


def _one(count: int, shots: int, sampled: bool, alpha: float) -> Rate:
    if not sampled:
        return Rate(count, shots, count / shots, None, None)
    lower, upper = float(lower_bound(count, shots, alpha)), float(upper_bound(count, shots, alpha))
    return Rate(count, shots, count / shots, lower, upper)


def _total(
    share: Array, case: Mask, kind: NDArray[np.intp], sampled: bool, alpha: float, rank: NDArray[np.int32] | None
) -> Rate:
    count, shots = np.bincount(kind[case], minlength=len(share)), np.bincount(kind, minlength=len(share))
    rate = float(share @ (count / shots))
    lower, upper = total_bounds(case, kind, share, alpha, rank) if sampled else (None, None)
    return Rate(int(count.sum()), int(shots.sum()), rate, lower, upper)
