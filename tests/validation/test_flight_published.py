"""Whole flights against reference solutions, patents, tour averages and a rule of golf."""

import numpy as np
import pytest
from reference_flight import MPH, RPM, YARD

from flightsim.flight.aerodynamics import AERO_MODELS
from flightsim.flight.air import make_air
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import launch
from flightsim.flight.level_ground import fly_over_level_ground

AIR = make_air(density=1.2)
BOTH = ["naruo2004", "ferguson2022"]
CARRY = {"naruo2004": 0.09, "ferguson2022": 0.06}
ANGLE = {"naruo2004": 7.0, "ferguson2022": 8.0}


def land(model, speed, elevation, rpm):
    shot = launch(np.zeros((3, 1)), speed, np.radians(elevation), 0.0, rpm * RPM, 0.0)
    return fly_over_level_ground(Physics(air=AIR, aero=AERO_MODELS[model]), shot)


# Reference solutions (computed independently of this code; naruo2004, rho 1.2, 293.15 K, lambda 2e-5):
# V, elevation, rpm: carry m, apex m, time s, landing deg, landing m/s, spin rpm
REFERENCE = [
    (75.0, 11.0, 2700.0, 251.136015, 31.489655, 6.9195733, 38.54231, 28.851357, 2112.1958),
    (20.0, 50.0, 6000.0, 31.458756, 11.825259, 3.2576863, 56.74375, 16.084564, 5775.2040),
]


@pytest.mark.parametrize("row", REFERENCE)
def test_reference_solutions_are_met(row):
    speed, elevation, rpm, carry, apex, time, angle, end_speed, spin = row
    landed = land("naruo2004", speed, elevation, rpm)
    assert landed.carry[0] == pytest.approx(carry, abs=2e-6)
    assert landed.apex[0] == pytest.approx(apex, abs=2e-6)
    assert landed.time[0] == pytest.approx(time, abs=2e-7)
    assert np.degrees(landed.angle[0]) == pytest.approx(angle, abs=1e-5)
    assert landed.speed[0] == pytest.approx(end_speed, abs=2e-6)
    assert landed.spin[0] / RPM == pytest.approx(spin, abs=1e-4)


@pytest.mark.parametrize("model", BOTH)
def test_a_driven_ball_lands_where_a_patent_saw_four_balls_land(model):
    # US patent 6,729,976, table 5 (second-hand): 168.4 mph, 8.0 deg, 3500 rpm, four ball and orientation pairs.
    landed = land(model, 168.4 * MPH, 8.0, 3500.0)
    carry, time, angle = landed.carry[0] / YARD, landed.time[0], np.degrees(landed.angle[0])
    assert 267.2 * (1 - CARRY[model]) <= carry <= 277.6 * (1 + CARRY[model])
    assert 6.77 * 0.95 <= time <= 7.14 * 1.05
    assert 36.2 - ANGLE[model] <= angle <= 41.4 + ANGLE[model]


# Tour averages as golf magazines print them (read; place and weather not normalised):
# mph, elevation, rpm: carry yd, apex yd, landing deg
TOUR = {"driver": (167.0, 10.9, 2686.0, 275.0, 32.0, 38.0), "5-iron": (132.0, 12.1, 5361.0, 194.0, 31.0, 49.0)}


@pytest.mark.parametrize("model", BOTH)
@pytest.mark.parametrize("club", TOUR)
def test_tour_averages_are_met_within_what_balls_and_weather_differ_by(model, club):
    speed, elevation, rpm, carry, apex, angle = TOUR[club]
    landed = land(model, speed * MPH, elevation, rpm)
    assert landed.carry[0] / YARD == pytest.approx(carry, rel=CARRY[model])
    assert landed.apex[0] / YARD == pytest.approx(apex, abs=4.5)
    assert np.degrees(landed.angle[0]) == pytest.approx(angle, abs=ANGLE[model])


@pytest.mark.parametrize("model", sorted(AERO_MODELS))
def test_a_legal_ball_stays_below_the_overall_distance_standard(model):
    # USGA/R&A Overall Distance Standard (read): 120 mph club, about 176 mph ball, 10 deg, 2520 rpm; 317 + 3 yd is the
    # limit for carry and roll together.
    landed = land(model, 176.0 * MPH, 10.0, 2520.0)
    assert landed.carry[0] / YARD < 320.0


def test_the_two_models_differ_by_less_than_real_balls_do():
    # Proceedings 2018, 2(6), 238 (read): thirteen production balls differ by 18 m in carry at one launch.
    for speed, elevation, rpm, *_ in TOUR.values():
        first, second = (land(model, speed * MPH, elevation, rpm).carry[0] for model in BOTH)
        assert abs(first - second) < 18.0
