"""What would help: changes to the scenario, each flown on the same shots before it is told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Fates, Flag
from flightsim.errors import BadInputError
from flightsim.scenario.reading.declared import FacingOfAThing, MayBeShut, declared
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.columns import UNNAMED_GAP
from flightsim.study.run.find_troubles import by_place
from flightsim.study.run.fly import Flyer
from flightsim.study.run.guard_sizes import GuardSize, guard_sizes
from flightsim.study.run.open_bay import OpenBay, open_changed
from flightsim.study.run.rates import ESCAPE
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import Tried, Trouble

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]
Change = tuple[str, tuple[str, ...]]  # in words, and as for --set

PLAIN_SHOTS = 500  # the run's first shots: what a change makes worse elsewhere shows in them
TROUBLED_SHOTS = 25  # of each trouble, so that rare ones are tried as well
MOST_TOLD = 3  # changes told of each trouble
FLOWN_AGAIN = 4000  # shots that the best changes are flown on again
MOST_FLOWN_AGAIN = 3  # troubles, the worst, whose best change is
A_FEW = 3  # shots that rebounds turned otherwise may add to any flag
MOST_TROUBLES = 12
LONGER = 0.3  # m by which sizes of guards are tried
PADDING = "foam on steel"


def with_remedies(opened: OpenBay, result: RunResult) -> RunResult:
    """The run's troubles with what was tried against them, best first by how many balls as played are left.

    The changes are made one at a time: every size of every guard, 300 mm more (gaps at half), what was hit padded, an
    opening closed, the tee moved. All are flown on the same shots: the run's first, and some of each trouble. The best
    change for each of the worst troubles is flown again on many more.
    """
    troubles = result.troubles[:MOST_TROUBLES]
    if not troubles:
        return result
    places = [by_place(result, trouble.flag)[trouble.place] for trouble in troubles]
    look = _Look.of(result, _shots(result, places), places)
    tried: list[list[Tried]] = [[] for _ in troubles]
    for words, sets in changes(opened, troubles):
        changed = _changed(opened, sets)
        if changed is None:
            continue
        _, fates = Flyer.of(changed, result.seed).follow(look.shots)
        for k, trouble in enumerate(troubles):
            tried[k].append(look.tried(words, sets, trouble, k, changed, fates))
    best = [sorted(mine, key=_order)[:MOST_TOLD] for mine in tried]
    again = _FlownAgain(opened, result)
    for k, mine in enumerate(best[:MOST_FLOWN_AGAIN]):
        if mine and mine[0].helps:
            mine[0] = again.tried(mine[0], troubles[k], places[k])
            mine.sort(key=_order)
    told = [replace(trouble, tried=tuple(mine)) for trouble, mine in zip(troubles, best, strict=True)]
    return replace(result, troubles=(*told, *result.troubles[MOST_TROUBLES:]))


def _order(tried: Tried) -> tuple[bool, float, float, str]:
    """What helps first, and of these what leaves the fewest balls as played."""
    return not tried.helps, tried.rate_after, tried.escape_rate_after, tried.words


def _shots(result: RunResult, places: Sequence[Index]) -> Index:
    first = np.arange(min(PLAIN_SHOTS, len(result.shots)))
    return np.unique(np.concatenate([first, *(place[:TROUBLED_SHOTS] for place in places)]))


@dataclass(frozen=True)
class _Look:
    """The shots that every change is flown on, and what they did in the bay as it is.

    plain `(k,)`: one of the run's first; had: by trouble, which have it `(k,)`; weight `(k,)`: of each shot.
    """

    result: RunResult
    shots: ShotTable
    plain: Mask
    had: list[Mask]
    escaped: Mask
    weight: Array

    @classmethod
    def of(cls, result: RunResult, some: Index, places: Sequence[Index]) -> _Look:
        """These shots of the run; places: the shots that have each trouble."""
        return cls(
            result, result.shots.take(some), some < PLAIN_SHOTS, [np.isin(some, place) for place in places],
            result.fates.escaped[some], result.weight[some],
        )  # fmt: skip

    def tried(
        self, words: str, sets: tuple[str, ...], trouble: Trouble, k: int, changed: OpenBay, fates: Fates
    ) -> Tried:
        """What a change does to the k-th trouble, from the fates of these shots in the changed bay."""
        total, n = self.result.rates.total[ESCAPE], len(self.result.shots)
        had, now = self.had[k], carries(changed, fates, trouble)
        mine, alike = (had, ~had & self.plain, now), np.ones(len(self.shots))
        all_of = (self.escaped & self.plain, ~self.escaped & self.plain, fates.escaped)
        count = [int(np.ceil(n * estimate(*each, alike, before / n) - 1e-9))
                 for each, before in ((mine, trouble.shots), (all_of, total.count))]  # fmt: skip
        rates = [estimate(*each, self.weight, before) for each, before in ((mine, trouble.rate), (all_of, total.rate))]
        return Tried(
            words, sets, n, len(self.shots), trouble.shots, count[0], total.count, count[1],
            trouble.rate, rates[0], total.rate, rates[1],
        )  # fmt: skip


def estimate(had: Mask, had_not: Mask, now: Mask, weight: Array, before: float) -> float:
    """What share of all balls would have something: of those that have it, `before`, the share that keep it; of those
    that have it not, the share that get it. Both are needed: any change cures some and spoils others.

    had, had_not, now `(k,)`: which shots have it in the bay as it is, have it not, and have it in the changed one;
    weight `(k,)`: of each.
    """
    keep, get = weight[had & now].sum(), weight[had_not & now].sum()
    keep = keep / weight[had].sum() if had.any() else 1.0
    get = get / weight[had_not].sum() if had_not.any() else 0.0
    return float(before * keep + (1.0 - before) * get)


class _FlownAgain:
    """The run's first shots in changed bays, each flown once however many troubles it is the best against."""

    def __init__(self, opened: OpenBay, result: RunResult) -> None:
        self.opened, self.result = opened, result
        self.n = min(FLOWN_AGAIN, len(result.shots))
        self.known: dict[tuple[str, ...], tuple[OpenBay, Fates]] = {}

    def _fates(self, sets: tuple[str, ...]) -> tuple[OpenBay, Fates]:
        if sets not in self.known:
            changed = _changed(self.opened, sets)
            assert changed is not None  # it was flown before
            shots = self.result.shots.take(slice(0, self.n))
            self.known[sets] = changed, Flyer.of(changed, self.result.seed).follow(shots)[1]
        return self.known[sets]

    def tried(self, one: Tried, trouble: Trouble, had: Index) -> Tried:
        """The same change with its rates as flown on all of these shots, and what it makes worse."""
        changed, fates = self._fates(one.sets)
        n, before = self.n, self.result.fates
        had_it = np.isin(np.arange(n), had)
        rates = [self._rate(case) for case in (had_it, carries(changed, fates, trouble),
                                               before.escaped[:n], fates.escaped)]  # fmt: skip
        worse = tuple(flag.key for flag in Flag if self._is_worse(before.flags[flag, :n], fates.flags[flag]))
        return replace(
            one, rate_before=rates[0], rate_after=rates[1], escape_rate_before=rates[2], escape_rate_after=rates[3],
            flown_again=n, worse=worse,
        )  # fmt: skip

    def _rate(self, case: Mask) -> float:
        """Of all balls as played."""
        kind, types = self.result.shots.type[: self.n], self.result.types
        count, each = (np.bincount(k, minlength=len(types)) for k in (kind[case], kind))
        share = np.array([some.share for some in types])
        there = each > 0
        return float(share[there] @ (count[there] / each[there]))

    def _is_worse(self, before: Mask, after: Mask) -> bool:
        """Whether more balls carry a flag: more than a few shots, and of balls as played."""
        return int(after.sum()) > int(before.sum()) + A_FEW and self._rate(after) > self._rate(before)


def carries(opened: OpenBay, fates: Fates, trouble: Trouble) -> Mask:
    """Shots that have this trouble in the changed bay: the same flag at the same place."""
    bay, place = opened.bay, fates.place[trouble.flag]
    if trouble.flag is Flag.PERSON_HIT:  # whoever else it hits harder
        mine = np.array([zone.person == trouble.place for zone in bay.zones], dtype=bool)
        return ~np.isnan(fates.hits(mine, opened.surroundings().zone_harm))
    if trouble.flag is Flag.GOT_OUT:
        names = [*(opening.name for opening in bay.openings), UNNAMED_GAP]
    else:
        names = [part.label for part in bay.parts]
    there = np.array([name == trouble.place for name in names] + [False])
    index = np.where((place >= 0) & (place < len(names)), place, len(names))
    return np.asarray(fates.flags[trouble.flag] & there[index])


def _changed(opened: OpenBay, sets: tuple[str, ...]) -> OpenBay | None:
    """The bay with a change; None where no such bay can be built: the canopy would go through the roof."""
    try:
        return open_changed(opened, sets)
    except BadInputError:
        return None


def changes(opened: OpenBay, troubles: Sequence[Trouble]) -> Iterator[Change]:
    """What may be tried, in words and as for --set."""
    scenario = opened.scenario
    for size in guard_sizes(opened):
        yield _resized(scenario, size)
    yield from _padded(opened, troubles)
    yield from _closed(scenario, troubles)
    if not scenario.tee.spots:
        yield from _tee(scenario)


def _resized(scenario: Scenario, size: GuardSize) -> Change:
    show, new = Display(scenario.units).length, size.value + LONGER if size.wider else size.value / 2.0
    return f"{size.words.replace(':', '')} {show(new)} instead of {show(size.value)}", (f"{size.path}={new:.4f}m",)


def _padded(opened: OpenBay, troubles: Sequence[Trouble]) -> Iterator[Change]:
    """What was hit, padded: of obstacles, which say what they are made of one by one."""
    hit = {trouble.place for trouble in troubles if trouble.flag is Flag.HIT_UNPROTECTED}
    for thing in declared(opened.scenario, FacingOfAThing):
        if thing.name in hit:
            yield f"{thing.name} padded with 40 mm of foam", (f"{thing.path}={PADDING}",)


def _closed(scenario: Scenario, troubles: Sequence[Trouble]) -> Iterator[Change]:
    out = {trouble.place for trouble in troubles if trouble.flag is Flag.GOT_OUT}
    for opening in declared(scenario, MayBeShut):
        if opening.name in out and not opening.value:
            yield f"{opening.name} kept shut", (f"{opening.path}=true",)


def _tee(scenario: Scenario) -> Iterator[Change]:
    show, tee = Display(scenario.units).length, scenario.tee.from_end_wall
    for new in (tee + LONGER, tee - LONGER):
        words = f"tee {show(new)} from the end wall instead of {show(tee)}"
        yield words, (f"tee.from_end_wall={new:.4f}m",)
