"""A scenario's numbers reach the physics, with the right sign."""

from pathlib import Path

import numpy as np
import pytest

from flightsim.flight.integrator import Physics
from flightsim.scenario.errors import ScenarioError
from flightsim.study.build import open_bay
from flightsim.study.run import run

GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"


def physics(*sets: str) -> Physics:
    return open_bay(GARAGE, sets).physics


def test_wind_to_the_right_blows_along_minus_y():
    assert physics("air.wind_to_right=2 m/s", "air.wind_toward_screen=-1 m/s").wind == (-1.0, -2.0, 0.0)


def test_air_given_by_altitude_is_thinner_and_a_given_density_overrides_only_the_density():
    low, high = physics(), physics("air.altitude=1500 m")
    assert high.air.density == pytest.approx(low.air.density * 0.8345, rel=0.005)  # ISO 2533: 84.556 kPa at 1500 m
    given = physics("air.density=1.1 kg/m3")
    assert given.air.density == 1.1
    assert given.air.viscosity == low.air.viscosity


def test_a_practice_ball_keeps_the_numbers_that_are_not_given():
    ball = physics("ball.preset=foam", "ball.mass=8 g").ball
    assert (ball.mass, ball.diameter) == (0.008, 0.042)
    assert "as given" in ball.source


def test_the_ball_stands_on_the_mat():
    opened = open_bay(GARAGE)
    start = run(opened, 200).shots.start
    assert start[2].min() >= 0.045 + opened.physics.ball.radius


def test_a_tee_inside_a_part_is_an_error_that_names_the_part():
    with pytest.raises(ScenarioError, match=r"behind|inside") as refused:
        open_bay(GARAGE, ["tee.from_end_wall=350 mm"])
    assert "tee" in str(refused.value)


def test_a_left_hander_sends_shanks_to_the_left():
    right, left = (run(open_bay(GARAGE, [f"launches.hand={hand}"]), 500) for hand in ("right", "left"))
    assert np.array_equal(right.shots.azimuth, -left.shots.azimuth)
    assert np.array_equal(right.shots.spin_tilt, -left.shots.spin_tilt)
    shank = [k for k, kind in enumerate(left.types) if kind.strike == "shank"]
    assert (left.shots.launches().velocity[1, np.isin(left.shots.type, shank)] > 0.0).all()
