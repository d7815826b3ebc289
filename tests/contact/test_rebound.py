"""How balls leave a part: by its facing, parted from it at least, held where they would leave slowly."""

import numpy as np
import pytest
from bays import part, vector
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.bay.shapes import block
from flightsim.contact.facings import Facing, shipped_facings
from flightsim.contact.rebound import HOLDS_FROM, SEPARATE, Hits, bounce, by_facing, off_cloth
from flightsim.flight.ball import BALLS, LEGAL_BALL
from flightsim.flight.bounce import oblique_bounce

THING = part("thing", block(vector(0, 0, 0), vector(1, 1, 1)))
R, K = LEGAL_BALL.radius, LEGAL_BALL.inertia_factor
quick = settings(deadline=None, max_examples=40)
seeds = st.integers(0, 2**32 - 1)


def hits(velocity, normal, spin=None, facing=None, ball=LEGAL_BALL):
    """Hits on a made-up part, read-only as plugins get them."""
    velocity, normal = np.array(velocity, dtype=float), np.array(normal, dtype=float)
    spin = np.zeros_like(velocity) if spin is None else np.array(spin, dtype=float)
    for a in (velocity, normal, spin):
        a.flags.writeable = False
    return Hits(THING, facing or Facing("made up", fixed=0.5), ball, np.zeros_like(velocity), velocity, normal, spin)


def any_hits(seed, n=24, slowest=1e-6):
    """Hits of every speed down to a creep, on every orientation, a few of them leaving or along the face."""
    rng = np.random.default_rng(seed)
    normal = rng.normal(size=(3, n))
    normal /= np.linalg.norm(normal, axis=0)
    along = np.cross(normal, rng.normal(size=(3, n)), axis=0)
    inward = 10 ** rng.uniform(np.log10(slowest), 2, n) * rng.choice([1.0, 1.0, 1.0, -1.0, 0.0], n)
    velocity = along * 10 ** rng.uniform(-4, 1.8, n) - normal * inward
    spin = rng.normal(size=(3, n)) * 10 ** rng.uniform(-3, 3, n)
    return hits(velocity, normal, spin), rng


def energy(velocity, spin, ball=LEGAL_BALL):
    return 0.5 * (velocity**2).sum(axis=0) + 0.5 * ball.inertia_factor * ball.radius**2 * (spin**2).sum(axis=0)


def outward(rebounds, h):
    return (rebounds.velocity * h.normal).sum(axis=0)


@quick
@given(seeds, st.floats(0.0, 1.5), st.floats(0.0, 1.0), st.sampled_from([0.0, 0.01, 0.5, 2.0, 30.0]))
def test_energy_never_rises_however_slow_the_ball_and_whatever_is_held(seed, friction, tangential, hold):
    h, rng = any_hits(seed)
    after = bounce(h, rng.uniform(0.0, 1.0, 24), friction, tangential, hold)
    assert (energy(after.velocity, after.spin) <= energy(h.velocity, h.spin) * (1 + 1e-12)).all()


@quick
@given(seeds, st.floats(0.0, 1.5), st.floats(0.0, 1.0), st.sampled_from([0.0, 0.5, 2.0]))
def test_a_ball_that_met_the_face_parts_from_it_as_fast_as_it_came_or_at_separate(seed, friction, tangential, hold):
    h, rng = any_hits(seed)
    e = rng.choice([0.0, 0.1, 0.9], 24)
    out, inward = outward(bounce(h, e, friction, tangential, hold), h), h.normal_speed
    met = inward > 0.0
    least = np.minimum(SEPARATE, inward)
    assert (out[met] >= least[met] * (1 - 1e-9) - 1e-13).all()
    assert (out[met] <= np.maximum(e * inward, least)[met] * (1 + 1e-9) + 1e-13).all()


@quick
@given(seeds, st.floats(0.0, 1.5), st.floats(0.0, 1.0))
def test_what_is_not_held_keeps_its_angular_momentum_about_the_contact(seed, friction, tangential):
    h, rng = any_hits(seed)
    after = bounce(h, rng.uniform(0.0, 1.0, 24), friction, tangential)
    assert not after.held.any()
    before = K * R * h.spin + np.cross(h.normal, h.velocity, axis=0)
    assert K * R * after.spin + np.cross(h.normal, after.velocity, axis=0) == pytest.approx(before, rel=1e-9, abs=1e-10)


@quick
@given(seeds, st.sampled_from([0.0, 0.5, 30.0]))
def test_balls_that_leave_already_are_neither_touched_nor_held(seed, hold):
    h, _ = any_hits(seed)
    leaving = h.normal_speed == 0.0
    after = bounce(h, np.full(24, 0.5), 0.4, 0.2, hold)
    assert not after.held[leaving].any()
    assert np.array_equal(after.velocity[:, leaving], h.velocity[:, leaving])
    assert np.array_equal(after.spin[:, leaving], h.spin[:, leaving])


@quick
@given(seeds, st.sampled_from([0.05, 0.5, 2.0]))
def test_held_are_those_that_would_leave_slower_than_hold_and_they_have_no_spin(seed, hold):
    h, rng = any_hits(seed)
    e = rng.uniform(0.05, 0.9, 24)
    after = bounce(h, e, 0.4, 0.2, hold)
    free = bounce(h, e, 0.4, 0.2)
    slow = np.linalg.norm(free.velocity, axis=0) < hold
    assert np.array_equal(after.held, slow & (h.normal_speed > HOLDS_FROM))
    assert after.velocity[:, after.held] == pytest.approx(h.normal[:, after.held] * SEPARATE, abs=1e-15)
    assert (after.spin[:, after.held] == 0.0).all()


def test_fast_balls_beside_held_ones_bounce_as_if_alone():
    down = np.array([[1.0, 30.0, 1.5], [0.0, 0.0, 0.0], [-1.0, -40.0, -0.5]])
    up = np.tile([[0.0], [0.0], [1.0]], 3)
    after = bounce(hits(down, up), np.full(3, 0.1), 0.4, 0.2, 2.0)
    assert after.held.tolist() == [True, False, True]
    alone = bounce(hits(down[:, 1:2], up[:, 1:2]), np.array([0.1]), 0.4, 0.2, 2.0)
    assert np.array_equal(after.velocity[:, 1:2], alone.velocity)
    assert np.array_equal(after.spin[:, 1:2], alone.spin)


def test_a_ball_fast_enough_to_part_by_itself_bounces_by_the_oblique_impact():
    h, rng = any_hits(4, slowest=1.0)
    e = rng.uniform(0.1, 0.9, 24)
    after = bounce(h, e, 0.3, 0.1)
    velocity, spin = oblique_bounce(h.velocity, h.spin, h.normal, e, np.full(24, 0.3), np.full(24, 0.1), LEGAL_BALL)
    quick_ones = h.normal_speed > 0.5
    assert np.array_equal(after.velocity[:, quick_ones], velocity[:, quick_ones])
    assert np.array_equal(after.spin[:, quick_ones], spin[:, quick_ones])


def test_faces_that_give_nothing_sink_nowhere_and_let_nothing_past():
    after = by_facing(any_hits(1)[0])
    assert (after.sink == 0.0).all()
    assert not after.past.any()
    assert after.sink.shape == after.past.shape == after.held.shape == (24,)


@pytest.mark.parametrize("name", sorted(shipped_facings()))
def test_a_part_returns_a_ball_by_its_own_facings_numbers(name):
    facing = shipped_facings()[name]
    wild_hits, _ = any_hits(9)
    h = hits(wild_hits.velocity, wild_hits.normal, wild_hits.spin, facing)
    e = facing.restitution(h.normal_speed, LEGAL_BALL)
    plain = off_cloth(h, e) if facing.soft else bounce(h, e, facing.friction, facing.tangential, facing.hold)
    found = by_facing(h)
    for ours, expected in ((found.velocity, plain.velocity), (found.spin, plain.spin), (found.held, plain.held)):
        assert np.array_equal(ours, expected)


@pytest.mark.parametrize("ball", sorted(BALLS))
def test_a_balls_own_size_and_mass_decide_what_foam_and_friction_do_to_it(ball):
    ball = BALLS[ball]
    facing = shipped_facings()["foam on plywood"]
    h = hits([[30.0], [0.0], [-30.0]], [[0.0], [0.0], [1.0]], facing=facing, ball=ball)
    after = by_facing(h)
    e = float(facing.restitution(np.array([30.0]), ball)[0])
    most = 1.2 * 30.0 / (1 + 1 / ball.inertia_factor)
    kick = min(most, 0.5 * (1 + e) * 30.0)
    assert after.velocity[2, 0] == pytest.approx(30.0 * e)
    assert after.velocity[0, 0] == pytest.approx(30.0 - kick)
    assert after.spin[1, 0] == pytest.approx(kick / (ball.inertia_factor * ball.radius))


def test_a_ball_at_rest_on_a_floor_only_tips_up_by_what_it_came_down_with():
    h = hits([[5.0], [0.0], [-0.01]], [[0.0], [0.0], [1.0]], facing=shipped_facings()["turf"])
    after = by_facing(h)
    assert after.velocity[2, 0] == pytest.approx(0.01)
    # Friction has hardly anything to push with: mu (1 + 1) v_n.
    assert 5.0 - after.velocity[0, 0] == pytest.approx(0.40 * 2.0 * 0.01)


def test_hits_know_how_fast_they_go_into_the_face_and_leaving_ones_do_not():
    h = hits([[3.0, 3.0, 3.0], [0.0] * 3, [-4.0, 4.0, 0.0]], np.tile([[0.0], [0.0], [1.0]], 3))
    assert h.normal_speed.tolist() == [4.0, 0.0, 0.0]


@pytest.mark.parametrize("name", ["cloth", "net", "curtain"])
def test_a_ball_that_glances_off_cloth_is_not_held_though_the_cloth_sends_it_back_slow(name):
    """75 m/s at 15 degrees to a net: the pocket takes at most .5 (1 + e) v_n along it, so 62 m/s are left."""
    facing = shipped_facings()[name]
    velocity = 75.0 * np.array([[np.cos(np.radians(15.0))], [0.0], [-np.sin(np.radians(15.0))]])
    after = by_facing(hits(velocity, [[0.0], [0.0], [1.0]], facing=facing))
    assert not after.held.any()
    e = float(facing.restitution(np.array([-velocity[2, 0]]), LEGAL_BALL)[0])
    assert after.velocity[0, 0] == pytest.approx(velocity[0, 0] + 0.5 * (1 + e) * velocity[2, 0])


def test_a_ball_that_hops_or_rests_on_cloth_has_the_facings_own_friction():
    facing = shipped_facings()["cloth"]
    h = hits([[5.0, 5.0], [0.0, 0.0], [-0.2, -0.5]], np.tile([[0.0], [0.0], [1.0]], 2), facing=facing)
    e = facing.restitution(h.normal_speed, LEGAL_BALL)
    own = bounce(h, e, facing.friction, facing.tangential, facing.hold)
    found = off_cloth(h, e)
    assert np.array_equal(found.velocity[:, 0], own.velocity[:, 0])
    assert found.velocity[0, 1] == pytest.approx(5.0 - 0.5 * 1.15 * 0.5)
