"""Fillets all round are as strong as the wall that they join.

Outside reference: the directional method, EN 1993-1-8:2005, 4.5.3.2 (from memory), which the simplified method that
sizes them is never to undercut; and by hand.
"""

from __future__ import annotations

from math import sqrt

import pytest

from flightsim.making.strength.welds import CORRELATION, GAMMA, LEAST, ULTIMATE, leg, throat
from flightsim.making.structure import YIELD

BY_HAND = {("S235", 2.5): (3.0, 4.5), ("S235", 4.0): (5.0, 7.5), ("S355", 4.0): (5.5, 8.0), ("S235", 1.5): (3.0, 4.5)}


@pytest.mark.parametrize(("tube", "throat_and_leg"), BY_HAND.items())
def test_a_fillet_is_as_large_as_by_hand_and_never_under_three_millimetres(tube, throat_and_leg):
    grade, wall = tube
    size = throat(grade, wall / 1e3)
    assert (size * 1e3, leg(size) * 1e3) == pytest.approx(throat_and_leg)
    assert size >= LEAST


@pytest.mark.parametrize("grade", CORRELATION)
def test_a_fillet_carries_the_wall_at_yield_along_across_and_askew_by_the_directional_method(grade):
    allowed = ULTIMATE[grade] / (CORRELATION[grade] * GAMMA)
    for wall in (2.5e-3, 3.2e-3, 5.0e-3):
        size, pull, shear = throat(grade, wall), wall * YIELD[grade], wall * YIELD[grade] / sqrt(3.0)
        square = along_throat = pull / sqrt(2.0) / size  # a pull across: half of it squares up on the throat at 45 deg
        assert sqrt(square**2 + 3.0 * along_throat**2) <= allowed
        assert sqrt(3.0) * shear / size <= allowed


def test_every_grade_that_has_a_yield_has_a_weld():
    assert set(ULTIMATE) == set(YIELD)
