"""Bounce-back: how far from the screen balls first land that it sends back, and how far from it they end, by club."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, PartKind, Role
from flightsim.contact.fates import Fates, Flag
from flightsim.contact.giving import hung
from flightsim.contact.log import ContactList, ContactLog
from flightsim.engine.follow import first_contacts
from flightsim.errors import stop_if_asked
from flightsim.shots.shot_table import ShotTable, ShotType
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.result import BounceBack, Reach, RunResult

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]
CALL = 8192  # balls followed to rest at a time: between two Ctrl-C is heard
BALLS = 2000  # a club that meet a screen first: with fewer in the run more are flown
MOST_SHOTS = 50_000  # drawn for that in all, beyond which a club that seldom meets a screen has fewer
LONG_WAY = 0.9  # the share of balls that come no further


def with_bounce_back(opened: OpenBay, result: RunResult, balls: int = BALLS) -> RunResult:
    """The run with where its balls land and end, by club; none of a bay without a screen.

    balls: a club, followed to rest: the run's first, or more of the same stream where it has fewer.
    """
    screens = opened.bay.guards_of(PartKind.SCREEN)
    if not screens:
        return result
    part, table, drawn = result.contacts.part, result.shots, len(result.shots)
    met = np.isin(part, _places(opened.bay, screens))
    if result.sampled and not opened.plan.grid_size and (wanted := _shots_needed(result, met, balls)) > drawn:
        flyer = Flyer.of(opened, result.seed)
        table = flyer.draw(0, wanted)
        contacts = first_contacts(opened.physics, table.launches(), opened.bay, flyer.around.tests)
        met = np.isin(contacts.part, _places(opened.bay, screens))
    chosen, weight = _chosen(table, met, result.types, balls)
    flown = _followed(opened, result.seed, table.take(chosen), screens)
    kind = table.type[chosen]
    clubs = list(dict.fromkeys(shot_type.club for shot_type in result.types))
    by_club = [
        _of_club(club, flown, weight, np.array([other.club == club for other in result.types])[kind], chosen >= drawn)
        for club in clubs
    ]
    return replace(result, bounce_back=tuple(answer for answer in by_club if answer.balls))


def _places(bay: Bay, parts: Sequence[Part]) -> list[int]:
    names = {part.name for part in parts}
    return [k for k, part in enumerate(bay.parts) if part.name in names]


def _shots_needed(result: RunResult, met: Mask, balls: int) -> int:
    """How many shots of the stream likely hold so many balls of each club that meet a screen first."""
    clubs = np.array([shot_type.club for shot_type in result.types])[result.shots.type]
    seen = min((int(met[clubs == club].sum()) for club in set(clubs) if met[clubs == club].any()), default=balls)
    drawn = len(result.shots)
    return drawn if seen >= balls else max(drawn, min(int(1.1 * drawn * balls / seen), MOST_SHOTS))


def _chosen(table: ShotTable, met: Mask, types: Sequence[ShotType], balls: int) -> tuple[Index, Array]:
    """Of each club the first `balls` shots that met a screen first, and what each stands for of all balls.

    What comes of a club is counted up to the last of these; a type of it then stands for its share of all.
    """
    chosen, weight = [], []
    share = np.array([shot_type.share for shot_type in types])
    for club in sorted({shot_type.club for shot_type in types}):
        of_club = np.flatnonzero(np.array([shot_type.club == club for shot_type in types])[table.type])
        there = np.flatnonzero(met[of_club])
        if there.size > balls:
            of_club, there = of_club[: there[balls - 1] + 1], there[:balls]
        shots_of_type = np.bincount(table.type[of_club], minlength=len(types))
        chosen.append(of_club[there])
        weight.append((share / np.maximum(shots_of_type, 1))[table.type[of_club[there]]])
    order = np.argsort(np.concatenate(chosen))
    return np.concatenate(chosen)[order], np.concatenate(weight)[order]


@dataclass(frozen=True)
class _Flown:
    """Where balls that met a screen landed first and ended, m in front of it `(n,)`; NaN where they did not."""

    landed: Array
    ended: Array


def _followed(opened: OpenBay, seed: int, table: ShotTable, screens: Sequence[Part]) -> _Flown:
    """Follow these balls until they rest."""
    flyer, log, ends = Flyer.of(opened, seed), ContactLog(), []
    for first in range(0, len(table), CALL):
        piece_log = ContactLog()
        _, fates = flyer.follow(table.take(slice(first, first + CALL)), to_rest=True, log=piece_log)
        log.rows += [(row[0] + first, *row[1:]) for row in piece_log.rows]
        ends.append(fates)
        stop_if_asked()
    return _measured(opened.bay, screens, log.sorted(), ends, len(table))


def _measured(bay: Bay, screens: Sequence[Part], contacts: ContactList, ends: Sequence[Fates], n: int) -> _Flown:
    floor = np.array([part.role is Role.FLOOR for part in bay.parts])
    first = np.full(n, -1, dtype=np.intp)
    opening = contacts.number == 0
    first[contacts.shot[opening]] = contacts.part[opening]
    landed, ended = np.full(n, np.nan), np.full(n, np.nan)
    down = np.flatnonzero(floor[contacts.part] & (contacts.number > 0))
    shot, place = np.unique(contacts.shot[down], return_index=True)
    point = np.concatenate([fates.point for fates in ends], axis=-1) if ends else np.empty((3, 0))
    rests = np.concatenate([_stays(fates) for fates in ends]) if ends else np.empty(0, dtype=bool)
    for screen, k in zip(screens, _places(bay, screens), strict=True):
        met_first = first[shot] == k
        landed[shot[met_first]] = in_front(screen, contacts.point[:, down[place[met_first]]])
        still = (first == k) & rests
        ended[still] = in_front(screen, point[:, still])
    return _Flown(landed, ended)


def _stays(fates: Fates) -> Mask:
    """Balls that ended in the room, and were followed there."""
    return np.asarray((fates.left < 0) & ~fates.with_flag(Flag.UNRESOLVED) & ~fates.with_flag(Flag.BROKE_THROUGH))


def in_front(screen: Part, points: Array) -> Array:
    """How far points `(3, k)` are from a screen on the tee's side, m `(k,)`, along the floor; below 0 behind it."""
    frame = hung(screen)
    if frame is None:
        return np.asarray(float(screen.shape.bounds()[0][0]) - points[0])
    level = frame.out[:2] / np.linalg.norm(frame.out[:2])
    return np.asarray((frame.corner[:2, None] - points[:2]).T @ level)


def _of_club(club: str, flown: _Flown, weight: Array, of_club: Mask, extra: Mask) -> BounceBack:
    return BounceBack(
        club, int(of_club.sum()), int((of_club & extra).sum()),
        _reach(flown.landed[of_club], weight[of_club]), _reach(flown.ended[of_club], weight[of_club]),
    )  # fmt: skip


def _reach(far: Array, weight: Array) -> Reach | None:
    """Median, 90 % and farthest, of balls as they are played; None where none is known."""
    known = ~np.isnan(far)
    if not known.any():
        return None
    far, weight = far[known], weight[known]
    order = np.argsort(far, kind="stable")
    share = np.cumsum(weight[order])
    median, p90 = (float(far[order[np.searchsorted(share, quantile * share[-1])]]) for quantile in (0.5, LONG_WAY))
    return Reach(int(known.sum()), median, p90, float(far.max()))
