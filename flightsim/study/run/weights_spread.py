"""The weights' own uncertainty: what a run of played shots would give under other assumptions of how misses scatter.

How heavy the tails are and where one class of strike ends are judgements, which no number of shots makes better. So the
rates of each stratum, as flown, are weighted again with the shares that other assumptions give them. How the shots lie
within a stratum is left as it was flown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.shots.played_plan import all_strata
from flightsim.shots.shots_section import Shots
from flightsim.shots.tails import Tails
from flightsim.strike.classes import Thresholds
from flightsim.study.run.on_disk import in_pieces
from flightsim.study.run.open_bay import tee_spots
from flightsim.study.run.pooled import total_upper
from flightsim.study.run.rates import cases_of, told_in_pieces
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]
Balls = Mapping[str, NDArray[np.bool_]]  # which each rate counts, by its key
SHIFT = 0.002  # m by which all thresholds are moved, toward the middle and away
_LEAST = 1.0e-4  # m that a threshold keeps
_UNKNOWN = ("unresolved", "escape")  # what a strike that was not flown counts as


@dataclass(frozen=True)
class Weighted:
    """Rates of all shots under one assumption. thresholds_m: how far all thresholds are moved from the scenario's.

    share_not_flown: of strata that the run left out; they count as unresolved. rate and upper by key, as in
    `Rates.total`.
    """

    tails: str
    axes: str
    thresholds_m: float
    this_run: bool
    share_not_flown: float
    rate: dict[str, float]
    upper: dict[str, float]


def weight_models(result: RunResult) -> tuple[Weighted, ...]:
    """A played run under normal, independent and joint Student t tails, and with all thresholds 2 mm nearer or further.

    Empty for a run whose shots are not played: their shares are given, and not computed.
    """
    found = result.scenario.entries("shots")
    if not found or not result.sampled:
        return ()
    shots, own = found[0], found[0].tails
    others = (Tails(model="gaussian"), Tails(), Tails(axes="joint"))
    cases = [(tails, 0.0) for tails in others] + [(own, -SHIFT), (own, SHIFT)]
    flags = in_pieces(result.fates, lambda fates: fates.flags)
    balls = cases_of(flags, result.outcome) | told_in_pieces(result.bay, result.fates, result.zone_harm)
    return tuple(_weighted(result, balls, shots, tails, shift) for tails, shift in cases)


def _weighted(result: RunResult, balls: Balls, shots: Shots, tails: Tails, shift: float) -> Weighted:
    limits = shots.thresholds
    moved = limits.model_copy(
        update={name: max(getattr(limits, name) + shift, _LEAST) for name in Thresholds.model_fields}
    )
    other = shots.model_copy(update={"tails": tails, "thresholds": moved})
    share, missing = _shares(result, other)
    rate, upper = {}, {}
    for key in result.rates.total:
        count = np.array([rates[key].count for rates in result.rates.by_type])
        n = np.array([rates[key].shots for rates in result.rates.by_type])
        rate[key] = float(share @ (count / n)) + (missing if key in _UNKNOWN else 0.0)
        flown = float(share.sum())
        alpha, table = 1.0 - result.rates.confidence, result.shots
        bound = total_upper(balls[key], table.type, share / flown, alpha, table.rank) if flown else 0.0
        upper[key] = min(flown * bound + missing, 1.0)
    same = _law(tails) == _law(shots.tails) and shift == 0.0
    return Weighted(tails.model, tails.axes, shift, same, missing, rate, upper)


def _law(tails: Tails) -> tuple[str, str]:
    """Model and axes, where the axes matter."""
    return tails.model, tails.axes if tails.model == "student_t" else ""


def _shares(result: RunResult, shots: Shots) -> tuple[Array, float]:
    """Share of each shot type of the run `(K,)` under these assumptions, and of the strata that were not flown."""
    every = all_strata(shots, tee_spots(result.scenario), result.physics.ball)
    share = {kind.label: kind.share for kind, _ in every}
    flown = np.array([share.pop(kind.label, 0.0) for kind in result.types])
    return flown, float(sum(share.values()))
