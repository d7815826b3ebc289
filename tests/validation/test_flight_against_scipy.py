"""Arcs against scipy's DOP853 (rtol 1e-12) on equations written a second time, in tests/support."""

import numpy as np
import pytest
from reference_flight import REFERENCE_MODELS, RPM, Setting, fly_until, reference_states

from flightsim.flight.aerodynamics import AERO_MODELS
from flightsim.flight.air import Air
from flightsim.flight.ball import Ball
from flightsim.flight.integrator import Physics, fly_arcs
from flightsim.flight.launches import launch
from flightsim.flight.level_ground import fly_over_level_ground

DISPLAYED = 17  # times along an arc at which the two are compared
MODELS = sorted(AERO_MODELS)
RADIUS = Setting().diameter / 2


def physics_of(setting):
    ball = Ball("test", setting.mass, setting.diameter, 0.4, "made up for this test")
    return Physics(
        ball=ball,
        air=Air(setting.density, setting.viscosity),
        aero=AERO_MODELS[setting.model],
        gravity=setting.gravity,
        wind=setting.wind,
        spin_decay=setting.spin_decay,
    )


def directions(random, n):
    vectors = random.normal(size=(3, n))
    return vectors / np.linalg.norm(vectors, axis=0)


def errors(setting, velocity, spin, duration, tolerance):
    """Greatest distance of each arc from the reference, over the whole arc, in tolerances."""
    n = len(duration)
    arcs = fly_arcs(physics_of(setting), np.zeros((3, n)), velocity, spin, np.zeros(n), duration, tolerance)
    assert np.isfinite(arcs.error).all()
    tau = np.linspace(0.0, 1.0, DISPLAYED)
    worst = np.empty(n)
    for k in range(n):
        truth = reference_states(setting, velocity[:, k], spin[:, k], tau * arcs.duration[k])
        one = arcs.take(np.full(DISPLAYED, k))
        worst[k] = np.abs(one.position(tau) - truth[:3]).max()
        assert one.velocity(tau) == pytest.approx(truth[3:6], abs=12 * tolerance / arcs.duration[k])
        left = np.exp(-setting.spin_decay * truth[6] / setting.diameter * 2 * setting.density / 1.2)
        assert one.spin_at(tau) == pytest.approx(np.outer(spin[:, k], left), rel=1e-5, abs=1e-9)
    return worst / tolerance


@pytest.mark.parametrize("wind", [(0.0, 0.0, 0.0), (-6.0, 4.0, 1.5)])
@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("tolerance", [1e-6, 1e-9])
def test_any_launch_any_spin_axis_any_wind_stays_within_its_tolerance(model, wind, tolerance):
    random = np.random.default_rng(MODELS.index(model))
    n = 12
    velocity = directions(random, n) * 10 ** random.uniform(-0.5, 1.95, n)
    spin = directions(random, n) * random.uniform(0.0, 11_000.0, n) * RPM
    spin[:, 0] = 0.0
    found = errors(Setting(model, wind=wind), velocity, spin, random.uniform(0.02, 0.5, n), tolerance)
    assert found.max() < 3.0


# Where CD or CL has a kink or a change of curvature: spin ratios by model, and Reynolds numbers of the blends.
KINKS = [("naruo2004", S) for S in (0.03, 1.13)] + [("ferguson2022", S) for S in (0.05, 0.5235, 0.5622)]


@pytest.mark.parametrize(("model", "S"), KINKS)
def test_an_arc_that_crosses_a_kink_of_spin_ratio_stays_within_its_tolerance(model, S):
    random = np.random.default_rng(int(S * 1000))
    n = 16
    along = directions(random, n)
    speed = random.uniform(5.0, 90.0, n)
    axis = np.cross(along, directions(random, n), axis=0)
    axis /= np.linalg.norm(axis, axis=0)
    spin = axis * speed * S / RADIUS * random.uniform(0.9, 1.0, n)  # S grows as the ball slows
    assert errors(Setting(model), along * speed, spin, random.uniform(0.1, 0.4, n), 1e-6).max() < 3.0


@pytest.mark.parametrize("model", ["naruo2004", "naruo2004_reversed_low_lift"])
@pytest.mark.parametrize("Re", [4.0e4, 5.0e4, 6.5e4, 7.5e4])
def test_an_arc_that_crosses_a_blend_of_reynolds_number_stays_within_its_tolerance(model, Re):
    random = np.random.default_rng(int(Re))
    setting, n = Setting(model), 12
    speed = Re * setting.viscosity / setting.density / setting.diameter * random.uniform(1.0, 1.1, n)
    spin = directions(random, n) * random.uniform(0.0, 6000.0, n) * RPM
    found = errors(setting, directions(random, n) * speed, spin, random.uniform(0.1, 0.5, n), 1e-6)
    assert found.max() < 3.0


def test_a_ball_that_stops_in_the_air_and_falls_back_stays_within_its_tolerance():
    random = np.random.default_rng(7)
    n = 16
    velocity = np.zeros((3, n))
    velocity[2] = random.uniform(0.1, 4.0, n)
    velocity[0] = random.choice([0.0, 1e-6, 1e-3, 0.1], n)
    spin = directions(random, n) * random.uniform(0.0, 8000.0, n) * RPM
    assert errors(Setting(), velocity, spin, random.uniform(0.1, 0.5, n), 1e-6).max() < 3.0


def test_other_balls_in_thin_air_stay_within_their_tolerance():
    random = np.random.default_rng(8)
    n = 12
    setting = Setting(density=0.9, mass=0.007, diameter=0.042, spin_decay=2.5e-5, gravity=9.78)
    velocity = directions(random, n) * random.uniform(1.0, 60.0, n)
    spin = directions(random, n) * random.uniform(0.0, 9000.0, n) * RPM
    assert errors(setting, velocity, spin, random.uniform(0.1, 0.5, n), 1e-6).max() < 3.0


FLIGHTS = [  # speed, elevation, azimuth, rpm, tilt, seconds: a driver, a slice, a topped ball, a lob, backwards
    (75.0, 11.0, 0.0, 2700.0, 0.0, 6.5),
    (65.0, 14.0, 5.0, 3300.0, 35.0, 6.0),
    (45.0, -4.0, -8.0, -2500.0, 5.0, 1.5),
    (22.0, 62.0, 0.0, 7000.0, -8.0, 4.0),
    (28.0, 118.0, 40.0, 5000.0, 10.0, 4.0),
]


@pytest.mark.parametrize("flight", FLIGHTS)
@pytest.mark.parametrize("model", ["naruo2004", "ferguson2022"])
@pytest.mark.parametrize("wind", [(0.0, 0.0, 0.0), (3.0, -5.0, 0.5)])
def test_a_long_flight_of_joined_arcs_ends_within_a_micrometre(flight, model, wind):
    speed, elevation, azimuth, rpm, tilt, time = flight
    shot = launch(np.zeros((3, 1)), speed, np.radians(elevation), np.radians(azimuth), rpm * RPM, np.radians(tilt))
    setting = Setting(model, wind=wind)
    truth = reference_states(setting, shot.velocity[:, 0], shot.spin[:, 0], np.array([time / 2, time]))[:, -1]
    point, velocity, _, path = fly_until(physics_of(setting), shot.velocity, shot.spin, time, 1e-10)
    assert np.abs(point - truth[:3]).max() < 1e-6
    assert np.abs(velocity - truth[3:6]).max() < 1e-6
    assert path == pytest.approx(truth[6], abs=1e-6)


def test_landings_are_where_the_reference_comes_down():
    setting = Setting()
    for speed, elevation, azimuth, rpm, tilt, _ in FLIGHTS[:2] + FLIGHTS[3:]:
        shot = launch(np.zeros((3, 1)), speed, np.radians(elevation), np.radians(azimuth), rpm * RPM, np.radians(tilt))
        landed = fly_over_level_ground(physics_of(setting), shot)
        time = landed.time[0]
        truth = reference_states(setting, shot.velocity[:, 0], shot.spin[:, 0], np.linspace(0.0, time, 4000))
        assert [landed.x[0], landed.y[0], 0.0] == pytest.approx(truth[:3, -1], abs=1e-7)
        assert truth[2, 1:-1].min() > 0.0
        assert landed.apex[0] == pytest.approx(truth[2].max(), abs=1e-5)
        assert landed.speed[0] == pytest.approx(np.linalg.norm(truth[3:6, -1]), abs=1e-6)


def test_both_ways_of_writing_the_coefficients_agree_everywhere():
    S = np.concatenate([np.linspace(0.0, 1.5, 301), [0.03, 0.05, 0.5235, 0.5622, 1.13]])
    for Re in (0.0, 3.0e4, 4.5e4, 6.0e4, 7.0e4, 7.4e4, 9.0e4, 2.0e5):
        for name, reference in REFERENCE_MODELS.items():
            drag, lift = AERO_MODELS[name](S, np.full_like(S, Re))
            truth = np.array([reference(float(s), Re) for s in S]).T
            assert np.abs(drag - truth[0]).max() < 1e-14
            assert np.abs(lift - truth[1]).max() < 1e-14
