"""Tails of a player's scatter against textbook probabilities.

Source: beyond 4 standard deviations, two-sided, the Gaussian has 6.33e-5 and Student's t with nu 4, scaled to the same
standard deviation, 4.81e-3: 76 times as much [ko-2012].
"""

from math import erfc, sqrt

import pytest

from flightsim.shots.tails import Gaussian, IndependentT, JointT

WHOLE = (float("-inf"), float("inf"))
FAR = (4.0, float("inf"))


def both_sides(law) -> float:
    return 2.0 * law.weight(FAR, WHOLE)


def test_the_gaussian_has_6_33e_5_beyond_4_sd():
    assert both_sides(Gaussian()) == pytest.approx(6.33e-5, rel=1e-3)
    assert both_sides(Gaussian()) == pytest.approx(erfc(4.0 / sqrt(2.0)), rel=1e-12)


@pytest.mark.parametrize("law", [IndependentT(4.0), JointT(4.0)])
def test_students_t_with_nu_4_has_4_81e_3_beyond_4_sd_of_one_axis(law):
    # Closed form for nu 4: P(T > t) = 1/2 - t (6 + t^2)/(2 (4 + t^2)^1.5), at t = 4 sqrt 2.
    t = 4.0 * sqrt(2.0)
    exact = 1.0 - t * (6.0 + t * t) / (4.0 + t * t) ** 1.5
    assert both_sides(law) == pytest.approx(4.81e-3, rel=1e-3)
    assert both_sides(law) == pytest.approx(exact, rel=1e-6)


def test_the_two_differ_76_fold():
    assert both_sides(IndependentT(4.0)) / both_sides(Gaussian()) == pytest.approx(76.0, abs=0.5)
