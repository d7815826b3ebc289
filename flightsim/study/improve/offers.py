"""What is no change of the protection, and may help all the same: told apart, and never counted as met."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.errors import BadInputError
from flightsim.scenario.reading.declared import MayBeMoved, MayBeShut, declared
from flightsim.scenario.reading.display import Display, as_written
from flightsim.study.improve.look import LIKELY, Flight, Goal, Look, short_of
from flightsim.study.run.open_bay import OpenBay, open_bay

Array = NDArray[np.float64]
LEAST = 0.1  # of the log of what is too often: an offer that does less is not told
MOVED = 0.5  # m


@dataclass(frozen=True)
class Offer:
    """One of them. words: for people, the verb first; sets: as for --set, none where a club is left out; before, after:
    the rates of the goals that it helps, by name.
    """

    words: str
    sets: tuple[str, ...]
    before: dict[str, float]
    after: dict[str, float]


def offers(flight: Flight, look: Look) -> tuple[Offer, ...]:
    """The offers that help with what is not met, most first. flight: of the bay as improved; look: its shots."""
    opened = flight.opened
    before = look.rates(opened)
    if not look.short(before).any():
        return ()
    found = []
    for words, sets in (*_shut(opened), *_moved(opened)):
        after = _rates(opened, look, sets)
        if after is not None:
            found.append((words, sets, before, after))
    found += [(words, (), flight.rates(look.goals), after) for words, after in _left_out(flight, look.goals)]
    gains = [(_gain(look, was, now), words, sets, was, now) for words, sets, was, now in found]
    helping = sorted((gain for gain in gains if gain[0] >= LEAST), key=lambda gain: (-gain[0], gain[1]))
    return tuple(_offer(look.goals, *gain[1:]) for gain in helping[:MOST_TOLD])


MOST_TOLD = 4


def _gain(look: Look, before: Array, after: Array) -> float:
    return float((look.short(before) - short_of(look.goals, after, look.tight)).sum())


def _offer(goals: tuple[Goal, ...], words: str, sets: tuple[str, ...], before: Array, after: Array) -> Offer:
    helped = [k for k, goal in enumerate(goals) if before[k] > goal.limit and after[k] < before[k]]
    return Offer(
        words, sets, {goals[k].name: float(before[k]) for k in helped}, {goals[k].name: float(after[k]) for k in helped}
    )


def _rates(opened: OpenBay, look: Look, sets: tuple[str, ...]) -> Array | None:
    try:
        return look.rates(open_bay(opened.origin, (*opened.scenario.overrides, *sets)))
    except BadInputError:
        return None


def _shut(opened: OpenBay) -> Iterator[tuple[str, tuple[str, ...]]]:
    for thing in declared(opened.scenario, MayBeShut):
        if not thing.value:
            yield f"Keep the {thing.name} shut while balls are hit", (f"{thing.path}=true",)


def _moved(opened: OpenBay) -> Iterator[tuple[str, tuple[str, ...]]]:
    units = opened.scenario.units
    for thing in declared(opened.scenario, MayBeMoved):
        for off, way in ((MOVED, thing.said.more), (-MOVED, thing.said.less)):
            if thing.value + off >= 0.0:
                words = f"Move the {thing.name} {Display(units).length(MOVED)} {way}"
                yield words, (f"{thing.path}={as_written(thing.value + off, units)}",)


def _left_out(flight: Flight, goals: tuple[Goal, ...]) -> Iterator[tuple[str, Array]]:
    """Rates `(goals,)` without each club, the others played as much more."""
    types = flight.opened.plan.types
    clubs = sorted({kind.club for kind in types})
    for club in clubs if len(clubs) > 1 else ():
        stays = np.array([kind.club != club for kind in types])[flight.table.type]
        weight = np.where(stays, flight.weight, 0.0) / max(float(flight.weight[stays].sum()), 1e-300)
        other = Flight(flight.opened, flight.table, weight, {LIKELY: flight.fates[LIKELY], **flight.fates})
        yield f"Leave the {club} out", other.rates(goals)
