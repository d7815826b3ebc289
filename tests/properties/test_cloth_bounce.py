"""The law of cloth for any ball: energy, symmetry, rolling, and nothing lost where nothing is struck."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from scipy_rebounds import off_cloth as off_cloth_again

from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import rectangle
from flightsim.contact.cloth_ends import lively_facing
from flightsim.contact.facings import shipped_facings
from flightsim.contact.rebound import Hits, by_facing, off_cloth
from flightsim.flight.ball import BALLS, LEGAL_BALL
from flightsim.flight.bounce import LIVELY_ALONG, MOST_DRAG, cloth_bounce, oblique_bounce

N = 40
quick = settings(max_examples=60, deadline=None)
seeds = st.integers(0, 2**32 - 1)


def any_hits(seed: int, spins: float = 900.0):
    """Balls that meet cloth at any angle, some of them grazing, some rolling along it already."""
    rng = np.random.default_rng(seed)
    normal = rng.normal(size=(3, N))
    normal /= np.linalg.norm(normal, axis=0)
    velocity = rng.normal(size=(3, N)) * rng.uniform(0.1, 60.0, N)
    velocity -= normal * ((velocity * normal).sum(axis=0) + rng.uniform(0.0, 1.0, N) ** 6 * 70.0)
    spin = rng.normal(size=(3, N)) * rng.uniform(0.0, spins, N)
    rolls = rng.uniform(size=N) < 0.3
    spin[:, rolls] = (np.cross(normal, velocity, axis=0) / LEGAL_BALL.radius)[:, rolls] * rng.uniform(0.5, 1.5)
    return velocity, spin, normal, rng.uniform(0.0, 0.6, N)


def energy(velocity, spin, ball=LEGAL_BALL):
    return (velocity**2).sum(axis=0) + ball.inertia_factor * ball.radius**2 * (spin**2).sum(axis=0)


@quick
@given(seeds, st.sampled_from(sorted(BALLS)), st.sampled_from([1.0, LIVELY_ALONG]))
def test_energy_never_rises(seed, name, kept):
    velocity, spin, normal, e = any_hits(seed)
    after = cloth_bounce(velocity, spin, normal, e, BALLS[name], kept)
    assert (energy(*after, BALLS[name]) <= energy(velocity, spin, BALLS[name]) * (1 + 1e-12)).all()


@quick
@given(seeds)
def test_what_turns_before_turns_after(seed):
    velocity, spin, normal, e = any_hits(seed)
    turn = Rotation.random(random_state=seed).as_matrix()
    one = cloth_bounce(velocity, spin, normal, e, LEGAL_BALL)
    other = cloth_bounce(turn @ velocity, turn @ spin, turn @ normal, e, LEGAL_BALL)
    assert turn @ one[0] == pytest.approx(other[0], rel=1e-9, abs=1e-9)
    assert turn @ one[1] == pytest.approx(other[1], rel=1e-9, abs=1e-7)


@quick
@given(seeds)
def test_a_mirror_mirrors_velocities_and_turns_spins_the_other_way(seed):
    velocity, spin, normal, e = any_hits(seed)
    true, axial = np.array([[1.0], [-1.0], [1.0]]), np.array([[-1.0], [1.0], [-1.0]])
    one = cloth_bounce(velocity, spin, normal, e, LEGAL_BALL)
    other = cloth_bounce(true * velocity, axial * spin, true * normal, e, LEGAL_BALL)
    assert true * one[0] == pytest.approx(other[0], rel=1e-12, abs=1e-12)
    assert axial * one[1] == pytest.approx(other[1], rel=1e-12, abs=1e-12)


@quick
@given(seeds)
def test_it_rolls_where_the_change_is_not_cut_short_and_spin_about_the_normal_stays(seed):
    velocity, spin, normal, e = any_hits(seed)
    after, turning = cloth_bounce(velocity, spin, normal, e, LEGAL_BALL)
    inward = -(velocity * normal).sum(axis=0)
    along, along_after = (v - normal * (v * normal).sum(axis=0) for v in (velocity, after))
    whole = (np.linalg.norm(along_after - along, axis=0) < MOST_DRAG * (1 + e) * inward * (1 - 1e-9)) & (inward > 0.01)
    slip = along_after - LEGAL_BALL.radius * np.cross(turning, normal, axis=0)
    assert np.abs(slip[:, whole]).max(initial=0.0) < 1e-9
    assert (turning * normal).sum(axis=0) == pytest.approx((spin * normal).sum(axis=0), rel=1e-9, abs=1e-9)


@quick
@given(seeds)
def test_the_change_along_is_never_more_than_its_cap_and_goes_to_nothing_with_the_square_part(seed):
    velocity, spin, normal, e = any_hits(seed)
    after, _ = cloth_bounce(velocity, spin, normal, e, LEGAL_BALL)
    inward = -(velocity * normal).sum(axis=0)
    change = after - velocity
    change -= normal * (change * normal).sum(axis=0)
    assert (np.linalg.norm(change, axis=0) <= MOST_DRAG * (1 + e) * inward * (1 + 1e-9) + 1e-12).all()
    grazing = velocity + normal * (inward - 1e-9)
    after, turning = cloth_bounce(grazing, spin, normal, e, LEGAL_BALL)
    assert after == pytest.approx(grazing, abs=1e-8)
    assert turning == pytest.approx(spin, abs=1e-5)


@quick
@given(seeds)
def test_it_is_the_law_as_it_is_written_a_second_time(seed):
    velocity, spin, normal, e = any_hits(seed)
    after, turning = cloth_bounce(velocity, spin, normal, e, LEGAL_BALL)
    for k in range(0, N, 5):
        one = off_cloth_again(velocity[:, k], spin[:, k], normal[:, k], e[k], LEGAL_BALL.radius, 0.4)
        assert after[:, k] == pytest.approx(one[0], rel=1e-9, abs=1e-9)
        assert turning[:, k] == pytest.approx(one[1], rel=1e-9, abs=1e-7)


def soft_hits(velocity, spin, normal, facing=None):
    sheet = rectangle(np.zeros(3), np.array([0, 1.0, 0]), np.array([0, 0, 1.0]))
    facing = facing or shipped_facings()["cloth"]
    return Hits(Part("it", sheet, Role.GUARD, facing.name, "t"), facing, LEGAL_BALL,
                np.zeros(velocity.shape), velocity, normal, spin)  # fmt: skip


def test_lively_cloth_keeps_a_quarter_more_along_where_the_law_is_known_and_is_plain_friction_elsewhere():
    n = np.repeat([[-1.0], [0.0], [0.0]], 3, axis=1)
    velocity = np.array([[60.0, 10.0, 30.0], [0.0, 0.0, 0.0], [20.0, 5.0, 40.0]])  # known; slow; flat
    spin, e = np.zeros((3, 3)), np.full(3, 0.1)
    facing = shipped_facings()["cloth"]
    likely = off_cloth(soft_hits(velocity, spin, n), e).velocity
    lively = off_cloth(soft_hits(velocity, spin, n, lively_facing(facing)), e).velocity
    assert lively[2, 0] == pytest.approx(1.25 * likely[2, 0])
    mu, tangential = np.full(3, facing.friction), np.full(3, facing.tangential)
    plain, _ = oblique_bounce(velocity, spin, n, e, mu, tangential, LEGAL_BALL)
    assert lively[:, 1:] == pytest.approx(plain[:, 1:])


def test_balls_that_leave_are_as_they_were():
    velocity, spin, normal, e = any_hits(3)
    velocity = velocity - 2.0 * normal * (velocity * normal).sum(axis=0)
    after = cloth_bounce(velocity, spin, normal, e, LEGAL_BALL)
    assert np.array_equal(after[0], velocity)
    assert np.array_equal(after[1], spin)


@pytest.mark.parametrize("name", ["cloth", "net", "curtain"])
def test_all_that_is_soft_goes_by_this_law_and_what_is_hard_does_not(name):
    velocity, spin, normal, _ = any_hits(8)
    sheet = rectangle(np.zeros(3), np.array([0, 1.0, 0]), np.array([0, 0, 1.0]))
    for facing, soft in ((shipped_facings()[name], True), (shipped_facings()["plywood"], False)):
        part = Part("it", sheet, Role.GUARD, facing.name, "t")
        hits = Hits(part, facing, LEGAL_BALL, np.zeros((3, N)), velocity, normal, spin)
        same = np.array_equal(
            by_facing(hits).velocity, off_cloth(hits, facing.restitution(hits.normal_speed, LEGAL_BALL)).velocity
        )
        assert same is soft
