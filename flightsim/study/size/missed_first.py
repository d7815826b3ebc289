"""Which shots meet no guard first, in each of many bays: those that differ in parts alone are flown in one batch."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Role
from flightsim.engine.follow import first_contacts
from flightsim.engine.many_sizes import guard_first
from flightsim.flight.launches import Launches
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.same_shots import started_in
from flightsim.study.run.sameness import same

Mask = NDArray[np.bool_]


def missed_first(opened: Sequence[OpenBay], home: OpenBay, table: ShotTable) -> Mask:
    """Shots `(m, n)`, drawn in the bay `home`, that meet no guard first in each of m bays.

    Each starts where the other bay has its tee.
    """
    missed = np.ones((len(opened), len(table)), dtype=np.bool_)
    tables = [started_in(table, home, bay) for bay in opened]
    left = list(range(len(opened)))
    while left:
        alike = [k for k in left if _alike(opened[left[0]], opened[k]) and _same_starts(tables[left[0]], tables[k])]
        missed[alike] = _together([opened[k] for k in alike], tables[alike[0]])
        left = [k for k in left if k not in alike]
    return missed


def missed_in(opened: OpenBay, launches: Launches) -> Mask:
    """Launches `(n,)` that meet no guard first in this bay."""
    tests = opened.plugins.touch_tests(opened.bay)
    part = first_contacts(opened.physics, launches, opened.bay, tests).part
    guard = np.array([*(part.role is Role.GUARD for part in opened.bay.parts), False])
    return np.asarray(~guard[part])


def _together(bays: Sequence[OpenBay], table: ShotTable) -> Mask:
    """The same shots in bays that differ in parts alone `(m, n)`."""
    first = bays[0]
    if len(bays) == 1 or any(bay.plugins.touch_tests(bay.bay) for bay in bays):
        return np.stack([missed_in(bay, table.launches()) for bay in bays])
    met, alone = guard_first(first.physics, table.launches(), [bay.bay for bay in bays], _shared(bays))
    missed, alone_rows = ~met, np.flatnonzero(alone)
    if alone_rows.size:
        for k, bay in enumerate(bays):
            missed[k, alone_rows] = missed_in(bay, table.take(alone_rows).launches())
    return missed


def _alike(one: OpenBay, other: OpenBay) -> bool:
    """Whether two bays differ in no more than parts, for a ball on its first way."""
    pairs: list[tuple[object, object]] = [(one.physics, other.physics)]
    pairs += [(getattr(one.bay, name), getattr(other.bay, name)) for name in ("openings", "lower", "upper")]
    return all(same(*pair) for pair in pairs)


def _same_starts(one: ShotTable, other: ShotTable) -> bool:
    return one is other or np.array_equal(one.start, other.start)


def _shared(bays: Sequence[OpenBay]) -> list[str]:
    """The names of the parts that are the same in all of these bays."""
    first: Bay = bays[0].bay
    names = [part.name for part in first.parts]
    by_name = {part.name: (part.shape, part.role) for part in first.parts}
    for bay in bays[1:]:
        others = {part.name: (part.shape, part.role) for part in bay.bay.parts}
        names = [name for name in names if name in others and same(by_name[name], others[name])]
    return names
