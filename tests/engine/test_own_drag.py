"""Drag and lift of one's own fly as a table: read as scipy reads it, and to the tolerance where it bends sharply.

References: scipy's natural cubic splines; DOP853 (rtol 1e-11) with them.
"""

from __future__ import annotations

import numpy as np
import pytest
from bays import garage, wild_launches
from bent_air import BENT, by_scipy, where

from flightsim.engine.follow import first_contacts
from flightsim.flight.integrator import DEFAULT_TOLERANCE, Physics

BALLS, ARCS = 12, 4


@pytest.mark.parametrize("model", BENT)
def test_a_ball_is_where_scipy_has_it_by_the_same_table_however_sharply_that_bends(model):
    bay, launches, physics = garage(), wild_launches(BALLS, seed=8), Physics(aero=model)
    met = first_contacts(physics, launches, bay)
    read = by_scipy(model)
    for k, launch in enumerate(np.concatenate([launches.start, launches.velocity, launches.spin]).T):
        assert np.abs(where(physics, read, launch, met.time[k]) - met.point[:, k]).max() < ARCS * DEFAULT_TOLERANCE
