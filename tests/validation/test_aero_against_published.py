"""Drag and lift coefficients against measured points that neither model was fitted to."""

import numpy as np
import pytest

from flightsim.flight.aerodynamics import AERO_MODELS

# Re, S, CD, CL
USGA_BALL = [  # USGA example ball, US patent 6,186,002 (second-hand)
    (8.1e4, 0.097, 0.223, 0.146),
    (8.1e4, 0.218, 0.305, 0.278),
    (1.23e5, 0.153, 0.256, 0.214),
    (1.25e5, 0.088, 0.226, 0.146),
]
# Bearman & Harvey 1976 (Aeronautical Quarterly 27:112, from memory), grid as in a textbook data array (read)
BEARMAN_HARVEY = [
    (1.05e5, 0.224, 0.3084, 0.2862),
    (8.17e4, 0.431, 0.3882, 0.3724),
]
MODELS = ["naruo2004", "ferguson2022"]


def tolerance(S):
    """CD, CL: how far real balls differ from one another (aerodynamics reference)."""
    return (0.03, 0.04) if S < 0.4 else (0.05, 0.05)


@pytest.mark.parametrize("name", MODELS)
@pytest.mark.parametrize(("Re", "S", "CD", "CL"), USGA_BALL + BEARMAN_HARVEY)
def test_a_measured_ball_lies_within_the_spread_of_balls(name, Re, S, CD, CL):
    drag, lift = AERO_MODELS[name](np.array([S]), np.array([Re]))
    of_drag, of_lift = tolerance(S)
    assert drag[0] == pytest.approx(CD, abs=of_drag)
    assert lift[0] == pytest.approx(CL, abs=of_lift)


def test_naruo_polynomials_have_the_published_values():
    # Naruo, Mizota & Shimozono 2004, the two polynomials summed by hand at S = 1: the sums of their coefficients.
    drag, lift = AERO_MODELS["naruo2004"](np.array([1.0]), np.array([1.0e5]))
    assert drag[0] == pytest.approx(0.7510 - 1.760 + 1.098 + 0.2148 + 0.2049, abs=1e-15)
    assert lift[0] == pytest.approx(-0.2158 + 1.006 - 1.644 + 1.250 + 0.0616, abs=1e-15)


def test_ferguson_polynomials_join_their_held_values():
    # Ferguson, McNally & McPhee 2022: the held values are the polynomials' own tops, so there is no step.
    S = np.array([0.5622 - 1e-9, 0.5622 + 1e-9, 0.5235 - 1e-9, 0.5235 + 1e-9])
    drag, lift = AERO_MODELS["ferguson2022"](S, np.full(4, 1.0e5))
    assert abs(drag[0] - drag[1]) < 5e-5
    assert abs(lift[2] - lift[3]) < 5e-5
