"""Air and balls from what the user knows, and what cannot be."""

import pytest

from flightsim.flight.air import make_air, sutherland_viscosity
from flightsim.flight.ball import BALLS, LEGAL_BALL, Ball


def test_a_given_density_overrides_the_density_only():
    air = make_air(temperature=303.15, density=1.0)
    assert air.density == 1.0
    assert air.viscosity == sutherland_viscosity(303.15)


def test_altitude_and_the_pressure_there_give_one_air():
    assert make_air(altitude=0.0) == make_air(pressure=101_325.0) == make_air()


def test_warm_moist_and_high_air_is_thinner():
    room = make_air().density
    assert make_air(temperature=303.15).density < room
    assert make_air(relative_humidity=1.0).density < room
    assert make_air(altitude=1500.0).density < room


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"pressure": 1e5, "altitude": 100.0}, "not both"),
        ({"altitude": 60_000.0}, "11000 m"),
        ({"altitude": -5000.0}, "-1000 m"),
        ({"altitude": float("nan")}, "altitude"),
        ({"temperature": 3.0}, "150 K"),
        ({"temperature": float("nan")}, "150 K"),
        ({"relative_humidity": 50.0}, "0 to 1"),
        ({"pressure": 0.0}, "more than 0 Pa"),
        ({"density": -1.0}, "vacuum"),
        ({"density": float("inf")}, "vacuum"),
        ({"pressure": 100.0, "temperature": 350.0, "relative_humidity": 1.0}, "cannot be"),
    ],
)
def test_air_that_cannot_be_is_refused_with_what_can(given, words):
    with pytest.raises(ValueError, match=words):
        make_air(**given)


def test_the_legal_ball_is_the_heaviest_and_smallest_the_rules_allow():
    # USGA/R&A Equipment Rules (read): at most 45.93 g, at least 42.67 mm.
    assert LEGAL_BALL.mass == 0.04593
    assert LEGAL_BALL.diameter == 2 * LEGAL_BALL.radius == 0.04267
    assert LEGAL_BALL.area == pytest.approx(1.42999e-3, rel=1e-5)
    assert BALLS["legal"] is LEGAL_BALL


def test_practice_balls_say_that_they_are_from_memory():
    practice = [ball for ball in BALLS.values() if ball is not LEGAL_BALL]
    assert len(practice) >= 3
    assert all(ball.source.startswith("from memory") for ball in practice)
    assert all(name == ball.name for name, ball in BALLS.items())


@pytest.mark.parametrize("field", ["mass", "diameter", "inertia_factor"])
@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_a_ball_that_cannot_be_is_refused_by_name(field, value):
    numbers = {"mass": 0.046, "diameter": 0.043, "inertia_factor": 0.4, field: value}
    with pytest.raises(ValueError, match=f"ball {field}"):
        Ball(name="odd", source="made up", **numbers)
