"""The integrator against closed solutions, to 1e-9 relative. Derivations: any mechanics textbook; checked by hand."""

from math import acosh, asinh, cos, exp, hypot, log, pi, sin, sqrt, tan

import numpy as np
import pytest
from reference_flight import RPM, fly_until

from flightsim.flight.aerodynamics import ConstantCoefficients
from flightsim.flight.air import Air, make_air
from flightsim.flight.ball import LEGAL_BALL
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import launch
from flightsim.flight.level_ground import fly_over_level_ground

RHO = 1.2
G = 9.80665
VACUUM = Air(density=0.0, viscosity=1.8e-5)
EXACT = 1e-9


def drag_per_metre(CD):
    """k in dV/dx = -k V: rho A CD/2m."""
    return RHO * LEGAL_BALL.area * CD / (2.0 * LEGAL_BALL.mass)


def physics(CD, CL, gravity=0.0, decay=0.0):
    return Physics(air=Air(RHO, 1.8e-5), aero=ConstantCoefficients(CD, CL), gravity=gravity, spin_decay=decay)


@pytest.mark.parametrize("speed", [5.0, 40.0, 90.0])
@pytest.mark.parametrize("elevation", [1.0, 11.0, 45.0, 80.0, 135.0])
def test_in_a_vacuum_a_ball_flies_a_parabola(speed, elevation):
    up = np.radians(elevation)
    shot = launch(np.zeros((3, 1)), speed, up, 0.3, 3000 * RPM, 0.2)
    landed = fly_over_level_ground(Physics(air=VACUUM), shot)
    assert landed.carry[0] == pytest.approx(abs(speed**2 * sin(2 * up) / G), rel=EXACT)
    assert landed.apex[0] == pytest.approx((speed * sin(up)) ** 2 / (2 * G), rel=EXACT)
    assert landed.time[0] == pytest.approx(2 * speed * sin(up) / G, rel=EXACT)
    assert landed.angle[0] == pytest.approx(min(up, pi - up), rel=EXACT)
    assert landed.speed[0] == pytest.approx(speed, rel=EXACT)
    assert landed.spin[0] == pytest.approx(3000 * RPM, rel=EXACT)


@pytest.mark.parametrize("speed", [3.0, 75.0])
def test_with_drag_alone_distance_grows_with_the_logarithm_of_time(speed):
    # V = V0 exp(-k x), t = (exp(k x) - 1)/(k V0)
    k, time = drag_per_metre(0.25), 2.0
    point, velocity, _, _ = fly_until(physics(0.25, 0.0), (speed, 0.0, 0.0), (0.0, 0.0, 0.0), time)
    x = log(1.0 + k * speed * time) / k
    assert point[0] == pytest.approx(x, rel=EXACT)
    assert velocity[0] == pytest.approx(speed * exp(-k * x), rel=EXACT)
    assert point[1] == point[2] == 0.0


@pytest.mark.parametrize("CD", [0.0, 0.3])
def test_constant_lift_without_gravity_bends_the_path_to_a_circle(CD):
    # Curvature is lift over m V^2: radius 2m/(rho A CL), whatever the speed; drag only slows the way round it.
    CL, speed, time = 0.25, 60.0, 3.0
    radius = 2.0 * LEGAL_BALL.mass / (RHO * LEGAL_BALL.area * CL)
    k = drag_per_metre(CD)
    way = log(1.0 + k * speed * time) / k if CD else speed * time
    point, velocity, _, _ = fly_until(physics(CD, CL), (speed, 0.0, 0.0), (0.0, -300.0, 0.0), time)
    turned = way / radius
    assert point == pytest.approx([radius * sin(turned), 0.0, radius * (1 - cos(turned))], rel=EXACT, abs=1e-9)
    assert hypot(velocity[0], velocity[2]) == pytest.approx(speed * exp(-k * way), rel=EXACT)


@pytest.mark.parametrize("decay", [1.0e-5, 2.5e-5])
def test_spin_falls_by_the_exponential_of_the_air_path(decay):
    # w = w0 exp(-lambda (rho/1.2) s/r): Smits & Smith 1994 (second-hand)
    air = Air(1.05, 1.8e-5)
    setting = Physics(air=air, aero=ConstantCoefficients(0.3, 0.0), gravity=0.0, spin_decay=decay)
    k = 1.05 * LEGAL_BALL.area * 0.3 / (2 * LEGAL_BALL.mass)
    _, _, spin, path = fly_until(setting, (70.0, 0.0, 0.0), (20.0, -250.0, 80.0), 4.0)
    way = log(1.0 + k * 70.0 * 4.0) / k
    left = exp(-decay * 1.05 / 1.2 * way / LEGAL_BALL.radius)
    assert path == pytest.approx(way, rel=EXACT)
    assert spin == pytest.approx(np.array([20.0, -250.0, 80.0]) * left, rel=EXACT)


@pytest.mark.parametrize("height", [0.5, 3.0, 60.0])
def test_a_ball_dropped_from_rest_takes_the_time_of_quadratic_drag(height):
    # t = (vt/g) acosh(exp(k H)), vt = sqrt(g/k)
    k = drag_per_metre(0.45)
    terminal = sqrt(G / k)
    time = terminal / G * acosh(exp(k * height))
    point, velocity, _, _ = fly_until(physics(0.45, 0.0, G), (0.0, 0.0, 0.0), (0.0, 0.0, 0.0), time)
    assert -point[2] == pytest.approx(height, rel=EXACT)
    assert -velocity[2] == pytest.approx(terminal * sqrt(1.0 - exp(-2 * k * height)), rel=EXACT)


def test_a_ball_straight_up_rises_and_falls_as_quadratic_drag_says():
    # Up: H = ln(1 + (V0/vt)^2)/2k, t = vt/g atan(V0/vt); down: t = vt/g acosh(exp(k H)). No spin, constant CD.
    k, speed = drag_per_metre(0.45), 50.0
    terminal = sqrt(G / k)
    apex = log(1.0 + (speed / terminal) ** 2) / (2.0 * k)
    time = terminal / G * (np.arctan(speed / terminal) + acosh(exp(k * apex)))
    shot = launch(np.zeros((3, 1)), speed, pi / 2, 0.0, 0.0, 0.0)
    landed = fly_over_level_ground(physics(0.45, 0.0, G), shot)
    assert landed.apex[0] == pytest.approx(apex, rel=EXACT)
    assert landed.time[0] == pytest.approx(time, rel=EXACT)
    assert landed.speed[0] == pytest.approx(terminal * sqrt(1.0 - exp(-2 * k * apex)), rel=EXACT)


def test_steady_wind_is_the_same_flight_seen_from_a_moving_frame():
    # Galileo: without gravity, a ball in wind w flies as one at v - w in still air, carried along by w.
    wind = np.array([4.0, -3.0, 1.0])
    moving = Physics(air=Air(RHO, 1.8e-5), gravity=0.0, wind=(4.0, -3.0, 1.0))
    still = Physics(air=Air(RHO, 1.8e-5), gravity=0.0)
    velocity, spin, time = np.array([50.0, 5.0, 12.0]), np.array([30.0, -280.0, 40.0]), 1.5
    there = fly_until(moving, velocity, spin, time)
    here = fly_until(still, velocity - wind, spin, time)
    assert there[0] == pytest.approx(here[0] + wind * time, rel=EXACT)
    assert there[1] == pytest.approx(here[1] + wind, rel=EXACT)
    assert there[2] == pytest.approx(here[2], rel=EXACT)


def test_arc_length_of_a_vacuum_parabola_is_the_air_path():
    # Length from launch to landing: V^2/g (sin a + cos^2 a asinh(tan a)).
    speed, up = 30.0, 0.6
    time = 2 * speed * sin(up) / G
    _, _, _, path = fly_until(Physics(air=VACUUM), (speed * cos(up), 0.0, speed * sin(up)), (0, 0, 0), time)
    assert path == pytest.approx(speed**2 / G * (sin(up) + cos(up) ** 2 * asinh(tan(up))), rel=EXACT)


def test_room_air_carries_its_own_numbers_into_the_physics():
    assert Physics().air == make_air()
    assert Physics().gravity == G
