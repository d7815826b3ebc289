"""Flights over level ground: where they start, where they end, and which never do."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reference_flight import RPM

from flightsim.flight.air import Air
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import Launches, launch
from flightsim.flight.level_ground import NoLandingError, fly_over_level_ground

FIELDS = ("carry", "x", "y", "apex", "time", "angle", "speed", "spin")


def shot(speed=70.0, elevation=12.0, azimuth=0.0, rpm=2700.0, tilt=0.0):
    return launch(np.zeros((3, 1)), speed, np.radians(elevation), np.radians(azimuth), rpm * RPM, np.radians(tilt))


def land(**how):
    landed = fly_over_level_ground(Physics(), shot(**how))
    return {name: float(getattr(landed, name)[0]) for name in FIELDS}


@pytest.mark.parametrize("elevation", [0.0, -3.0, -90.0])
def test_a_launch_that_does_not_rise_lands_where_it_starts(elevation):
    landed = land(elevation=elevation)
    assert landed["carry"] == landed["x"] == landed["y"] == landed["apex"] == landed["time"] == 0.0
    assert landed["speed"] == pytest.approx(70.0)
    assert landed["spin"] == pytest.approx(2700 * RPM)
    assert np.degrees(landed["angle"]) == pytest.approx(-elevation)


def test_a_ball_at_rest_lands_at_once():
    landed = land(speed=0.0)
    assert landed["carry"] == landed["time"] == landed["speed"] == landed["angle"] == 0.0
    assert np.copysign(1.0, landed["angle"]) == 1.0


def test_past_ninety_degrees_a_ball_flies_backwards_and_lift_stays_with_the_axis():
    # As given: 110 deg is not 70 deg turned round, whose backspin would lift the other way.
    back = land(elevation=110.0)
    turned = land(elevation=70.0, azimuth=180.0)
    assert back["x"] < 0.0
    assert turned["x"] < 0.0
    assert back["carry"] == pytest.approx(-back["x"])
    assert abs(back["x"]) > abs(turned["x"]) + 20.0
    same = land(elevation=70.0, azimuth=180.0, rpm=-2700.0)
    assert back["x"] == pytest.approx(same["x"], abs=1e-6)


def test_straight_up_without_spin_comes_straight_down():
    landed = land(elevation=90.0, rpm=0.0, speed=30.0)
    assert landed["carry"] < 1e-12
    assert np.degrees(landed["angle"]) == pytest.approx(90.0)
    assert 0.0 < landed["speed"] < 30.0
    assert 20.0 < landed["apex"] < 30.0**2 / (2 * 9.80665)


def test_backspin_carries_farther_than_none_and_topspin_less():
    carries = [land(rpm=rpm)["carry"] for rpm in (-2000.0, 0.0, 2700.0)]
    assert carries[0] < carries[1] < carries[2]


def test_azimuth_to_the_right_lands_on_the_negative_side():
    landed = land(azimuth=5.0)
    assert landed["y"] < 0.0
    assert np.degrees(np.arctan2(-landed["y"], landed["x"])) == pytest.approx(5.0, abs=1e-6)
    assert landed["carry"] == pytest.approx(land()["carry"], abs=1e-6)


def test_a_spin_axis_tilted_right_curves_right_and_left_curves_left():
    right, left = land(tilt=10.0), land(tilt=-10.0)
    assert right["y"] < -5.0
    assert left["y"] == -right["y"]
    assert left["x"] == right["x"]


@settings(max_examples=10, deadline=None)
@given(
    speed=st.floats(5.0, 90.0),
    elevation=st.floats(-5.0, 120.0),
    azimuth=st.floats(-180.0, 180.0),
    rpm=st.floats(-4000.0, 9000.0),
    tilt=st.floats(-40.0, 40.0),
)
def test_any_landing_is_a_landing(speed, elevation, azimuth, rpm, tilt):
    landed = land(speed=speed, elevation=elevation, azimuth=azimuth, rpm=rpm, tilt=tilt)
    assert landed["carry"] == pytest.approx(np.hypot(landed["x"], landed["y"]))
    assert 0.0 <= landed["angle"] <= np.pi / 2
    assert landed["speed"] <= speed * (1.0 + 1e-12)  # level ground, still air: energy only falls
    assert landed["spin"] <= abs(rpm) * RPM * (1.0 + 1e-12)
    assert 0.0 <= landed["apex"] <= speed**2 / (2 * 9.80665)
    assert landed["time"] > 0.0 or landed["carry"] == 0.0


def test_many_launches_land_as_each_alone():
    angles = np.array([-2.0, 4.0, 12.0, 50.0, 90.0, 115.0])
    together = launch(np.zeros((3, 6)), 40.0, np.radians(angles), 0.1, 300.0, 0.05)
    landed = fly_over_level_ground(Physics(), together)
    for k in range(6):
        alone = fly_over_level_ground(Physics(), together.take(slice(k, k + 1)))
        for name in FIELDS:
            assert getattr(landed, name)[k] == getattr(alone, name)[0]


def test_no_launches_give_no_landings():
    assert fly_over_level_ground(Physics(), shot().take(slice(0, 0))).carry.shape == (0,)


def test_landings_are_told_from_the_start_wherever_that_is():
    here = shot(tilt=12.0)
    there = Launches(here.start + np.array([[3.0], [-1.0], [0.5]]), here.velocity, here.spin)
    moved, plain = fly_over_level_ground(Physics(), there), fly_over_level_ground(Physics(), here)
    for name in FIELDS:
        assert getattr(moved, name) == pytest.approx(getattr(plain, name), rel=1e-9)


def test_a_looser_tolerance_moves_a_landing_by_less_than_a_tenth_of_a_millimetre():
    tight = fly_over_level_ground(Physics(), shot())
    loose = fly_over_level_ground(Physics(), shot(), tolerance=1e-7)
    assert loose.carry[0] == pytest.approx(tight.carry[0], abs=1e-4)
    assert loose.apex[0] == pytest.approx(tight.apex[0], abs=1e-4)


def test_a_ball_that_never_comes_down_is_an_error_that_says_so():
    with pytest.raises(NoLandingError, match="the ball is still in the air after 600 s"):
        fly_over_level_ground(Physics(gravity=0.0), shot())


def test_a_ball_that_cannot_be_flown_is_an_error_that_names_it():
    two = launch(np.zeros((3, 2)), np.array([50.0, np.nan]), 0.2, 0.0, 300.0, 0.0)
    with pytest.raises(NoLandingError, match="ball 1 of 2"):
        fly_over_level_ground(Physics(), two)


def test_wind_behind_carries_a_ball_farther_and_from_the_left_to_the_right():
    plain = fly_over_level_ground(Physics(), shot())
    behind = fly_over_level_ground(Physics(wind=(5.0, 0.0, 0.0)), shot())
    across = fly_over_level_ground(Physics(wind=(0.0, -5.0, 0.0)), shot())
    assert behind.carry[0] > plain.carry[0]
    assert across.y[0] < -3.0


def test_the_apex_of_a_ball_that_lands_within_its_first_arc_is_seen():
    landed = fly_over_level_ground(Physics(air=Air(0.0, 1.8e-5)), shot(speed=1.0, elevation=45.0))
    assert landed.apex[0] == pytest.approx(0.5 / (2 * 9.80665), rel=1e-9)
