"""Which shots of a run are shown: a few, each as likely as it is played, and the same ones every time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Flag, Outcome
from flightsim.study.run.result import RunResult

Index = NDArray[np.intp]


def pick(result: RunResult, outcome: Outcome, most: int) -> Index:
    """At most this many shots of an outcome."""
    return pick_from(result, result.which(outcome), most)


def pick_flagged(result: RunResult, flag: Flag, most: int) -> Index:
    """At most this many shots that carry a flag."""
    return pick_from(result, np.flatnonzero(result.with_flag(flag)), most)


def pick_from(result: RunResult, shots: Index, most: int) -> Index:
    """At most this many of these shots, ascending, each as likely as its weight."""
    shots = shots[result.weight[shots] > 0.0]
    if shots.size <= most:
        return shots
    # Weighted sampling without replacement, the largest u^(1/w): Efraimidis & Spirakis 2006,
    # Inf. Process. Lett. 97:181.
    u = np.random.default_rng(result.seed).random(shots.size)
    order = np.argsort(np.log(u) / result.weight[shots])
    return np.sort(shots[order[order.size - most :]])


def as_played(result: RunResult, balls: int) -> Index:
    """The shots that so many balls are, as they are played: one that is played often may come several times.

    Systematic sampling with probability proportional to size, of shots in random order: Madow 1949, Ann. Math. Stat.
    20:333. In their own order shot types come in turns, and a step of the sampling may fall in with them.
    """
    order = np.random.default_rng(result.seed).permutation(len(result.weight))
    steps = (np.arange(balls) + 0.5) / balls * float(result.weight.sum())
    found = np.searchsorted(np.cumsum(result.weight[order]), steps).clip(0, len(result.shots) - 1)
    return np.sort(order[found])
