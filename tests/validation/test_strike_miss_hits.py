"""Miss-hits against the worked cases of [miss-hits] (full inertia, computed apart from this code).

Tolerances: launch angles are written there to a degree and speed ratios to two digits, so 0.7 deg and 0.02.
"""

import numpy as np
import pytest
from strikes import DRIVER_INERTIA, REFERENCE_BALL, WEDGE_INERTIA, one, raised, rigid

from flightsim.strike.clubs import SHAFT_MASS
from flightsim.strike.edges import HOSEL_RADIUS, hosel_normal, hosel_reach, sole_normal, thin_edge
from flightsim.strike.impact import Contact

DEG = np.pi / 180.0


@pytest.mark.parametrize(("loft", "reach_mm", "turn_deg"), [(20, 20.0, 46), (34, 23.0, 55)])
def test_the_hosel_limits_come_out_at_20_and_34_deg(loft, reach_mm, turn_deg):
    # [miss-hits]: s_max 20.0 / 23.0 mm, psi_max 46 / 55 deg with Rh 6.7 mm and an offset of 2 mm.
    reach = float(hosel_reach(loft * DEG, REFERENCE_BALL))
    assert reach * 1e3 == pytest.approx(reach_mm, abs=0.05)
    assert np.arcsin(reach / (REFERENCE_BALL.radius + HOSEL_RADIUS)) / DEG == pytest.approx(turn_deg, abs=0.5)


@pytest.mark.parametrize(("normal", "launch", "ratio"), [(30, 23, 1.05), (50, 36, 0.77), (70, 56, 0.34)])
def test_a_sky_off_the_crown_edge(normal, launch, ratio):
    # V 45, attack -4, read driver head at loft 12 (with 3 g of shaft), r1 (40, 0, 28), e .55, mu .25, e_t 0.
    found = rigid(
        one(speed=45, loft=12, attack=-4), 0.204 + SHAFT_MASS, Contact(0.55, 0.0, 0.25), (40, 0, 28), DRIVER_INERTIA,
        raised(normal),
    )  # fmt: skip
    assert found.elevation == pytest.approx(launch, abs=0.7)
    assert found.speed / 45 == pytest.approx(ratio, abs=0.02)
    assert abs(found.azimuth) < 0.5


@pytest.mark.parametrize(
    ("psi", "azimuth", "elevation", "ratio"), [(20, 14, 6, 1.06), (40, 28, 12, 0.87), (60, 46, 19, 0.58)]
)
def test_a_shank_off_the_hosel(psi, azimuth, elevation, ratio):
    # V 36 at the centre, .95 of it at the hosel, attack -4, loft 40, lie 62, r1 (6, 40, 4), e .70, mu .20, e_t 0;
    # 300 g, inertia diag (3200, 1000, 2700) g cm2.
    turn, lie = psi * DEG, 62 * DEG
    normal = np.array([np.cos(turn), -np.sin(turn) * np.sin(lie), np.sin(turn) * np.cos(lie)])
    found = rigid(
        one(speed=36 * 0.95, loft=40, attack=-4), 0.300 + SHAFT_MASS, Contact(0.70, 0.0, 0.20), (6, 40, 4),
        WEDGE_INERTIA, normal,
    )  # fmt: skip
    assert found.azimuth == pytest.approx(azimuth, abs=0.7)
    assert found.elevation == pytest.approx(elevation, abs=0.7)
    assert found.speed / 36 == pytest.approx(ratio, abs=0.02)


@pytest.mark.parametrize(("edge", "launch", "ratio"), [(6, 28, 0.96), (12, 16, 1.17), (18, 4, 1.30)])
def test_a_thin_wedge_off_the_sole_edge(edge, launch, ratio):
    # V 36, attack -3, loft 50, r1 (12, 0, -18), e .75, mu .30, e_t 0, the same head. The row comes out with lever and
    # inertia in axes level with the ground; in lofted ones the ratios would be 1.07, 1.33 and 1.48.
    ball, loft = REFERENCE_BALL, np.array([50 * DEG])
    face = np.array([np.cos(loft), 0.0 * loft, np.sin(loft)])
    normal = sole_normal(np.array([edge * 1e-3]), loft, face, ball)[:, 0]
    assert normal == pytest.approx(raised(np.arcsin((21.34 - edge) / 24.34) / DEG), abs=1e-9)
    found = rigid(
        one(speed=36, loft=50, attack=-3), 0.300 + SHAFT_MASS, Contact(0.75, 0.0, 0.30), (12, 0, -18), WEDGE_INERTIA,
        normal, level=True,
    )  # fmt: skip
    assert found.elevation == pytest.approx(launch, abs=0.7)
    assert found.speed / 36 == pytest.approx(ratio, abs=0.02)


def test_the_sole_edge_begins_where_its_normal_is_the_dynamic_loft():
    # [miss-hits]: clean for h < r - (r + 3 mm) sin L.
    for loft in (15.0, 28.0, 50.0):
        h = float(thin_edge(loft * DEG, REFERENCE_BALL))
        assert np.arcsin((REFERENCE_BALL.radius - h) / (REFERENCE_BALL.radius + 0.003)) / DEG == pytest.approx(loft)


def test_the_hosel_normal_is_that_of_the_reference_at_its_limit():
    loft, lie = np.array([34 * DEG]), 62 * DEG
    psi = np.arcsin(float(hosel_reach(loft, REFERENCE_BALL)[0]) / (REFERENCE_BALL.radius + HOSEL_RADIUS))
    expected = [np.cos(psi), -np.sin(psi) * np.sin(lie), np.sin(psi) * np.cos(lie)]
    assert hosel_normal(np.zeros(1), loft, lie, REFERENCE_BALL)[:, 0] == pytest.approx(expected, abs=1e-12)
