"""What each rate target counts: a mask of the balls, from their fates."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.bay.people import Zone
from flightsim.contact.fates import Fates, Flag
from flightsim.scenario.reading.harm import energy_at, speed_at
from flightsim.scenario.reading.models import Scenario

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
HARD = energy_at(9.7)  # J: half of the eyes hit have an abrasion (Duma et al. 2005, J Trauma, 9.67 m/s of a golf ball)
NOT_COMPUTED = "not computed yet"
HEAVY = 15.0  # J at a body (judgement)


@dataclass(frozen=True)
class Ends:
    """What became of a set of balls in a bay. ball_mass, kg."""

    scenario: Scenario
    bay: Bay
    fates: Fates
    ball_mass: float

    @property
    def flags(self) -> dict[str, int]:
        """The row of each flag in the fates, by its key: those that this version knows."""
        return {flag.key: int(flag) for flag in Flag}

    def reaching(self, wanted: Callable[[Zone], bool], energy: float | None, place: str) -> Mask:
        """Balls `(n,)` that reach a zone that is wanted, of this person ("" for anybody), with this energy, J, or more;
        None: with what harms there.
        """
        scenario = self.scenario
        zones = np.array([wanted(zone) and place in ("", zone.person) for zone in self.bay.zones], dtype=bool)
        least = [max(energy or 0.0, scenario.harm_energy if zone.delicate else scenario.blunt_harm_energy)
                 for zone in self.bay.zones]  # fmt: skip
        harm = np.array([speed_at(least_energy, self.ball_mass) for least_energy in least], dtype=np.float64)
        return np.asarray(~np.isnan(self.fates.hits(zones, harm)))

    def flagged(self, key: str, places: frozenset[str] | None) -> Mask:
        """Balls `(n,)` with this flag, at one of these places by its worst; None: anywhere."""
        row = self.flags[key]
        with_flag = self.fates.with_flag(row)
        return np.asarray(with_flag if places is None else with_flag & self._there(row, key, places))

    def _there(self, row: int, key: str, places: frozenset[str]) -> Mask:
        names = [part.label for part in self.bay.parts]
        if key == Flag.GOT_OUT.key:
            names = self.bay.ways_out
        known = np.array([name in places for name in names] + [False], dtype=bool)
        place = self.fates.place[row]
        return np.asarray(known[np.where((place >= 0) & (place < len(names)), place, len(names))])


@dataclass(frozen=True)
class TargetKind:
    """One rate target. words: what is counted, for people; severe: it has to be met at worst as well; comfort: it
    harms nobody; asked: why it is not asked in this bay, "" where it is; mask: which balls, at a place or anywhere.
    """

    words: str
    mask: Callable[[Ends, str], Mask]
    severe: bool = False
    comfort: bool = False
    not_asked: Callable[[Scenario, Bay], str] = lambda scenario, bay: ""


def _hitters_head(zone: Zone) -> bool:
    return bool(zone.own_spot) and zone.head and not zone.small


def _others_head(zone: Zone) -> bool:
    return not zone.own_spot and zone.head and not zone.small


def _childs(zone: Zone) -> bool:
    return zone.small


def _body(zone: Zone) -> bool:
    return not zone.delicate


def _people(words: str, wanted: Callable[[Zone], bool], energy: float | None, nobody: str) -> TargetKind:
    return TargetKind(
        words, lambda ends, place: ends.reaching(wanted, energy, place), severe=energy is not None,
        not_asked=lambda scenario, bay: "" if any(map(wanted, bay.zones)) else nobody,
    )  # fmt: skip


def _flag(words: str, key: str) -> TargetKind:
    computed = "" if key in {flag.key for flag in Flag} else NOT_COMPUTED
    return TargetKind(
        words, lambda ends, place: ends.flagged(key, frozenset({place}) if place else None),
        not_asked=lambda scenario, bay: computed,
    )  # fmt: skip


def _fragile(ends: Ends, place: str) -> Mask:
    """Balls that mark what is fragile, or go through it."""
    there = frozenset(part.label for part in ends.bay.parts if part.fragile and place in ("", part.label))
    return ends.flagged(Flag.HIT_UNPROTECTED.key, there) | ends.flagged(Flag.BROKE_THROUGH.key, there)


def _toward_people(ends: Ends, place: str) -> Mask:
    openings = frozenset(ends.scenario.targets.toward_people)
    return ends.flagged(Flag.GOT_OUT.key, openings if not place else openings & {place})


def _comes_back(ends: Ends, place: str) -> Mask:
    zones = np.array([place in ("", zone.person) for zone in ends.bay.zones], dtype=bool)
    harmless = ~np.isnan(ends.fates.harmless_return)
    return np.asarray(harmless & ~np.isnan(ends.fates.hits(zones)))


CHILDREN, OTHERS, HITTER = "children", "onlookers", "who hits"
KINDS: dict[str, TargetKind] = {
    "hitter_head": _people("hitter's head", _hitters_head, None, HITTER),
    "hitter_head_hard": _people("fast at hitter's head", _hitters_head, HARD, HITTER),
    "other_head": _people("another's head", _others_head, None, OTHERS),
    "other_head_hard": _people("fast at another's head", _others_head, HARD, OTHERS),
    "child": _people("a child", _childs, None, CHILDREN),
    "child_hard": _people("fast at a child", _childs, HARD, CHILDREN),
    "body": _people("hard at a body", _body, HEAVY, "people"),
    "got_out": _flag("left the room", "got_out"),
    "got_out_toward_people": TargetKind(
        "left toward people", _toward_people,
        not_asked=lambda scenario, bay: "" if scenario.targets.toward_people else "a path or neighbour",
    ),
    "broke_through": _flag("broke", "broke_through"),
    "fragile": TargetKind(
        "fragile things", _fragile,
        not_asked=lambda scenario, bay: "" if any(part.fragile for part in bay.parts) else "fragile things",
    ),
    "hit_unprotected": _flag("bare things", "hit_unprotected"),
    "past_edge": _flag("past an edge", "past_edge"),
    "struck_through": _flag("struck through cloth", "struck_through"),
    "comes_back": TargetKind("comes back", _comes_back, comfort=True),
}  # fmt: skip
