"""What keeps a target from being met: which shots, off what, to where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Flag
from flightsim.study.improve.look import Goal
from flightsim.study.run.find_troubles import FROM_TEE
from flightsim.study.run.result import RunResult

Index = NDArray[np.intp]
PEOPLE = ("hitter_head", "other_head", "child", "body", "comes_back")


@dataclass(frozen=True)
class Defeat:
    """Of the balls that count against a target the most usual: target: its name; shot: the type; where: the part,
    opening or, for people, what they come off, empty for balls that could not be followed to their end; part: the
    share of the target's rate; rate: of all balls.
    """

    target: str
    shot: str
    where: str
    part: float
    rate: float


def defeat(result: RunResult, goal: Goal, mask: NDArray[np.bool_]) -> Defeat | None:
    """What most of these balls `(n,)` are, as played; None where there are none."""
    shots = np.flatnonzero(mask)
    whole = float(result.weight[shots].sum())
    if not shots.size or whole <= 0.0:
        return None
    labels = _where(result, goal, shots)
    kinds = np.array([result.types[k].label for k in result.shots.type[shots]], dtype=object)
    place, weight = _most(result, labels, shots)
    shot, _ = _most(result, kinds[labels == place], shots[labels == place])
    return Defeat(goal.name, shot, place, weight / whole, whole)


def _most(result: RunResult, labels: NDArray[np.object_], shots: Index) -> tuple[str, float]:
    share = {str(label): float(result.weight[shots[labels == label]].sum()) for label in set(labels.tolist())}
    best = max(share, key=lambda label: (share[label], label))
    return best, share[best]


def _where(result: RunResult, goal: Goal, shots: Index) -> NDArray[np.object_]:
    """For each shot the part or opening; for people what it came off."""
    parts = [part.label for part in result.bay.parts]
    if goal.name.startswith(PEOPLE):
        return _came_from(result, parts, shots)
    if goal.key == "fragile":
        return _fragile(result, parts, shots)
    key = {"got_out_toward_people": "got_out"}.get(goal.key, goal.key)
    flag = next((flag for flag in Flag if flag.key == key), Flag.HIT_UNPROTECTED)
    return _at(result, result.bay.ways_out if flag is Flag.GOT_OUT else parts, flag, shots)


def _at(result: RunResult, names: Sequence[str], flag: Flag, shots: Index) -> NDArray[np.object_]:
    """The part or opening of each shot's flag; empty where it has none."""
    place = result.fates.place[flag, shots]
    return np.array([*names, ""], dtype=object)[np.where((place >= 0) & (place < len(names)), place, len(names))]


def _fragile(result: RunResult, parts: list[str], shots: Index) -> NDArray[np.object_]:
    """The fragile thing that each marked or went through, whatever else it hit worse."""
    fragile = [part.label for part in result.bay.parts if part.fragile]
    hit, broke = (_at(result, parts, flag, shots) for flag in (Flag.HIT_UNPROTECTED, Flag.BROKE_THROUGH))
    return np.where(np.isin(broke, fragile), broke, np.where(np.isin(hit, fragile), hit, ""))


def _came_from(result: RunResult, parts: list[str], shots: Index) -> NDArray[np.object_]:
    """What each was last off as it came to somebody fastest; empty where it came to nobody."""
    labels = np.array([*parts, FROM_TEE], dtype=object)
    speed = np.nan_to_num(result.fates.at_zone[:, shots], nan=-1.0)
    found = labels[result.fates.zone_from[speed.argmax(axis=0), shots]]
    return np.where(speed.max(axis=0) >= 0.0, found, "")
