"""Two bays, or one and a change of it, on the same shots: which balls changed their outcome, and whether it is luck."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Fates, Flag, Outcome
from flightsim.errors import Asked, BadInputError
from flightsim.shots.shot_table import ShotTable, ShotType
from flightsim.study.run.bounds import CONFIDENCE
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.pooled import total_upper
from flightsim.study.run.rates import ESCAPE, make_rates
from flightsim.study.run.result import Rate, RunResult
from flightsim.study.run.same_shots import same_balls, same_types
from flightsim.study.run.walk import run

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
MOST_TOSSES = 100_000


@dataclass(frozen=True)
class Changed:
    """One thing that was counted in both: its key, its rate in each, the shots that only the first and only the second
    had, the chance of a split so uneven if neither bay were the better for any shot type (see `split_chance`), and
    upper bounds of how many of all balls only the one and only the other lets past; None for a grid.
    """

    key: str
    first: Rate
    second: Rate
    only_first: int
    only_second: int
    chance: float
    only_first_upper: float | None
    only_second_upper: float | None


@dataclass(frozen=True)
class Comparison:
    """Two runs of the same shots.

    moved `(outcomes, outcomes)` int: shots by their outcome in the first and in the second; changed: escape, then every
    flag; fates, results: of both; worse, better: shots that escape in the second alone, and in the first alone.
    """

    names: tuple[str, str]
    types: tuple[ShotType, ...]
    shots: ShotTable
    moved: NDArray[np.intp]
    changed: tuple[Changed, ...]
    fates: tuple[Fates, Fates]
    worse: NDArray[np.intp]
    better: NDArray[np.intp]
    seed: int
    sampled: bool
    confidence: float
    results: tuple[RunResult, RunResult]


def compare(
    first: OpenBay, second: OpenBay, names: tuple[str, str], shots: int, seed: int = 1, workers: int = 1
) -> Comparison:
    """Fly the same shots in both bays. Raises BadInputError where they would not be the same shots."""
    return compare_all((first, second), names, shots, seed, workers)[0]


def compare_all(
    bays: Sequence[OpenBay], names: Sequence[str], shots: int, seed: int = 1, workers: int = 1,
    say: Callable[[str], None] = lambda words: None,
) -> tuple[Comparison, ...]:  # fmt: skip
    """Fly the same shots in every bay, each once: the first against each of the others, in order.

    say is told which bay is flown. Raises BadInputError where they would not be the same shots.
    """
    first = bays[0]
    for other in bays[1:]:
        _check_pair(first, other, shots)
    if first.plan.sampled and (n := first.plan.grid_size or shots) < len(first.plan.types):
        found = f"{n} shots cannot cover {len(first.plan.types)} shot types\n  try: "
        raise BadInputError(found, Asked("shots", 20000))
    pairs: list[Comparison] = []
    home: RunResult | None = None
    for bay, name in zip(bays, names, strict=True):
        say(f"flying {name}")
        result = run(bay, shots, seed, workers)
        if home is None:
            home = result
        else:
            pairs.append(paired(home, result, (names[0], name)))
    return tuple(pairs)


def _check_pair(first: OpenBay, second: OpenBay, shots: int) -> None:
    if not same_types(first, second):
        raise BadInputError(
            "the two scenarios do not play the same shot types, so their balls cannot be paired\n"
            "  allowed: two bays with the same shots, players and tee spots\n"
            "  try: one scenario and changes of it"
        )
    if (first.plan.grid_size or shots) != (second.plan.grid_size or shots):
        raise BadInputError("the two scenarios fly different numbers of shots: their balls cannot be paired")


def paired(first: RunResult, second: RunResult, names: tuple[str, str]) -> Comparison:
    """Two runs of the same shots, ball by ball. Raises BadInputError where the balls are not the same."""
    table, a, b = first.shots, first.fates, second.fates
    if not same_balls(table, second.shots):
        raise BadInputError(
            "the two scenarios strike the ball differently, so their balls cannot be paired\n"
            "  allowed: bays that differ, with the same players, clubs, ball and launches"
        )
    types, sampled = first.types, first.sampled
    moved = np.zeros((len(Outcome), len(Outcome)), dtype=np.intp)
    np.add.at(moved, (a.outcomes(), b.outcomes()), 1)
    changed = tuple(_changed(key, a, b, table, types, sampled) for key in (ESCAPE, *(flag.key for flag in Flag)))
    worse, better = b.escaped & ~a.escaped, a.escaped & ~b.escaped
    return Comparison(
        names, types, table, moved, changed, (a, b), np.flatnonzero(worse), np.flatnonzero(better), first.seed,
        sampled, CONFIDENCE, (first, second),
    )  # fmt: skip


def _changed(key: str, a: Fates, b: Fates, table: ShotTable, types: tuple[ShotType, ...], sampled: bool) -> Changed:
    in_first, in_second = (_case(fates, key) for fates in (a, b))
    rates = [make_rates(f.flags, f.outcomes(), table.type, types, sampled, rank=table.rank).total[key] for f in (a, b)]
    only_first, only_second = in_first & ~in_second, in_second & ~in_first
    share = np.array([kind.share for kind in types])
    shots_of_type = np.bincount(table.type, minlength=len(types))
    one_each, two_each = (np.bincount(table.type[only], minlength=len(types)) for only in (only_first, only_second))
    uppers = [
        total_upper(only, table.type, share, 1.0 - CONFIDENCE, table.rank) if sampled else None
        for only in (only_first, only_second)
    ]
    chance = split_chance(one_each, two_each, share / np.maximum(shots_of_type, 1))
    return Changed(key, rates[0], rates[1], int(only_first.sum()), int(only_second.sum()), chance, uppers[0], uppers[1])


def split_chance(first: NDArray[np.intp], second: NDArray[np.intp], weight: Array) -> float:
    """Chance of a split so uneven, either way, if each ball that tells the bays apart did so by the toss of a coin.

    first, second `(K,)`: balls of each shot type that only the one, and only the other, lets past; weight `(K,)`: of
    one ball of a type among all balls. Uneven is the weighted difference of both, so that a kind of shot that is
    rarely played tips nothing. One type alone: the exact sign test. Several: tossed MOST_TOSSES times (Fisher's
    randomisation test, with the count of Phipson & Smyth 2010, Stat. Appl. Genet. Mol. Biol. 9:39), so that no chance
    below one in that is told.
    """
    from scipy.stats import binomtest

    n = first + second
    telling = np.flatnonzero((n > 0) & (weight > 0.0))
    if telling.size == 0:
        return 1.0
    if telling.size == 1:
        return float(binomtest(int(first[telling[0]]), int(n[telling[0]]), 0.5).pvalue)
    seen = abs(float(weight[telling] @ (first[telling] - second[telling])))
    heads = np.random.default_rng(1934).binomial(n[telling], 0.5, (MOST_TOSSES, telling.size))
    tossed = np.abs((2 * heads - n[telling]) @ weight[telling])
    return float((1 + (tossed >= seen * (1.0 - 1e-12)).sum()) / (1 + MOST_TOSSES))


def _case(fates: Fates, key: str) -> Mask:
    return fates.escaped if key == ESCAPE else np.asarray(fates.with_flag([flag.key for flag in Flag].index(key)))
