"""The maps of a bay: every club in use, its directions, its nearest escapes, what is shown closed, and its strings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from flightsim.contact.fates import Flag
from flightsim.contact.surroundings import Surroundings
from flightsim.study.map.closed_cells import Closing
from flightsim.study.map.direction_cells import LEVELS, STEP_DEG, make_lattice
from flightsim.study.map.direction_map import DirectionMap, Share, direction_map
from flightsim.study.map.directions import Aim, aims_of, chosen
from flightsim.study.map.envelope import BUDGET, FINEST, Closure, close
from flightsim.study.map.nearest_escapes import FACTORS, Escape, nearest_escapes
from flightsim.study.map.shooting import Shooter
from flightsim.study.map.string_check import EdgeString, string_check
from flightsim.study.run.open_bay import OpenBay

COARSE_FINEST = 32  # parts of a coarsest cell's side to which cells are cut where something is bare already


@dataclass(frozen=True)
class MapOrder:
    """What is asked for. clubs: all where none is named; factors: of the normal ball speed, a map each; others as
    direction_cells and envelope have them.
    """

    clubs: tuple[str, ...] = ()
    factors: tuple[float, ...] = (1.0,)
    step_deg: float = STEP_DEG
    levels: int = LEVELS
    budget: int = BUDGET


@dataclass(frozen=True)
class NormalShot:
    """What becomes of the normal shot itself: what it meets first, and its flags with their worst speeds, m/s."""

    meets: str
    flags: dict[str, float]


@dataclass(frozen=True)
class ClubMap:
    """One club at one speed: its map, nearest escapes, what is shown, its strings, and its normal shot."""

    map: DirectionMap
    escapes: tuple[Escape, ...]
    closure: Closure
    strings: tuple[EdgeString, ...]
    normal: NormalShot

    @property
    def aim(self) -> Aim:
        """Whose it is."""
        return self.map.aim

    @property
    def reach_first(self) -> Share:
        """Part of the envelope that gets out in the first flight."""
        return self.map.share(self.map.first, self.map.reach).over(self.map.reached)

    @property
    def reach_open(self) -> Share:
        """Part of the envelope that gets out, rebounds included."""
        return self.map.share_open(self.map.reach).over(self.map.reached)

    @property
    def nothing_open(self) -> bool:
        """No flown ball of the envelope got out, and all of it that is not floor is shown closed."""
        return self.closure.whole and self.reach_open.most == 0.0 and self.reach_first.most == 0.0


@dataclass(frozen=True)
class BayMap:
    """All maps of a scenario, in the order of its clubs, each club's speeds together."""

    opened: OpenBay
    order: MapOrder
    clubs: tuple[ClubMap, ...]


def map_bay(opened: OpenBay, order: MapOrder, say: Callable[[str], None] = lambda words: None) -> BayMap:
    """Map every club that is asked for. Raises BadInputError for a club that is not in use."""
    aims = chosen(aims_of(opened), order.clubs)
    around = opened.surroundings()
    found = []
    for aim in aims:
        for factor in order.factors:
            say(f"looking in every direction: {aim.name}")
            found.append(map_club(opened, around, aim, factor, order))
    return BayMap(opened, order, tuple(found))


def shooter_of(opened: OpenBay, around: Surroundings, aim: Aim, factor: float = 1.0) -> Shooter:
    """The shots of a club: its speed times the factor, its spin, from its place, with the people who are there then."""
    kinds = [
        not zone.own_spot or (zone.own_spot == aim.spot and zone.own_hand == aim.hand) for zone in around.bay.zones
    ]
    own = np.array(kinds, dtype=bool)
    return Shooter(opened.physics, around, aim.start, aim.ball_speed * factor, aim.spin_rate, own)


def map_club(opened: OpenBay, around: Surroundings, aim: Aim, factor: float, order: MapOrder) -> ClubMap:
    """One club at one speed. Escapes at other speeds are looked for beside the map of the normal one only."""
    shooter, lattice = shooter_of(opened, around, aim, factor), make_lattice(order.step_deg, order.levels)
    found = direction_map(shooter, aim, factor, lattice)
    escapes = nearest_escapes(found, FACTORS if factor == 1.0 else (1.0,))
    bare = found.share(found.first, found.reach).most > 0.0
    closure = close(Closing(shooter), lattice, found.coarse, COARSE_FINEST if bare else FINEST, order.budget)
    strings = string_check(around.bay, aim, opened.physics.ball.radius)
    return ClubMap(found, escapes, closure, strings, _normal(shooter, aim))


def _normal(shooter: Shooter, aim: Aim) -> NormalShot:
    contacts, fates = shooter.follow(np.array([aim.elevation]), np.array([aim.azimuth]))
    flags = {flag.key: float(fates.worst[flag, 0]) for flag in Flag if fates.with_flag(flag, 0)}
    return NormalShot(shooter.regions[shooter.region_of(contacts)[0]].name, flags)
