"""One impulse between two rigid bodies: what it conserves, what it never does, whatever head and contact."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.flight.ball import LEGAL_BALL as BALL
from flightsim.strike.clubs import club_names, face_restitution, shipped_club
from flightsim.strike.impact import Contact, compliance, strike_ball

N = 100  # strikes of each example
BALL_INERTIA = BALL.inertia_factor * BALL.mass * BALL.radius**2
seeds = st.integers(0, 2**32 - 1)


class Case:
    """Strikes of one head: any orientation, any place within 45 mm of its centre of mass, turning or not."""

    def __init__(self, seed: int, wild: bool = False, point: bool = False) -> None:
        rng = np.random.default_rng(seed)
        self.mass = rng.uniform(0.15, 0.4)
        # Moments of a body: sums of pairs of positive numbers, about turned axes.
        a, b, c = rng.uniform(500, 3000, 3) * 1e-7
        axes = np.linalg.qr(rng.normal(size=(3, 3)))[0]
        self.inertia = None if point else axes @ np.diag([b + c, c + a, a + b]) @ axes.T
        self.lever = rng.uniform(-0.045, 0.045, (3, N))
        self.normal = unit(rng.normal(size=(3, N)))
        self.velocity = rng.normal(size=(3, N)) * 30
        self.turning = rng.normal(size=(3, N)) * (0 if point else 20)
        ends = ((0, 1), (-1, 1), (0, 1.5)) if wild else ((0.4, 0.9), (-0.2, 0.2), (0.1, 0.35))
        self.contact = Contact(*(rng.uniform(*end, N) for end in ends))
        self.blow = self.strike()

    def strike(self, turn: np.ndarray | None = None):
        Q = np.eye(3) if turn is None else turn
        inverse = None if self.inertia is None else Q @ np.linalg.inv(self.inertia) @ Q.T
        return strike_ball(
            self.mass, inverse, Q @ self.lever, Q @ self.normal, Q @ self.velocity, self.contact, BALL, Q @ self.turning
        )

    @property
    def at_contact(self) -> np.ndarray:
        """Velocity of the head's contact point before."""
        return self.velocity + np.cross(self.turning, self.lever, axis=0)

    def after(self) -> tuple[np.ndarray, np.ndarray]:
        """Velocity and rotation of the head after, from the impulse."""
        J = self.blow.impulse
        turn = self.turning
        if self.inertia is not None:
            turn = turn - np.linalg.solve(self.inertia, np.cross(self.lever, J, axis=0))
        return self.velocity - J / self.mass, turn

    def energy(self, velocity: np.ndarray, turning: np.ndarray) -> np.ndarray:
        inertia = np.zeros((3, 3)) if self.inertia is None else self.inertia
        return 0.5 * self.mass * dot(velocity, velocity) + 0.5 * dot(turning, inertia @ turning)

    def slip(self) -> tuple[np.ndarray, np.ndarray]:
        """Velocity of the ball's contact point relative to the head's, before and after."""
        velocity, turning = self.after()
        ball = self.blow.velocity + np.cross(self.blow.spin, -BALL.radius * self.normal, axis=0)
        return -self.at_contact, ball - velocity - np.cross(turning, self.lever, axis=0)


def unit(v: np.ndarray) -> np.ndarray:
    return v / np.linalg.norm(v, axis=0)


def dot(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return (a * b).sum(axis=0)


def ball_energy(blow) -> np.ndarray:
    return 0.5 * BALL.mass * dot(blow.velocity, blow.velocity) + 0.5 * BALL_INERTIA * dot(blow.spin, blow.spin)


@given(seeds, st.booleans())
@settings(max_examples=20, deadline=None)
def test_linear_momentum_and_the_balls_angular_momentum_about_the_contact_are_kept(seed, wild):
    case = Case(seed, wild)
    velocity, _ = case.after()
    before, after = case.mass * case.velocity, case.mass * velocity + BALL.mass * case.blow.velocity
    assert after == pytest.approx(before, abs=1e-12 * np.abs(before).max())
    # A force at the contact point has no moment about it: r x m v + I w = 0 there, r from the contact to the centre.
    about = BALL.mass * np.cross(BALL.radius * case.normal, case.blow.velocity, axis=0) + BALL_INERTIA * case.blow.spin
    assert np.abs(about).max() < 1e-15


@given(seeds, st.booleans(), st.booleans())
@settings(max_examples=50, deadline=None)
def test_energy_never_rises_whatever_the_head_the_contact_and_the_orientation(seed, wild, point):
    case = Case(seed, wild, point)
    before = case.energy(case.velocity, case.turning)
    gained = case.energy(*case.after()) + ball_energy(case.blow) - before
    assert (gained <= 1e-12 * before).all()


@given(seeds, st.booleans())
@settings(max_examples=20, deadline=None)
def test_sine_of_the_angle_from_normal_to_velocity_is_four_tenths_r_w_over_v(seed, wild):
    case = Case(seed, wild)
    blow = case.blow
    speed, spin = np.linalg.norm(blow.velocity, axis=0), np.linalg.norm(blow.spin, axis=0)
    gone = speed > 1e-9
    sine = np.linalg.norm(np.cross(case.normal, blow.velocity, axis=0), axis=0)[gone] / speed[gone]
    assert sine == pytest.approx(BALL.inertia_factor * BALL.radius * spin[gone] / speed[gone], abs=1e-12)
    assert np.abs(dot(blow.spin, blow.velocity)).max() <= 1e-9 * max(1.0, float((spin * speed).max()))


@given(seeds, st.booleans())
@settings(max_examples=20, deadline=None)
def test_friction_never_passes_its_limit_and_the_ball_is_never_pulled(seed, wild):
    case = Case(seed, wild)
    pressed = dot(case.blow.impulse, case.normal)
    sideways = np.linalg.norm(case.blow.impulse - pressed * case.normal, axis=0)
    assert (pressed >= 0.0).all()
    assert (sideways <= case.contact.friction * pressed * (1 + 1e-9) + 1e-15).all()
    slid = case.blow.slid
    assert sideways[slid] == pytest.approx((case.contact.friction * pressed)[slid], rel=1e-9, abs=1e-15)


@given(seeds)
@settings(max_examples=20, deadline=None)
def test_restitution_along_the_normal_is_exact_and_along_the_face_too_where_it_grips(seed):
    case = Case(seed)
    hit = dot(case.at_contact, case.normal) > 0.0
    before, after = case.slip()
    closing, leaving = dot(before, case.normal), dot(after, case.normal)
    assert leaving[hit] == pytest.approx((-case.contact.restitution * closing)[hit], rel=1e-9, abs=1e-9)
    grips = hit & ~case.blow.slid
    assert grips.sum() > 5
    along_before, along_after = before - closing * case.normal, after - leaving * case.normal
    expected = -case.contact.tangential_restitution * along_before
    assert along_after[:, grips] == pytest.approx(expected[:, grips], abs=1e-9)


@given(seeds)
@settings(max_examples=20, deadline=None)
def test_a_contact_that_moves_away_gives_nothing(seed):
    case = Case(seed)
    away = dot(case.at_contact, case.normal) <= 0.0
    assert 0 < away.sum() < N
    for vectors in (case.blow.velocity, case.blow.spin, case.blow.impulse):
        assert not vectors[:, away].any()
        assert (np.abs(vectors[:, ~away]).sum(axis=0) > 0).all()
    assert not case.blow.slid[away].any()


@given(seeds, seeds)
@settings(max_examples=20, deadline=None)
def test_turning_head_ball_and_all_turns_the_result(seed, other):
    case = Case(seed)
    turn = np.linalg.qr(np.random.default_rng(other).normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))  # a rotation: spin is axial
    turned = case.strike(turn)
    assert turned.velocity == pytest.approx(turn @ case.blow.velocity, abs=1e-9)
    assert turned.spin == pytest.approx(turn @ case.blow.spin, abs=1e-7)
    assert np.array_equal(turned.slid, case.blow.slid)


@given(seeds)
@settings(max_examples=20, deadline=None)
def test_the_mirror_image_of_a_strike_is_the_strike_of_the_mirror_image(seed):
    case = Case(seed)
    true, axial = np.diag([1.0, -1.0, 1.0]), np.diag([-1.0, 1.0, -1.0])
    blow = strike_ball(
        case.mass, true @ np.linalg.inv(case.inertia) @ true, true @ case.lever, true @ case.normal,
        true @ case.velocity, case.contact, BALL, axial @ case.turning,
    )  # fmt: skip
    assert blow.velocity == pytest.approx(true @ case.blow.velocity, abs=1e-10)
    assert blow.spin == pytest.approx(axial @ case.blow.spin, abs=1e-8)


def test_the_compliance_is_the_matrix_of_the_textbook():
    case = Case(7)
    r1, r2 = case.lever[:, 0], -BALL.radius * case.normal[:, 0]

    def cross(v):
        return np.array([[0, -v[2], v[1]], [v[2], 0, -v[0]], [-v[1], v[0], 0]])

    expected = (1 / BALL.mass + 1 / case.mass) * np.eye(3)
    expected -= cross(r2) @ cross(r2) / BALL_INERTIA + cross(r1) @ np.linalg.inv(case.inertia) @ cross(r1)
    found = compliance(case.mass, np.linalg.inv(case.inertia), case.lever, case.normal, BALL)
    assert found[:, :, 0] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("name", club_names())
def test_no_shipped_club_needs_its_impulse_shortened_for_the_sake_of_energy(name):
    """Restitution is exact over the whole face and well past it, at any delivery: the guard is for odd inputs only."""
    club, rng = shipped_club(name), np.random.default_rng(3)
    head = club.head()
    toe, up = rng.uniform(-0.05, 0.05, N), rng.uniform(-0.03, 0.03, N)
    place, normal = head.face_point(toe, up)
    velocity = np.stack([np.full(N, 40.0), rng.uniform(-15, 15, N), rng.uniform(-35, 10, N)])
    closing = dot(velocity, normal)
    e = face_restitution(club.kind, closing)
    lever = place - head.centre[:, None]
    blow = strike_ball(head.mass, head.inverse_inertia, lever, normal, velocity, Contact(e, 0.2, 0.30), BALL)
    turned = -head.inverse_inertia @ np.cross(lever, blow.impulse, axis=0)
    head_after = velocity - blow.impulse / head.mass + np.cross(turned, lever, axis=0)
    assert dot(blow.velocity - head_after, normal) == pytest.approx(e * closing, rel=1e-9)
