"""What would help: changes to the scenario, each flown on the same shots before it is told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Fates, Flag
from flightsim.errors import BadInputError
from flightsim.scenario.reading.declared import FacingOfAThing, MayBeShut, declared
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.study.run.find_troubles import by_place
from flightsim.study.run.fly import Flyer
from flightsim.study.run.guard_sizes import GuardSize, guard_sizes
from flightsim.study.run.open_bay import OpenBay, open_bay
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import Tried, Trouble

Index = NDArray[np.intp]
Change = tuple[str, tuple[str, ...]]  # in words, and as for --set

PLAIN_SHOTS = 500  # the run's first shots: what a change makes worse elsewhere shows in them
TROUBLED_SHOTS = 25  # of each trouble, so that rare ones are tried as well
MOST_TOLD = 3  # changes told of each trouble
MOST_TROUBLES = 12
LONGER = 0.3  # m by which sizes of guards are tried
PADDING = "foam on steel"


def with_remedies(opened: OpenBay, result: RunResult) -> RunResult:
    """The run's troubles with what was tried against them, best first.

    The changes are made one at a time: every size of every guard, 300 mm more (gaps at half), what was hit padded, an
    opening closed, the tee moved. All are flown on the same shots: the run's first, and some of each trouble.
    """
    troubles = result.troubles[:MOST_TROUBLES]
    if not troubles:
        return result
    places = [by_place(result, trouble.flag)[trouble.place] for trouble in troubles]
    some = _shots(result, places)
    shots, plain = result.shots.take(some), some < PLAIN_SHOTS
    had = [np.isin(some, place) for place in places]
    escaped = result.fates.escaped
    tried: list[list[Tried]] = [[] for _ in troubles]
    for words, sets in changes(opened, troubles):
        changed = _changed(opened, sets)
        if changed is None:
            continue
        _, fates = Flyer.of(changed, result.seed).follow(shots)
        escapes = estimate(
            escaped[some] & plain, ~escaped[some] & plain, fates.escaped, int(escaped.sum()), escaped.size
        )
        for k, trouble in enumerate(troubles):
            now = _carries(changed, fates, trouble)
            after = estimate(had[k], ~had[k] & plain, now, trouble.shots, escaped.size)
            tried[k].append(
                Tried(words, sets, escaped.size, some.size, trouble.shots, after, int(escaped.sum()), escapes)
            )
    told = [
        replace(
            trouble,
            tried=tuple(sorted(mine, key=lambda t: (not t.helps, t.after, t.escapes_after, t.words))[:MOST_TOLD]),
        )
        for trouble, mine in zip(troubles, tried, strict=True)
    ]
    return replace(result, troubles=(*told, *result.troubles[MOST_TROUBLES:]))


def _shots(result: RunResult, places: Sequence[Index]) -> Index:
    first = np.arange(min(PLAIN_SHOTS, len(result.shots)))
    return np.unique(np.concatenate([first, *(place[:TROUBLED_SHOTS] for place in places)]))


def estimate(
    had: NDArray[np.bool_], had_not: NDArray[np.bool_], now: NDArray[np.bool_], before: int, shots: int
) -> int:
    """How many of the run's shots would have something, rounded up: of those that have it, the share that keep it; of
    those that have it not, the share that get it. Both are needed: any change cures some and spoils others.
    """
    keep = now[had].mean() if had.any() else 1.0
    get = now[had_not].mean() if had_not.any() else 0.0
    return int(np.ceil(before * keep + (shots - before) * get - 1e-9))


def _carries(opened: OpenBay, fates: Fates, trouble: Trouble) -> NDArray[np.bool_]:
    """Shots that have this trouble in the changed bay: the same flag at the same place."""
    bay, place = opened.bay, fates.place[trouble.flag]
    if trouble.flag is Flag.PERSON_HIT:
        names = [zone.person for zone in bay.zones]
    elif trouble.flag is Flag.GOT_OUT:
        names = [opening.name for opening in bay.openings]
    else:
        names = [part.label for part in bay.parts]
    there = np.array([name == trouble.place for name in names] + [False] * 2)
    index = np.where((place >= 0) & (place < len(names)), place, len(names))
    return np.asarray(fates.flags[trouble.flag] & there[index])


def _changed(opened: OpenBay, sets: tuple[str, ...]) -> OpenBay | None:
    """The bay with a change; None where no such bay can be built: the canopy would go through the roof."""
    try:
        return open_bay(opened.origin, (*opened.scenario.overrides, *sets))
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
