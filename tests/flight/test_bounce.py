"""The oblique bounce on any orientation of the surface, and the restitution of plates, foam and turf."""

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from flightsim.flight.ball import BALLS, Ball
from flightsim.flight.bounce import (
    FOAM_SHARE,
    ball_restitution,
    foam_capacity,
    foam_on_board,
    oblique_bounce,
    plate_share,
    turf_restitution,
)

quick = settings(deadline=None, max_examples=40)


def toward(v, n):
    """The velocity, turned round where it would not go into the surface, at a millimetre a second at least."""
    into = v @ n
    return v - n * (into + max(abs(into), 1e-3))


def vectors(size):
    number = st.floats(-size, size, allow_subnormal=False)
    return st.tuples(number, number, number).map(lambda v: np.array(v))


normals = (
    vectors(1.0).filter(lambda v: np.linalg.norm(v) > 0.05).map(lambda v: v / np.linalg.norm(v))
    | st.sampled_from(list(np.vstack([np.eye(3), -np.eye(3)])))
)  # fmt: skip
turns = st.tuples(normals, st.floats(-np.pi, np.pi)).map(lambda t: Rotation.from_rotvec(t[0] * t[1]).as_matrix())
balls = st.builds(
    Ball, st.just("any"), st.floats(0.004, 0.06), st.floats(0.038, 0.05), st.floats(0.2, 0.67), st.just("hypothesis")
)
impacts = st.tuples(vectors(90.0), vectors(2500.0), normals)
hits = impacts.map(lambda i: (toward(i[0], i[2]), *i[1:]))
laws = st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.5), st.floats(0.0, 1.0))  # e, mu, e_t


def bounced(impact, law, ball):
    """One ball: velocity and spin `(3,)` after."""
    v, w = oblique_bounce(*(a[:, None] for a in impact), *(np.array([x]) for x in law), ball)
    return v[:, 0], w[:, 0]


def slip(v, w, n, ball):
    """Velocity of the ball's contact point along the surface."""
    u = v + np.cross(w, -ball.radius * n)
    return u - n * (u @ n)


def energy(v, w, ball):
    return 0.5 * ball.mass * (v @ v + ball.inertia_factor * ball.radius**2 * (w @ w))


@quick
@given(impacts, laws, balls)
def test_angular_momentum_about_the_contact_never_changes(impact, law, ball):
    # k R w + n x v: for a ball in a plane this is v_t + k R w.
    (v, w, n), k, R = impact, ball.inertia_factor, ball.radius
    v1, w1 = bounced(impact, law, ball)
    assert k * R * w1 + np.cross(n, v1) == pytest.approx(k * R * w + np.cross(n, v), rel=1e-11, abs=1e-10)


@quick
@given(impacts, laws, balls)
@example((np.array([30.0, 0.0, -30.0]), np.zeros(3), np.array([0.0, 0.0, 1.0])), (1.0, 1.5, 1.0), BALLS["legal"])
def test_kinetic_energy_with_its_spin_never_rises(impact, law, ball):
    before = energy(*impact[:2], ball)
    after = energy(*bounced(impact, law, ball), ball)
    assert after <= before * (1.0 + 1e-12) + 1e-15


@quick
@given(hits, laws, balls)
def test_a_ball_comes_back_along_the_normal_with_the_share_given(impact, law, ball):
    v, _, n = impact
    assert bounced(impact, law, ball)[0] @ n == pytest.approx(-law[0] * (v @ n), rel=1e-9, abs=1e-10)


@quick
@given(hits, laws, balls)
def test_friction_acts_against_the_slip_and_never_more_than_grip_and_mu_allow(impact, law, ball):
    (v, w, n), (e, mu, e_t) = impact, law
    v1, _ = bounced(impact, law, ball)
    u = slip(v, w, n, ball)
    kick = v1 - v - n * (n @ (v1 - v))
    most = min(np.linalg.norm(u) * (1 + e_t) / (1 + 1 / ball.inertia_factor), mu * (1 + e) * -(v @ n))
    assert np.linalg.norm(kick) == pytest.approx(most, rel=1e-9, abs=1e-10)
    assert kick @ u == pytest.approx(-np.linalg.norm(kick) * np.linalg.norm(u), rel=1e-9, abs=1e-9)


@quick
@given(hits, st.floats(0.0, 1.0), st.floats(0.0, 1.0), balls)
def test_a_ball_that_grips_leaves_with_its_slip_turned_round_by_the_tangential_restitution(impact, e, e_t, ball):
    v, w, n = impact
    after = bounced(impact, (e, 1e6, e_t), ball)
    assert slip(*after, n, ball) == pytest.approx(-e_t * slip(v, w, n, ball), rel=1e-9, abs=1e-9)


@quick
@given(impacts, laws, balls, turns)
def test_turning_surface_and_ball_turns_the_answer(impact, law, ball, turn):
    turned = bounced(tuple(turn @ a for a in impact), law, ball)
    for found, plain in zip(turned, bounced(impact, law, ball), strict=True):
        assert found == pytest.approx(turn @ plain, rel=1e-9, abs=1e-8)


@quick
@given(impacts, laws, balls, normals)
def test_a_mirrored_ball_bounces_like_a_mirrored_ball(impact, law, ball, across):
    # Velocity and normal are true vectors, spin is an axial one.
    mirror = np.eye(3) - 2.0 * np.outer(across, across)
    v, w, n = impact
    v1, w1 = bounced((mirror @ v, -mirror @ w, mirror @ n), law, ball)
    plain_v, plain_w = bounced(impact, law, ball)
    assert v1 == pytest.approx(mirror @ plain_v, rel=1e-9, abs=1e-8)
    assert w1 == pytest.approx(-mirror @ plain_w, rel=1e-9, abs=1e-8)


@quick
@given(impacts, laws, balls)
def test_a_ball_that_is_leaving_is_as_it_was_to_the_last_digit(impact, law, ball):
    v, w, n = impact
    if v @ n < 0.0:
        v = v - 2.0 * n * (v @ n)
    assume((v[:, None] * n[:, None]).sum(axis=0)[0] >= 0.0)
    v1, w1 = bounced((v, w, n), law, ball)
    assert np.array_equal(v1, v)
    assert np.array_equal(w1, w)


@quick
@given(impacts, laws, balls)
def test_spin_about_the_normal_is_kept(impact, law, ball):
    _, w, n = impact
    assert bounced(impact, law, ball)[1] @ n == pytest.approx(w @ n, rel=1e-9, abs=1e-7)


@quick
@given(impacts, st.floats(0.0, 1.0), st.floats(0.0, 1.0), balls)
def test_without_friction_nothing_changes_along_the_surface(impact, e, e_t, ball):
    v, w, n = impact
    v1, w1 = bounced(impact, (e, 0.0, e_t), ball)
    assert np.array_equal(w1, w)
    assert np.cross(n, v1) == pytest.approx(np.cross(n, v), rel=1e-12, abs=1e-11)


def test_backspin_slows_a_ball_on_the_floor_and_topspin_drives_it_on():
    # Along +x over a floor topspin turns about +y, as a rolling ball does.
    v, n = np.array([20.0, 0.0, -15.0]), np.array([0.0, 0.0, 1.0])
    back, none, top = (bounced((v, np.array([0.0, w, 0.0]), n), (0.7, 0.35, 0.0), BALLS["legal"])[0][0]
                       for w in (-900.0, 0.0, 2500.0))  # fmt: skip
    assert back < none < 20.0 < top


def test_sidespin_sends_a_ball_sideways_off_a_wall_in_the_sense_that_its_near_side_moves_against():
    # End wall, normal -x. Spin about +z moves the near side (at +x) toward +y: friction pushes the ball toward -y.
    v, w, n = np.array([40.0, 0.0, 0.0]), np.array([0.0, 0.0, 300.0]), np.array([-1.0, 0.0, 0.0])
    v1, w1 = bounced((v, w, n), (0.7, 0.35, 0.0), BALLS["legal"])
    assert v1[0] < 0.0
    assert v1[1] < -1.0
    assert 0.0 < w1[2] < 300.0


def test_each_ball_of_a_batch_bounces_as_it_does_alone_and_what_was_given_stays():
    rng = np.random.default_rng(3)
    v, w, n = rng.normal(size=(3, 3, 40)) * np.array([30.0, 300.0, 1.0])[:, None, None]
    n /= np.linalg.norm(n, axis=0)
    law = rng.uniform(0.0, [[1.0], [0.6], [0.4]], (3, 40))
    given_ones = [*(a.copy() for a in (v, w, n)), *law]
    for a in given_ones:
        a.flags.writeable = False
    together = oblique_bounce(*given_ones, BALLS["legal"])
    for k in range(40):
        alone = bounced((v[:, k], w[:, k], n[:, k]), law[:, k], BALLS["legal"])
        for many, one in zip(together, alone, strict=True):
            assert np.array_equal(many[:, k], one)


def test_the_balls_own_restitution_falls_evenly_with_speed_between_its_limits():
    speed = np.array([0.0, 10.0, 50.0, 121.0, 122.0, 500.0])
    assert ball_restitution(speed) == pytest.approx([0.88, 0.857, 0.765, 0.6017, 0.60, 0.60], abs=1e-12)


@quick
@given(
    st.floats(5e8, 2e11), st.floats(0.003, 0.1), st.floats(300.0, 8000.0), st.floats(0.0, 0.45), st.floats(0.005, 0.06)
)
def test_a_plate_returns_more_when_it_is_stiffer_thicker_or_denser_or_the_ball_lighter(E, h, rho, nu, m):
    share = plate_share(E, h, rho, nu, m)
    assert 0.0 <= share < 1.0
    for other in (
        (1.2 * E, h, rho, nu, m),
        (E, 1.2 * h, rho, nu, m),
        (E, h, 1.2 * rho, nu, m),
        (E, h, rho, nu, m / 1.2),
    ):
        assert plate_share(*other) > share or plate_share(*other) == share == 0.0
    assert plate_share(E, h, rho, nu + 0.04, m) > share or share == 0.0


def test_a_plate_so_light_that_the_ball_only_pushes_it_returns_nothing():
    assert plate_share(2.5e9, 0.003, 700.0, 0.2, 0.04593) == 0.0


@quick
@given(st.floats(0.1, 100.0), st.floats(0.0, 20.0), st.floats(0.0, 0.9), st.floats(0.004, 0.06))
def test_foam_on_a_board_returns_between_what_foam_and_what_board_return(speed, capacity, board, mass):
    e = foam_on_board(np.array([speed]), mass, capacity, np.array([board]))[0]
    assert min(FOAM_SHARE, board) - 1e-12 <= e <= max(FOAM_SHARE, board) + 1e-12


@quick
@given(st.floats(0.5, 15.0), st.floats(0.0, 0.9), st.floats(0.004, 0.06))
def test_foam_returns_its_own_share_until_it_is_full_and_tends_to_the_board_beyond(capacity, board, mass):
    full = np.sqrt(2.0 * capacity / mass)
    speeds = full * np.array([0.0, 0.01, 0.5, 0.999, 1.001, 1e4])
    e = foam_on_board(speeds, mass, capacity, np.full(6, board))
    assert e[:4] == pytest.approx(FOAM_SHARE, rel=1e-12)
    assert e[4] == pytest.approx(FOAM_SHARE, abs=2e-3)
    assert e[5] == pytest.approx(board, abs=1e-3)


@quick
@given(st.floats(1e4, 5e5), st.floats(0.005, 0.1), st.floats(0.015, 0.03))
def test_foam_takes_crush_stress_times_disc_times_seven_tenths_of_its_thickness(stress, thickness, radius):
    assert foam_capacity(stress, thickness, radius) == pytest.approx(0.7 * np.pi * stress * thickness * radius**2)


def test_turf_takes_more_of_a_faster_ball_until_its_foam_lies_flat_on_the_slab():
    e = turf_restitution(np.array([0.0, 5.0, 10.0, 15.0]))
    assert (np.diff(e) < 0.0).all()
    assert (turf_restitution(np.array([15.001, 20.0, 40.0, 90.0])) == 0.25).all()
