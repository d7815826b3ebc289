"""The bounce off the mat: an oblique impact of a solid sphere on level ground."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.flight.ball import LEGAL_BALL as BALL
from flightsim.strike.mat_bounce import FOAM_ON_SLAB, TURF_FRICTION, bounce_off_mat, turf_restitution


def random_balls(seed: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    return rng.normal(size=(3, 300)) * 25, rng.normal(size=(3, 300)) * 500


def contact(velocity: np.ndarray, spin: np.ndarray) -> np.ndarray:
    """Velocity of the ball's lowest point along the ground."""
    return velocity[:2] + np.cross(spin, [0, 0, -BALL.radius], axisa=0, axisc=0)[:2]


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=25, deadline=None)
def test_v_t_plus_alpha_r_w_is_kept_and_energy_never_rises(seed):
    """[cross-2002], oblique impact (solid sphere): both hold in any bounce."""
    velocity, spin = random_balls(seed)
    after, turning = bounce_off_mat(velocity, spin, BALL)
    alpha = BALL.inertia_factor * BALL.radius
    # About the contact point: with z up, x goes with -w_y and y with +w_x; the sign is that of a rolling ball's slip.
    assert after[0] + alpha * turning[1] == pytest.approx(velocity[0] + alpha * spin[1], abs=1e-9)
    assert after[1] - alpha * turning[0] == pytest.approx(velocity[1] - alpha * spin[0], abs=1e-9)
    assert turning[2] == pytest.approx(spin[2])

    def energy(v, w):
        return (v**2).sum(axis=0) + BALL.inertia_factor * BALL.radius**2 * (w**2).sum(axis=0)

    assert (energy(after, turning) <= energy(velocity, spin) * (1 + 1e-12)).all()


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=25, deadline=None)
def test_restitution_and_the_friction_limit_are_exact_and_rising_balls_are_left_alone(seed):
    velocity, spin = random_balls(seed)
    after, turning = bounce_off_mat(velocity, spin, BALL)
    down = velocity[2] < 0.0
    e = turf_restitution(-velocity[2, down])
    assert after[2, down] == pytest.approx(-e * velocity[2, down])
    push = np.hypot(*(after - velocity)[:2, down])
    assert (push <= TURF_FRICTION * (1 + e) * -velocity[2, down] * (1 + 1e-9)).all()
    slip_before, slip_after = contact(velocity, spin)[:, down], contact(after, turning)[:, down]
    gripped = push < TURF_FRICTION * (1 + e) * -velocity[2, down] * (1 - 1e-9)
    assert gripped.sum() > 2
    assert slip_after[:, gripped] == pytest.approx(-0.2 * slip_before[:, gripped], abs=1e-9)
    assert np.array_equal(after[:, ~down], velocity[:, ~down])
    assert np.array_equal(turning[:, ~down], spin[:, ~down])


@pytest.mark.parametrize(("speed", "e"), [(0.0, 0.510), (4.0, 0.374448), (10.0, 0.2253), (15.0, 0.150675)])
def test_turf_gives_back_what_penner_says_up_to_15_m_s(speed, e):
    # e = .510 - .0375 v + .000903 v^2 (Penner, memory): exact.
    assert float(turf_restitution(np.array([speed]))[0]) == pytest.approx(e, abs=1e-12)


@pytest.mark.parametrize("speed", [15.1, 20.0, 40.0])
def test_on_a_foam_mat_over_slab_a_quarter_comes_back_once_it_is_faster(speed):
    # [mat-floor]: on foam mat over slab use .25 once v_n > 15 m/s.
    assert float(turf_restitution(np.array([speed]))[0]) == FOAM_ON_SLAB == 0.25
