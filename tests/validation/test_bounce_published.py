"""Bounces against closed forms, published models and [rebound]; source and tolerance beside each.

Reference: the project's own, computed apart from this code; "read" and "memory" as it says there.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.spatial.transform import Rotation

from flightsim.contact.facings import Facing, Foam, Plate, shipped_facings
from flightsim.flight.ball import LEGAL_BALL, Ball
from flightsim.flight.bounce import CONTACT_TIME, ball_restitution, foam_capacity, oblique_bounce, plate_share

SURFACES = Rotation.random(12, random_state=1).as_matrix()


def in_a_plane(v_n, v_t, w, e, mu, e_t, turn, ball=LEGAL_BALL):
    """v_n', v_t', w' of a ball onto a surface turned like this: spin as of a ball that rolls the way of v_t."""
    n, t = turn[:, 2], turn[:, 0]
    axis = np.cross(n, t)
    given = (v_t * t - v_n * n, w * axis, n)
    v, spin = oblique_bounce(*(a[:, None] for a in given), *(np.array([x]) for x in (e, mu, e_t)), ball)
    return v[:, 0] @ n, v[:, 0] @ t, spin[:, 0] @ axis


@pytest.mark.parametrize(
    ("v_n", "v_t", "e", "mu", "expected"),
    [
        pytest.param(30.0, 30.0, 0.80, 0.30, (24.000, 21.429, 1004.4), id="grips"),
        pytest.param(10.0, 40.0, 0.85, 0.30, (8.500, 34.450, 650.3), id="slides"),
    ],
)
def test_the_oblique_rows_of_the_reference_come_out_on_any_orientation_to_the_digits_shown(v_n, v_t, e, mu, expected):
    # [cross-2002], e_t 0, R 21.335 mm, solid sphere; half of the last digit shown.
    for turn in SURFACES:
        found = in_a_plane(v_n, v_t, 0.0, e, mu, 0.0, turn)
        assert (np.abs(np.subtract(found, expected)) <= [5.01e-4, 5.01e-4, 0.0501]).all()


@pytest.mark.parametrize("turn", SURFACES[:4])
def test_a_superball_turns_its_slip_round(turn):
    # Garwin 1969, Am. J. Phys. 37:88 (memory), solid sphere: v' = (3 v + 4 R w)/7, R w' = (10 v - 3 R w)/7; 1e-12.
    R = LEGAL_BALL.radius
    for v, w in ((30.0, 0.0), (0.0, 900.0), (-12.0, 400.0)):
        v_n, v_t, spin = in_a_plane(20.0, v, w, 1.0, 100.0, 1.0, turn)
        assert v_n == pytest.approx(20.0, rel=1e-12)
        assert v_t == pytest.approx((3 * v + 4 * R * w) / 7, rel=1e-12)
        assert R * spin == pytest.approx((10 * v - 3 * R * w) / 7, rel=1e-12)


def test_a_superball_thrown_under_a_table_comes_back():
    # Garwin 1969 (memory): floor, underside, floor leave -333/343 of the speed along the floor; 1e-12.
    v, w = np.array([[7.0], [0.0], [-5.0]]), np.zeros((3, 1))
    one = np.ones(1)
    for up in (1.0, -1.0, 1.0):
        v, w = oblique_bounce(v, w, np.array([[0.0], [0.0], [up]]), one, 100.0 * one, one, LEGAL_BALL)
    assert v[0, 0] == pytest.approx(-7.0 * 333 / 343, rel=1e-12)


def test_a_solid_ball_that_slid_into_the_floor_and_grips_keeps_five_sevenths():
    # Textbook (and the first reference row): e_t 0 leaves v_t 5/7 and rolling; a thin shell, k 2/3, 3/5. 1e-12.
    for k, share in ((0.4, 5 / 7), (2 / 3, 3 / 5)):
        ball = Ball("textbook", 0.046, 0.0427, k, "textbook")
        _, v_t, w = in_a_plane(40.0, 10.0, 0.0, 0.5, 10.0, 0.0, SURFACES[5], ball)
        assert v_t == pytest.approx(10.0 * share, rel=1e-12)
        assert w * ball.radius == pytest.approx(v_t, rel=1e-12)


def test_the_balls_own_restitution_is_what_was_read():
    # Read: 0.86 at 4.25 m/s; 0.768 to 0.78 at 49 m/s. Tolerance 0.015: the fit is a straight line.
    slow, fast = ball_restitution(np.array([4.25, 49.0]))
    assert slow == pytest.approx(0.86, abs=0.015)
    assert fast == pytest.approx(0.774, abs=0.015)


STEEL_10 = (210e9, 0.010, 7850.0, 0.30)


@pytest.mark.parametrize(
    "plate",
    [
        STEEL_10,
        (8e9, 0.018, 650.0, 0.3),
        (8e9, 0.012, 650.0, 0.3),
        (8e9, 0.006, 650.0, 0.3),
        (2.5e9, 0.0125, 700.0, 0.2),
    ],
    ids=["steel 10 mm", "plywood 18 mm", "plywood 12 mm", "plywood 6 mm", "gypsum 12.5 mm"],
)
def test_the_share_of_a_plate_is_what_zeners_equations_of_motion_leave(plate):
    # Zener 1941, Phys. Rev. 59:669 (memory): a wide plate moves with F/(8 sqrt(D rho h)); here with a contact spring
    # of half period tau, integrated until ball and plate part. Tolerance 1e-6.
    E, h, rho, nu = plate
    m = LEGAL_BALL.mass
    Z = 8.0 * np.sqrt(E * h**3 / (12 * (1 - nu**2)) * rho * h)
    k = m * (np.pi / CONTACT_TIME) ** 2

    def parted(t, y):
        return y[0] if t > 1e-6 else 1.0

    parted.terminal = True
    solved = solve_ivp(
        lambda t, y: [y[1] - k * y[0] / Z, -k * y[0] / m],
        (0.0, 0.05),
        [0.0, 1.0],
        events=parted,
        rtol=1e-10,
        atol=1e-14,
    )
    assert plate_share(*plate, m) == pytest.approx(-solved.y[1, -1], abs=1e-6)


@pytest.mark.parametrize(
    ("facing", "expected"),
    [
        ("concrete", 0.77), (Facing("steel plate", plate=Plate(*STEEL_10)), 0.73), ("steel", 0.72),
        ("thick plywood", 0.58), ("plywood", 0.40), ("gypsum", 0.26),
    ],
    ids=["concrete", "steel plate 10 mm", "steel tube", "plywood 18 mm", "plywood 12 mm", "gypsum"],
)  # fmt: skip
def test_what_builders_hang_up_returns_at_45_m_s_what_the_reference_says(facing, expected):
    # [rebound], +-0.12 there (computed, Zener); asked for to 0.03 here, since the model is the same.
    facing = shipped_facings()[facing] if isinstance(facing, str) else facing
    assert facing.restitution(np.array([45.0]), LEGAL_BALL)[0] == pytest.approx(expected, abs=0.03)


@pytest.mark.parametrize(
    ("speed", "expected"),
    [(0.0, 0.510), (5.0, 0.3451), (10.0, 0.2253), (15.0, 0.1507), (16.0, 0.25), (40.0, 0.25)],
)
def test_turf_returns_what_penner_gives_and_a_mat_on_a_slab_a_quarter_above_15_m_s(speed, expected):
    # Penner (memory): e = .510 - .0375 v + .000903 v^2; above 15 m/s [mat-floor]. Half a last digit.
    turf = shipped_facings()["turf"]
    assert turf.restitution(np.array([speed]), LEGAL_BALL)[0] == pytest.approx(expected, abs=5.1e-5)
    assert turf.friction == 0.40


def test_50_mm_of_foam_takes_2_5_to_10_j():
    # [foam-crush] (computed; crush stress .05 to .20 MPa from memory); half of the last digit.
    soft, firm = (foam_capacity(stress, 0.050, LEGAL_BALL.radius) for stress in (0.05e6, 0.20e6))
    assert soft == pytest.approx(2.5, abs=0.05)
    assert firm == pytest.approx(10.0, abs=0.05)


def test_a_square_hit_of_50_m_s_on_50_mm_of_foam_and_18_mm_of_plywood_comes_back_near_28_m_s():
    # [foam-crush]: near 28 m/s; +-2 m/s over the range of crush stresses.
    for stress in (0.05e6, 0.12e6, 0.20e6):
        facing = Facing("foam on board", plate=Plate(8e9, 0.018, 650.0), foam=Foam(0.050, stress))
        assert 50.0 * facing.restitution(np.array([50.0]), LEGAL_BALL)[0] == pytest.approx(28.0, abs=2.0)


def test_foam_on_a_tube_hardly_changes_what_a_square_fast_hit_returns_and_much_of_a_slow_one():
    # [foam-crush], in words: padding is for glancing hits and shins. Tolerances ours.
    bare, padded = (shipped_facings()[name].restitution(np.array([10.0, 70.0]), LEGAL_BALL)
                    for name in ("steel", "foam on steel"))  # fmt: skip
    assert padded[1] > 0.93 * bare[1]
    assert padded[0] < 0.5 * bare[0]


@pytest.mark.parametrize(
    ("name", "breaks", "friction"),
    [("glass", 10.0, 0.15), ("toughened glass", 25.0, 0.15), ("gypsum", np.sqrt(2 * 25.0 / 0.04593), 0.35)],
)
def test_glass_and_gypsum_break_at_the_speed_of_the_reference(name, breaks, friction):
    # [breaking]: glass from 10 and 25 m/s (judgement), gypsum holed at 25 J (memory); 0.5 %, and not later.
    facing = shipped_facings()[name]
    speed = np.sqrt(2.0 * facing.broken / LEGAL_BALL.mass)
    assert speed == pytest.approx(breaks, rel=5e-3)
    assert facing.damage <= facing.broken
    assert facing.friction == friction


def test_gypsum_is_dented_at_8_j_and_hard_faces_have_the_friction_of_the_reference():
    # [friction] (memory).
    facings = shipped_facings()
    assert facings["gypsum"].damage == 8.0
    assert [facings[name].friction for name in ("concrete", "plywood", "timber", "gypsum", "steel", "glass")] == [
        0.35, 0.35, 0.35, 0.35, 0.20, 0.15,
    ]  # fmt: skip
