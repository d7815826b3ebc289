"""The same shots with adverse cloth: what is not known of cloth is a band, and its ends are flown too."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from flightsim.bay.parts import Role
from flightsim.contact.cloth_ends import END_WORDS, LIVELY, TOGETHER, lively_facing
from flightsim.contact.rebound import PartRebound
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.fly import follow_all
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.rates import make_rates, told_cases
from flightsim.study.run.result import AdverseFlight, RunResult

MOST_SHOTS = 100_000  # of the run's first that are flown with each adverse cloth


def with_adverse(
    opened: OpenBay, result: RunResult, say: Callable[[str], None] = lambda words: None, most: int = MOST_SHOTS
) -> RunResult:
    """The run with the same shots flown with each adverse cloth: all of them, up to `most`. say is told what is done.

    A grid is no sample: it has no bound that could be worse, and is not flown again.
    """
    if not result.sampled:
        return result
    shots = result.shots.take(slice(0, min(len(result.shots), most)))
    flown = []
    for name, bay in adverse_bays(opened):
        say(END_WORDS[name])
        flown.append(fly_adverse(name, END_WORDS[name], bay, shots, result))
    return replace(result, adverse=tuple(flown))


def adverse_bays(opened: OpenBay) -> Iterator[tuple[str, OpenBay]]:
    """The bay with each adverse cloth that it can have, by name; none where nothing that protects is soft."""
    if not has_cloth(opened):
        return
    names = {name for rebound in opened.rebounds.values() for name, _ in rebound.ends}
    for name in END_WORDS:
        if name in names or name == LIVELY:
            yield name, _with(opened, name)


def has_cloth(opened: OpenBay) -> bool:
    """Whether anything that protects is soft, or has a law with ends."""
    ends = {part for part, rebound in opened.rebounds.items() if rebound.ends}
    guards = [part for part in opened.bay.parts if part.role is Role.GUARD]
    return any(opened.facings[part.facing].soft or part.name in ends for part in guards)


def _with(opened: OpenBay, name: str) -> OpenBay:
    """The bay with all its cloth at one end. What has no such end stays as it is."""
    rebounds = {
        part: PartRebound(part, dict(rebound.ends).get(name, rebound.law)) for part, rebound in opened.rebounds.items()
    }
    facings = opened.facings
    if name in (LIVELY, TOGETHER):
        facings = {word: lively_facing(facing) for word, facing in facings.items()}
    return replace(opened, rebounds=rebounds, facings=facings)


def fly_adverse(name: str, words: str, bay: OpenBay, shots: ShotTable, result: RunResult) -> AdverseFlight:
    """These shots of a run in another bay, one with adverse cloth."""
    contacts, fates = follow_all(bay, shots, result.seed)
    outcome = fates.outcomes()
    beside = told_cases(bay.bay, fates, bay.surroundings().zone_harm)
    sure, rank = result.rates.confidence, shots.rank
    rates = make_rates(fates.flags, outcome, shots.type, result.types, True, sure, beside, rank)
    return AdverseFlight(name, words, len(shots), bay, contacts, fates, outcome, rates)
