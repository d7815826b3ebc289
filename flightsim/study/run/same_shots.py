"""The same shots in another bay: a ball keeps its launch, and starts where the other bay has its tee."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from flightsim.errors import BadInputError
from flightsim.shots.shot_table import ShotTable
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.sameness import same

SAME_BALL = 1.0e-9  # relative: what two plans draw for one shot of one seed
NUMBERS = ("ball_speed", "elevation", "azimuth", "spin_rate", "spin_tilt", "spin_along")
_NOTHING = 1.0e-12


def same_balls(a: ShotTable, b: ShotTable) -> bool:
    """Whether two tables hold the same launches, wherever they start."""
    alike = (np.allclose(getattr(a, k), getattr(b, k), rtol=SAME_BALL, atol=_NOTHING) for k in NUMBERS)
    return bool(np.array_equal(a.type, b.type)) and all(alike)


def same_types(a: OpenBay, b: OpenBay) -> bool:
    """Whether two bays play the same shot types as often."""
    kinds = [[(kind.label, round(kind.share, 12)) for kind in bay.plan.types] for bay in (a, b)]
    return kinds[0] == kinds[1]


def started_in(table: ShotTable, home: OpenBay, other: OpenBay) -> ShotTable:
    """Shots drawn in the bay `home` as the same players hit them in another: the same launches, from its own tee.

    Raises BadInputError where the other bay has other shots.
    """
    if other is home or same(home.plan, other.plan):
        return table
    # Each type twice, in the first and third round (kinds_of): what moves a type's start is the same for all its shots.
    rounds = 3 * len(home.plan.types)
    at_home, elsewhere = (Flyer.of(bay, 0).draw(0, rounds) for bay in (home, other))
    if not (same_types(home, other) and same_balls(at_home, elsewhere)):
        raise BadInputError("what is varied changes the shots themselves, and not only the bay")
    moved = (elsewhere.start - at_home.start).reshape(3, 3, -1)
    if not np.allclose(moved[:, 0], moved[:, 2], atol=_NOTHING):
        raise BadInputError("what is varied changes where single shots start, and not only the tee")
    if not moved.any():
        return table
    return replace(table, start=table.start + moved[:, 0][:, table.type])
