"""The kinks that an arc's error counts are those of drag and lift as they stand in `flightsim.flight.aerodynamics`."""

from __future__ import annotations

import numpy as np
import pytest

from flightsim.engine import kinks
from flightsim.flight.aerodynamics import Naruo2004LowLift, ferguson2022, naruo2004

STEP = 1.0e-4
QUICK, SLOW = 2.0e5, 4.0e4  # Re above all that rises at low Re, and below


def side(model, S, Re, way):
    """Value, slope and curvature of CD and CL on one side of S, `(3, 2)`: of a parabola through three places."""
    places = S + way * np.array([1e-9, STEP, 2.0 * STEP])
    found = np.array(model(places, np.full(3, Re)))
    fits = np.polyfit((places - S) / STEP, found.T, 2)
    return np.array([fits[2], fits[1] / STEP, 2.0 * fits[0] / STEP**2])


def jumps(model, S, Re=QUICK):
    """By how much CD and CL together jump in value, slope and curvature."""
    return np.abs(side(model, S, Re, 1.0) - side(model, S, Re, -1.0)).sum(axis=1)


@pytest.mark.parametrize(
    ("model", "Re", "kink"),
    [
        *((ferguson2022, QUICK, kink) for kink in kinks.FERGUSON_KINKS),
        *((naruo2004, QUICK, kink) for kink in kinks.NARUO_KINKS),
        (naruo2004, SLOW, kinks.NARUO_HELD),
    ],
)
def test_each_kink_is_where_drag_or_lift_jumps_and_by_so_much(model, Re, kink):
    value, slope, curvature = jumps(model, kink[0], Re)
    assert value == pytest.approx(kink[1], abs=2e-6)
    assert slope == pytest.approx(kink[2], rel=0.02, abs=1e-4)
    assert curvature == pytest.approx(kink[3], rel=0.05, abs=0.05)


@pytest.mark.parametrize(
    ("model", "known"),
    [(ferguson2022, kinks.FERGUSON_KINKS), (naruo2004, kinks.NARUO_KINKS), (Naruo2004LowLift(0.0), kinks.NARUO_KINKS)],
)
def test_drag_and_lift_have_no_other_kink_over_spin(model, known):
    for S in np.arange(0.01, 2.0, 0.01):
        if min(abs(S - kink[0]) for kink in known) > 3.0 * STEP:
            value, slope, _ = jumps(model, S)
            assert value < 1e-6
            assert slope < 1e-3


@pytest.mark.parametrize("k_low", [0.0, -0.5])
def test_low_lift_and_drags_rise_begin_and_end_where_the_kinks_say_and_bend_no_more(k_low):
    model, step = Naruo2004LowLift(k_low), 10.0
    Re = np.arange(3.0e4, 9.0e4, step)
    for S in (0.01, 0.1, 0.5):
        for each, most in zip(
            model(np.full_like(Re, S), Re), (kinks.MOST_RISE, kinks.MOST_LIFT * (1.0 - k_low)), strict=True
        ):
            bends = np.diff(each, 2) / step**2
            jump, place = np.abs(np.diff(bends)), Re[1:-2] + 0.5 * step
            bound = kinks.STEP_BENDS * most / (2.5e4 if most == kinks.MOST_RISE else 1.0e4) ** 2
            assert jump.max() <= bound
            where = place[jump > 0.05 * bound]
            assert all(min(abs(x - k) for k in (*kinks.LOW_LIFT_RE, *kinks.NARUO_RISES)) < 3 * step for x in where)
