"""Which shots meet no guard first, in each of many bays."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Role
from flightsim.engine.follow import first_contacts
from flightsim.flight.launches import Launches
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.same_shots import started_in

Mask = NDArray[np.bool_]


def missed_first(opened: Sequence[OpenBay], home: OpenBay, table: ShotTable) -> Mask:
    """Shots `(m, n)`, drawn in the bay `home`, that meet no guard first in each of m bays.

    Each starts where the other bay has its tee.
    """
    return np.stack([missed_in(bay, started_in(table, home, bay).launches()) for bay in opened])


def missed_in(opened: OpenBay, launches: Launches) -> Mask:
    """Launches `(n,)` that meet no guard first in this bay."""
    tests = opened.plugins.touch_tests(opened.bay)
    part = first_contacts(opened.physics, launches, opened.bay, tests).part
    guard = np.array([*(part.role is Role.GUARD for part in opened.bay.parts), False])
    return np.asarray(~guard[part])
