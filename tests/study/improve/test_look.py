"""What a change is flown on: few shots that stand for all, with all ways to go wrong in sight."""

from __future__ import annotations

import numpy as np
import pytest
from improve_bays import opened_hall

from flightsim.study.improve.look import Flight, Look, goals_of
from flightsim.study.run.open_bay import open_changed


def test_a_look_from_a_better_bay_tells_how_it_was_before_where_what_went_wrong_then_is_kept_in_sight(tmp_path):
    home = opened_hall(tmp_path)
    better = open_changed(home, ("canopy.depth=2.4 m", "canopy.side_overhang=900 mm"))
    goals, tight = goals_of(home), np.ones(1)
    was, now = (Flight.of(bay, 4096, 1, False) for bay in (home, better))
    (before,), (after,) = was.rates(goals), now.rates(goals)
    assert after < 0.7 * before
    blind, sighted = (Look.of(now, goals, tight, 1, elsewhere=each) for each in (None, was.wrong(goals)))
    assert sighted.weight.sum() == pytest.approx(blind.weight.sum())
    assert sighted.rates(home)[0] == pytest.approx(before, rel=1e-9)
    assert sighted.rates(better)[0] == pytest.approx(after, rel=1e-9)
    assert abs(blind.rates(home)[0] / before - 1.0) > 0.01  # of what goes right it has some by lot
