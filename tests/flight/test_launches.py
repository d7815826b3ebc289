"""Launches from golfers' numbers: signs, axes and the other hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flightsim.flight.launches import launch

ANGLES = st.floats(-np.pi, np.pi)
ORIGIN = np.zeros((3, 1))


def one(elevation=0.0, azimuth=0.0, rate=250.0, tilt=0.0, speed=60.0):
    made = launch(ORIGIN, speed, elevation, azimuth, rate, tilt)
    return made.velocity[:, 0], made.spin[:, 0]


def test_straight_ahead_is_x_up_is_z_and_right_is_minus_y():
    assert one()[0] == pytest.approx([60.0, 0.0, 0.0])
    assert one(elevation=np.pi / 2)[0] == pytest.approx([0.0, 0.0, 60.0])
    assert one(azimuth=np.pi / 2)[0] == pytest.approx([0.0, -60.0, 0.0])


def test_backspin_lifts_and_topspin_presses_down():
    velocity, spin = one()
    assert np.cross(spin, velocity)[2] > 0.0
    velocity, spin = one(rate=-250.0)
    assert np.cross(spin, velocity)[2] < 0.0


def test_a_positive_tilt_pulls_to_the_right():
    velocity, spin = one(tilt=0.3)
    assert np.cross(spin, velocity)[1] < 0.0


def test_elevation_past_vertical_is_taken_as_given():
    velocity, spin = one(elevation=np.radians(110.0))
    assert velocity[0] < 0.0
    assert spin == pytest.approx(one()[1])  # the axis does not turn with the elevation


@given(elevation=ANGLES, azimuth=ANGLES, tilt=ANGLES, rate=st.floats(-1000.0, 1000.0))
def test_spin_is_across_the_launch_direction_and_keeps_its_rate(elevation, azimuth, tilt, rate):
    velocity, spin = one(elevation, azimuth, rate, tilt)
    assert abs(velocity @ spin) < 1e-9 * 60.0 * max(abs(rate), 1.0)
    assert np.linalg.norm(spin) == pytest.approx(abs(rate), rel=1e-12)
    assert np.linalg.norm(velocity) == pytest.approx(60.0, rel=1e-12)


@given(elevation=ANGLES, azimuth=ANGLES, tilt=ANGLES)
def test_the_other_hand_has_azimuth_and_tilt_reversed(elevation, azimuth, tilt):
    mirror = launch(ORIGIN, 60.0, elevation, azimuth, 250.0, tilt).mirrored()
    plain = launch(ORIGIN, 60.0, elevation, -azimuth, 250.0, -tilt)
    assert mirror.velocity == pytest.approx(plain.velocity, abs=1e-12)
    assert mirror.spin == pytest.approx(plain.spin, abs=1e-12)


def test_numbers_for_one_and_arrays_for_many_mix():
    made = launch(np.zeros((3, 4)), np.array([10.0, 20.0, 30.0, 40.0]), 0.2, 0.0, 300.0, np.zeros(4))
    assert len(made) == 4
    assert np.linalg.norm(made.velocity, axis=0) == pytest.approx([10.0, 20.0, 30.0, 40.0])
    assert len(made.take(slice(1, 3))) == 2
    assert made.take(np.array([3])).velocity[:, 0] == pytest.approx(made.velocity[:, 3])
