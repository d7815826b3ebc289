"""Shots of one bay hit in another: from that bay's own tees."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.same_shots import started_in

HALL = Path(__file__).parents[3] / "scenarios" / "village_hall.yaml"


def test_where_one_of_several_tees_has_moved_only_its_own_shots_start_elsewhere():
    home = open_bay(HALL)
    first, *others = home.scenario.tee.spots
    assert others
    away = round(float(first.from_end_wall) + 0.1, 3)
    other = open_bay(HALL, [f"tee.spots.0.from_end_wall={away}m"])
    table = Flyer.of(home, 1).draw(0, 500)
    moved = started_in(table, home, other).start - table.start
    of_spot = np.array([home.plan.types[k].spot == first.name for k in table.type])
    assert moved[0, of_spot] == pytest.approx(first.from_end_wall - away)
    assert (moved[:, ~of_spot] == 0.0).all()
    assert (moved[1:] == 0.0).all()
