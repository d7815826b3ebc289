"""A run's shots in a changed bay: those that the change can touch are flown again, the others are known already."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part
from flightsim.bay.shapes import Shape
from flightsim.contact.facings import Facing
from flightsim.contact.fates import WORD, Fates, Flag
from flightsim.contact.giving import Give
from flightsim.contact.law_table import LawTable
from flightsim.contact.rebound import Law, by_facing
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.fly import follow_all, put
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.reach import Swept, Tracks, reach_of
from flightsim.study.run.result import RunResult
from flightsim.study.run.sameness import same

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]
MOST_SHOTS = 100_000  # of the run's first that changes are tried on
OF_A_PART = (Flag.BROKE_THROUGH, Flag.PAST_EDGE, Flag.STRUCK_THROUGH, Flag.HIT_UNPROTECTED)  # place: a part
NOT_COMPARED = {"part", "others"}  # of a cloth's law: what it takes from them is compared


@dataclass(frozen=True)
class Reflown:
    """The run's first shots, all of them up to MOST_SHOTS, ready to be flown in changed bays."""

    opened: OpenBay
    shots: ShotTable
    fates: Fates
    seed: int
    tracks: Tracks | None = None  # where they went, if it is known: else they are flown once more for that

    @classmethod
    def of(cls, opened: OpenBay, result: RunResult, most: int = MOST_SHOTS, tracks: Tracks | None = None) -> Reflown:
        """Of a run in this bay."""
        n = min(len(result.shots), most)
        return cls(opened, result.shots.take(slice(0, n)), result.fates.first(n), result.seed, tracks)

    def first(self, most: int) -> Reflown:
        """No more than so many of them."""
        if len(self.shots) <= most:
            return self
        return Reflown(self.opened, self.shots.take(slice(0, most)), self.fates.first(most), self.seed, self.tracks)

    @cached_property
    def _reach(self) -> Swept:
        if self.tracks is None:
            return reach_of(self.opened, self.shots, self.seed)
        return self.tracks.of(len(self.shots))

    def in_bay(self, changed: OpenBay) -> Fates:
        """What becomes of the shots in a changed bay: to the last bit what flying all of them there gives."""
        change = what_changed(self.opened, changed)
        if change is None:
            return follow_all(changed, self.shots, self.seed)[1]
        fates = _carried_over(self.opened.bay, changed.bay, self.fates)
        shots = np.flatnonzero(self.can_touch(change))
        if shots.size:
            _, anew = follow_all(changed, self.shots.take(shots), self.seed)
            for column in fields(Fates):
                getattr(fates, column.name)[..., shots] = getattr(anew, column.name)
        return fates

    def can_touch(self, change: Change) -> Mask:
        """Which shots `(n,)` a change can touch: whoever met what is no more as it was, or comes to where something
        new is; and all that ended in a way that nobody knows.
        """
        near = self._reach.near(len(self.shots), change.new, change.old, change.all)
        return np.asarray(self.fates.with_flag(Flag.UNRESOLVED) | near)


@dataclass(frozen=True)
class Change:
    """Parts that are not the same in two bays. old: their numbers in the first; new `(k, 6)`, m: the boxes of those
    that are where nothing or something else was; all `(m, 6)`: of both.
    """

    old: Index
    new: Array
    all: Array


def what_changed(before: OpenBay, after: OpenBay) -> Change | None:
    """What is not the same in both bays; None where it is more than parts: the room, its openings, who is where, the
    ball, the air.
    """
    if not _same_world(before, after):
        return None
    old_parts, new_parts = _parts(before), _parts(after)
    alike = {name for name in {*old_parts} & {*new_parts} if _same_part(old_parts[name], new_parts[name])}
    old = np.array([k for k, name in enumerate(old_parts) if name not in alike], dtype=np.intp)
    was = [old_parts[name][0].shape for name in old_parts if name not in alike]
    comes = [
        new_parts[name][0].shape
        for name in new_parts
        if name not in alike and not (name in old_parts and same(old_parts[name][0].shape, new_parts[name][0].shape))
    ]
    return Change(old, _boxes(comes), _boxes([*was, *comes]))


def _boxes(shapes: Sequence[Shape]) -> Array:
    return np.array([np.concatenate(shape.bounds()) for shape in shapes]).reshape(-1, 6)


def _same_world(before: OpenBay, after: OpenBay) -> bool:
    one, other = before.surroundings(), after.surroundings()
    energies = [around.harmless_energy(before.physics.ball) for around in (one, other)]
    pairs = [(before.physics, after.physics), (before.bay.openings, after.bay.openings), tuple(energies),
             (before.bay.zones, after.bay.zones), (before.bay.lower, after.bay.lower),
             (before.bay.upper, after.bay.upper), (one.zone_harm, other.zone_harm),
             (one.harm_speed, other.harm_speed), (one.tests, other.tests)]  # fmt: skip
    return all(same(*pair) for pair in pairs)


Whole = tuple[Part, Facing, Law]


def _parts(opened: OpenBay) -> dict[str, Whole]:
    """Every part by name, with its facing and law."""
    around = opened.surroundings()
    wholes = zip(opened.bay.parts, around.facings, around.laws, strict=True)
    return {part.name: each for each in wholes for part in each[:1]}


def _same_part(one: Whole, other: Whole) -> bool:
    """Whether a ball finds no difference."""
    first_part, other_part = replace(one[0], facing="", owner=""), replace(other[0], facing="", owner="")
    facings = [replace(facing, name="") for facing in (one[1], other[1])]
    return same(first_part, other_part) and same(*facings) and _same_law(one[2], other[2])


def _same_law(one: Law, other: Law) -> bool:
    if one is other:
        return True
    if isinstance(one, LawTable):
        return same(one, other)
    if by_facing in (one, other) or not (isinstance(one, Give) and isinstance(other, Give)):
        return False
    names = [each.name for each in fields(Give) if each.name not in NOT_COMPARED]
    return one.open_at == other.open_at and all(same(getattr(one, name), getattr(other, name)) for name in names)


def _carried_over(before: Bay, after: Bay, fates: Fates) -> Fates:
    """The fates of balls that met nothing of what changed, with the changed bay's numbers of parts and guards."""
    known = {part.name: k for k, part in enumerate(after.parts)}
    parts = np.array([*(known.get(part.name, -1) for part in before.parts), -1], dtype=np.intp)
    place = fates.place.copy()
    for flag in OF_A_PART:
        place[flag] = parts[fates.place[flag]]
    carried = Fates.empty(len(fates), len(after.zones), len(after.guard_labels()))
    put(carried, fates, 0, len(fates), but=("place", "came_from", "zone_from", "touched"))
    carried.place[:], carried.came_from[:], carried.zone_from[:] = place, parts[fates.came_from], parts[fates.zone_from]
    labels = {label: k for k, label in enumerate(after.guard_labels())}
    for k, label in enumerate(before.guard_labels()):
        if label in labels:
            to, bit = divmod(labels[label], WORD)
            had = (fates.touched[k // WORD] >> np.uint64(k % WORD)) & np.uint64(1)
            carried.touched[to] |= had << np.uint64(bit)
    return carried
