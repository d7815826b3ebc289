"""The shots that every change is flown on: those that anything went wrong with, and some of the others, weighted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Fates, Flag
from flightsim.scenario.reading.shares import NOT_ASKED
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.adverse import adverse_bays
from flightsim.study.run.built_off import AS_BUILT, built_off
from flightsim.study.run.fly import Flyer, follow_all
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.result import RunResult
from flightsim.study.run.same_shots import started_in
from flightsim.study.run.target_kinds import KINDS, Ends, TargetKind

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]
LIKELY = ""  # the name of the likely cloth among the adverse ones
MOST = 600  # shots of a look, of each kind
RARE = 0.2  # of MOST: what goes wrong with fewer shots is looked at with all of them
ROOM = 0.7  # the part of its limit that a rate is brought below: what is seen later may be more
COMFORT_COUNTS = 0.3  # how much a target of comfort weighs against one of harm (judgement)
_FLOOR = 0.05  # of a limit: rates below it are as good as none


@dataclass(frozen=True)
class Goal:
    """One rate target that the bay is asked."""

    name: str
    key: str
    place: str
    limit: float
    kind: TargetKind

    def mask(self, opened: OpenBay, fates: Fates) -> Mask:
        """Balls `(n,)` that count: what is unresolved does."""
        ends = Ends(opened.scenario, opened.bay, fates, opened.physics.ball.mass)
        return np.asarray(self.kind.mask(ends, self.place) | fates.with_flag(Flag.UNRESOLVED))


def goals_of(opened: OpenBay) -> tuple[Goal, ...]:
    """The rate targets that are asked of a bay."""
    asked = opened.scenario.targets
    return tuple(
        Goal(f'{key}."{place}"' if place else key, key, place, limit, kind)
        for key, kind in KINDS.items()
        for place, limit in asked.limits(key).items()
        if limit != NOT_ASKED and not kind.not_asked(opened.scenario, opened.bay)
    )


@dataclass(frozen=True)
class Flight:
    """Shots flown in one bay as drawn with the likely cloth, and in worse ones. fates: by their names, LIKELY first."""

    opened: OpenBay
    table: ShotTable
    weight: Array
    fates: Mapping[str, Fates]

    @classmethod
    def of_run(cls, opened: OpenBay, result: RunResult) -> Flight:
        """A run's shots, with each adverse cloth, and each bay built off, in which all of them were flown."""
        n = len(result.shots)
        adverse = {
            flight.name: flight.fates for flight in (*result.adverse, *(result.built_off or ())) if flight.shots == n
        }
        return cls(opened, result.shots, result.weight, {LIKELY: result.fates} | adverse)

    @classmethod
    def of(cls, opened: OpenBay, shots: int, seed: int, adverse: bool | Sequence[str]) -> Flight:
        """So many shots of a bay. adverse: whether in each worse bay as well, or in which of them: see `worse_bays`."""
        flyer = Flyer.of(opened, seed)
        chunks = [flyer.draw(first, min(BLOCK, shots - first)) for first in range(0, shots, BLOCK)]
        table = joined(chunks)
        return cls.flown(opened, table, opened.plan.weights(shots), adverse)

    @classmethod
    def flown(cls, opened: OpenBay, table: ShotTable, weight: Array, adverse: bool | Sequence[str]) -> Flight:
        """Fly the look's shots in a bay."""
        names = None if adverse is True else adverse or ()
        bays = {LIKELY: opened, **worse_bays(opened, names)}
        return cls(opened, table, weight, {name: follow_all(bay, table, 0)[1] for name, bay in bays.items()})

    def masks(self, goal: Goal) -> dict[str, Mask]:
        """Balls `(n,)` that count, by cloth: a severer goal asks all of them, another the likely one."""
        names = self.fates if goal.kind.severe else [LIKELY]
        return {name: goal.mask(self.opened, self.fates[name]) for name in names}

    def wrong(self, goals: Sequence[Goal]) -> Mask:
        """Balls `(n,)` that count against any goal of harm."""
        wrong = np.zeros(len(self.table), dtype=bool)
        for mask in (mask for goal in goals if not goal.kind.comfort for mask in self.masks(goal).values()):
            wrong |= mask
        return wrong

    def rates(self, goals: Sequence[Goal]) -> Array:
        """Rates `(goals,)` of balls as played, each with its worst cloth."""
        return np.array([max(float(self.weight @ mask) for mask in self.masks(goal).values()) for goal in goals])

    def worst_cloth(self, goals: Sequence[Goal]) -> tuple[str, ...]:
        """The worse bays that are the worst for any of the severer goals, beside the likely cloth; and always the one
        that is built off with adverse cloth.
        """
        found = {LIKELY}
        for goal in goals:
            rates = {name: float(self.weight @ mask) for name, mask in self.masks(goal).items()}
            found.add(max(rates, key=lambda name: rates[name]))
        built = [name for name in self.fates if name.startswith(AS_BUILT)]
        return tuple(sorted(found.union(built[-1:])))  # a change may bring what no bay as found shows


BLOCK = 32_768


def worse_bays(opened: OpenBay, names: Sequence[str] | None = None) -> dict[str, OpenBay]:
    """The bay with each adverse cloth, and with every size off to its worse side, with likely cloth and the most
    adverse. names: which of them; None for all.
    """
    found = dict(adverse_bays(opened))
    if names is None or any(name.startswith(AS_BUILT) for name in names):
        off = built_off(opened)
        if off is not None:
            ends = list(adverse_bays(off))[-1:]
            found |= {AS_BUILT: off} | {f"{AS_BUILT}_{name}": bay for name, bay in ends}
    return {name: bay for name, bay in found.items() if names is None or name in names}


def joined(tables: Sequence[ShotTable]) -> ShotTable:
    """Shots one after another."""
    whole = ShotTable.empty(sum(map(len, tables)))
    first = 0
    for table in tables:
        for name in ShotTable.__dataclass_fields__:
            getattr(whole, name)[..., first : first + len(table)] = getattr(table, name)
        first += len(table)
    return whole


@dataclass(frozen=True)
class Look:
    """A weighted choice of a flight's shots.

    table: the shots, as they start in home; weight `(k,)`: of each, as many as it stands for; cloth: the names of
    the worse bays that are flown; tight `(goals,)`: the part of its limit that each goal's rate is brought below.
    """

    home: OpenBay
    table: ShotTable
    weight: Array
    goals: tuple[Goal, ...]
    cloth: tuple[str, ...]
    tight: Array

    @classmethod
    def of(
        cls, flight: Flight, goals: tuple[Goal, ...], tight: Array, seed: int, most: int = MOST,
        elsewhere: Mask | None = None,
    ) -> Look:  # fmt: skip
        """Of the shots that anything went wrong with, what is rare first, of those that it went wrong with elsewhere
        `(n,)`: in bays that a change may lead back to, of others that come back past the tee, and of the rest, by lot:
        `most` of each kind at most.
        """
        wrong, rare = np.zeros((2, len(flight.table)), dtype=bool)
        for mask in (mask for goal in goals if not goal.kind.comfort for mask in flight.masks(goal).values()):
            wrong |= mask
            rare |= mask & (np.count_nonzero(mask) <= RARE * most)
        lot = np.random.default_rng(seed)
        taken, weight = [], []
        other = np.zeros_like(wrong) if elsewhere is None else elsewhere & ~wrong
        back = ~wrong & ~other & ~np.isnan(flight.fates[LIKELY].behind_tee)
        for group in map(np.flatnonzero, (rare, wrong & ~rare, other, back, ~wrong & ~other & ~back)):
            chosen = np.sort(lot.permutation(group)[:most])
            taken.append(chosen)
            scale = float(flight.weight[group].sum()) / max(float(flight.weight[chosen].sum()), 1e-300)
            weight.append(flight.weight[chosen] * scale)
        shots = np.concatenate(taken)
        return cls(flight.opened, flight.table.take(shots), np.concatenate(weight), goals,
                   flight.worst_cloth(goals), tight)  # fmt: skip

    def rates(self, opened: OpenBay, likely: bool | None = None) -> Array:
        """What rates `(goals,)` a changed bay would have. likely: with likely cloth alone, or with adverse alone."""
        table = self.table if _same_starts(self.home, opened) else started_in(self.table, self.home, opened)
        bays = {LIKELY: opened} if likely in (None, True) else {}
        if len(self.cloth) > 1 and likely in (None, False):
            bays |= worse_bays(opened, self.cloth)
        found = np.zeros(len(self.goals))
        for name, bay in bays.items():
            fates = follow_all(bay, table, 0)[1]
            for k, goal in enumerate(self.goals):
                if name == LIKELY or goal.kind.severe:
                    found[k] = max(found[k], float(self.weight @ goal.mask(bay, fates)))
        return found

    def short(self, rates: Array) -> Array:
        """By how much each goal is missed `(goals,)`: the log of what it is too often; nought where it is met."""
        return short_of(self.goals, rates, self.tight)

    def score(self, rates: Array) -> float:
        """How much is missed in all: nought where every goal is met."""
        return float(self.short(rates).sum())


def short_of(goals: Sequence[Goal], rates: Array, tight: Array) -> Array:
    """By how much each goal is missed `(goals,)`, as in Look.short."""
    limit = np.array([goal.limit for goal in goals])
    counts = np.array([COMFORT_COUNTS if goal.kind.comfort else 1.0 for goal in goals])
    floor = _FLOOR * limit
    return np.asarray(counts * np.maximum(0.0, np.log((rates + floor) / (tight * limit + floor))))


def _same_starts(home: OpenBay, other: OpenBay) -> bool:
    a, b = home.scenario, other.scenario
    return home is other or (a.tee == b.tee and a.ground_height == b.ground_height)
