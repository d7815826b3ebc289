"""What would help: changes to the scenario, each flown on the same shots before it is told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Fates, Flag
from flightsim.errors import BadInputError, PluginError
from flightsim.plugin.hookspecs import SeenTrouble
from flightsim.plugin.offered import remedies_offered
from flightsim.scenario.reading.declared import FacingOfAThing, MayBeShut, declared
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.study.run.crew import side_by_side
from flightsim.study.run.find_troubles import share_of_first
from flightsim.study.run.guard_sizes import GuardSize, guard_sizes
from flightsim.study.run.open_bay import OpenBay, open_changed
from flightsim.study.run.reflown import Reflown
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import Tried, Trouble

Mask = NDArray[np.bool_]
Change = tuple[str, tuple[str, ...]]  # in words, and as for --set

MOST_TOLD = 3  # changes told of each trouble
MOST_SHOTS = 20_000  # of the run's first that every change is flown on: some twenty changes are tried
A_FEW = 3  # shots that rebounds turned otherwise may add to any flag
MOST_TROUBLES = 12
LONGER = 0.3  # m by which sizes of guards are tried
PADDING = "foam on steel"


def with_remedies(opened: OpenBay, result: RunResult, reflown: Reflown | None = None) -> RunResult:
    """The run's troubles with what was tried against them, best first by how many balls as played are left.

    The changes are made one at a time: every size of every guard, 300 mm more (gaps at half), what was hit padded, an
    opening closed, the tee moved, what plugins offer. All are flown on the same shots, the run's first: those that the
    change can touch; of the others it is known already. reflown: the shots, if at hand.
    """
    troubles = result.troubles[:MOST_TROUBLES]
    if not troubles:
        return result
    shots = (reflown or Reflown.of(opened, result)).first(MOST_SHOTS)
    had = [carries(opened, shots.fates, trouble) for trouble in troubles]
    tried: list[list[Tried]] = [[] for _ in troubles]
    failed: list[PluginError] = []
    seen = [
        SeenTrouble(found_trouble.flag.key, found_trouble.place, found_trouble.shots, found_trouble.rate)
        for found_trouble in troubles
    ]
    offered = remedies_offered(opened.plugins, opened.scenario, opened.bay, seen, failed)
    bays = _changed_bays(opened, [*changes(opened, troubles), *offered])
    for (words, sets, changed), fates in side_by_side(bays, lambda bay: shots.in_bay(bay[2])):
        change = _Change(words, sets, result, shots.fates, fates)
        for k, trouble in enumerate(troubles):
            tried[k].append(change.tried(had[k], carries(changed, fates, trouble)))
    best = [sorted(tries, key=_order)[:MOST_TOLD] for tries in tried]
    troubles_tried = [replace(trouble, tried=tuple(tries)) for trouble, tries in zip(troubles, best, strict=True)]
    return replace(result, troubles=(*troubles_tried, *result.troubles[MOST_TROUBLES:])).without(failed)


def _order(tried: Tried) -> tuple[bool, float, float, str]:
    """What helps first, and of these what leaves the fewest balls as played."""
    return not tried.helps, tried.rate_after, tried.escape_rate_after, tried.words


@dataclass(frozen=True)
class _Change:
    """A change in words and as for --set, and what became of the run's first shots before it and after."""

    words: str
    sets: tuple[str, ...]
    result: RunResult
    before: Fates
    after: Fates

    def tried(self, had: Mask, has: Mask) -> Tried:
        """What it does to a trouble, from who had it and who has it `(k,)`."""
        cases = (had, has, self.before.escaped, self.after.escaped)
        before, after, escapes_before, escapes_after = (int(case.sum()) for case in cases)
        rates = [share_of_first(self.result, case) for case in cases]
        n = had.size
        return Tried(
            self.words, self.sets, len(self.result.shots), n, before, after, escapes_before, escapes_after,
            rates[0], rates[1], rates[2], rates[3], n, self._worse,
        )  # fmt: skip

    @cached_property
    def _worse(self) -> tuple[str, ...]:
        """Flags that more balls carry: more than a few shots, and of balls as played."""
        found = []
        for flag in Flag:
            before, after = self.before.with_flag(flag), self.after.with_flag(flag)
            if int(after.sum()) > int(before.sum()) + A_FEW:
                rates = [share_of_first(self.result, case) for case in (before, after)]
                found += [flag.key] if rates[1] > rates[0] else []
        return tuple(found)


def carries(opened: OpenBay, fates: Fates, trouble: Trouble) -> Mask:
    """Shots that have this trouble in the changed bay: the same flag at the same place."""
    bay, place = opened.bay, fates.place[trouble.flag]
    if trouble.flag is Flag.PERSON_HIT:  # whoever else it hits harder
        zones = np.array([zone.person == trouble.place for zone in bay.zones], dtype=bool)
        return ~np.isnan(fates.hits(zones, opened.surroundings().zone_harm))
    names = bay.ways_out if trouble.flag is Flag.GOT_OUT else [part.label for part in bay.parts]
    there = np.array([name == trouble.place for name in names] + [False])
    index = np.where((place >= 0) & (place < len(names)), place, len(names))
    return np.asarray(fates.with_flag(trouble.flag) & there[index])


def _changed_bays(opened: OpenBay, wanted: Iterable[Change]) -> Iterator[tuple[str, tuple[str, ...], OpenBay]]:
    """The bays that can be built with these changes, ready for balls: a plugin is asked by one thread alone."""
    for words, sets in wanted:
        changed = _changed(opened, sets)
        if changed is not None:
            changed.surroundings()
            yield words, sets, changed


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
    show, was = Display(scenario.units), size.value
    new = show.guess(was + LONGER if size.wider else was / 2.0)
    words = f"{size.words.replace(':', '')} {show.beside(new, was)} instead of {show.beside(was, new)}"
    return words, (f"{size.path}={show.typed(new)}",)


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
    display, tee = Display(scenario.units), scenario.tee.from_end_wall
    show = display.length
    for new in (display.guess(tee + LONGER), display.guess(tee - LONGER)):
        words = f"tee {show(new)} from the end wall instead of {show(tee)}"
        yield words, (f"tee.from_end_wall={display.typed(new)}",)
