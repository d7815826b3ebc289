"""Numbers in the user's units."""

from __future__ import annotations

from math import pi, radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.quantities import KINDS, parse

METRIC, IMPERIAL = Display("metric"), Display("imperial")


@pytest.mark.parametrize(
    ("metres", "metric", "imperial"),
    [
        (3.6, "3.60 m", "11 ft 9 3/4 in"),
        (0.035, "35 mm", "1 3/8 in"),
        (0.0, "0 mm", "0 in"),
        (-0.0001, "0 mm", "0 in"),
        (3.6576, "3.66 m", "12 ft"),
        (0.3048, "305 mm", "1 ft"),
        (0.9996, "1.00 m", "3 ft 3 3/8 in"),
        (-0.4572, "-457 mm", "-1 ft 6 in"),
        (0.0127, "13 mm", "1/2 in"),
        (0.3175, "318 mm", "1 ft 0 1/2 in"),
        (0.0999, "100 mm", "3 7/8 in"),
    ],
)
def test_lengths_are_said_as_a_tape_shows_them(metres, metric, imperial):
    assert METRIC.length(metres) == metric
    assert IMPERIAL.length(metres) == imperial


@pytest.mark.parametrize(
    ("metres", "metric", "imperial", "more"),
    [
        (0.3823, "380 mm", "1 ft 3 in", ("390 mm", "1 ft 4 in")),
        (4.176, "4.18 m", "13 ft 8 in", ("4.18 m", "13 ft 9 in")),
        (0.15, "150 mm", "6 in", ("150 mm", "6 in")),
        (0.071, "71 mm", "3 in", ("80 mm", "3 in")),
        (0.02, "20 mm", "3/4 in", ("20 mm", "1 in")),
    ],
)
def test_an_estimate_is_told_without_eighths_and_a_move_is_never_too_little(metres, metric, imperial, more):
    assert (METRIC.estimate(metres), IMPERIAL.estimate(metres)) == (metric, imperial)
    assert (METRIC.enough(metres), IMPERIAL.enough(metres)) == more


def test_energy_force_tension_mass_and_density_are_in_the_units_of_the_trade():
    """Exact factors: 1 ft-lb = 1.3558179 J, 1 lbf = 4.4482216 N, 1 oz = 28.349523 g [units]."""
    assert (METRIC.energy(0.574), IMPERIAL.energy(0.574), IMPERIAL.energy(115.0)) == (
        "0.57 J",
        "0.42 ft-lb",
        "85 ft-lb",
    )
    assert (METRIC.force(10.0), IMPERIAL.force(10.0)) == ("10 N", "2.2 lbf")
    assert (METRIC.tension(50.0), IMPERIAL.tension(50.0)) == ("50 N/m", "3.4 lbf/ft")
    assert (METRIC.mass(0.04593), IMPERIAL.mass(0.04593)) == ("45.93 g", "1.62 oz")
    assert (METRIC.density(1.225), IMPERIAL.density(1.225)) == ("1.225 kg/m3", "0.07647 lb/ft3")


def test_speed_angle_spin_and_temperature_carry_their_unit():
    assert METRIC.speed(67.06) == "67.1 m/s"
    assert IMPERIAL.speed(67.056) == "150.0 mph"
    assert METRIC.angle(radians(-3.25)) in {"-3.2 deg", "-3.3 deg"}
    assert METRIC.spin(90 * pi) == "2700 rpm"
    assert METRIC.temperature(293.15) == "20.0 degC"
    assert IMPERIAL.temperature(293.15) == "68.0 degF"


def test_nothing_is_shown_as_minus_nought():
    assert METRIC.speed(-0.001) == "0.0 m/s"
    assert METRIC.angle(-1e-9) == "0.0 deg"


def test_axes_scale_metres_and_speeds_to_the_users_units():
    assert METRIC.length_axis == (1.0, "m")
    scale, unit = IMPERIAL.length_axis
    assert (3.048 * scale, unit) == (pytest.approx(10.0, rel=1e-15), "ft")
    assert METRIC.speed_axis == (1.0, "m/s")
    scale, unit = IMPERIAL.speed_axis
    assert (44.704 * scale, unit) == (pytest.approx(100.0, rel=1e-15), "mph")


@settings(deadline=None)  # the first call loads the units
@given(st.floats(-200.0, 200.0), st.sampled_from(["metric", "imperial"]))
def test_every_shown_number_is_a_quantity_that_reads_back_within_its_last_digit(value, units):
    show = Display(units)
    assert parse(KINDS["speed"], show.speed(value)) == pytest.approx(value, abs=0.051)
    assert parse(KINDS["length"], show.length(value)) == pytest.approx(value, abs=0.00501)
    assert parse(KINDS["angle"], show.angle(value)) == pytest.approx(value, abs=radians(0.051))
    assert parse(KINDS["spin rate"], show.spin(value)) == pytest.approx(value, abs=0.501 * pi / 30)
    assert parse(KINDS["temperature"], show.temperature(value + 273.15)) == pytest.approx(value + 273.15, abs=0.051)


@pytest.mark.parametrize(
    ("metres", "units", "typed"),
    [
        (1.4, "metric", "1.4m"), (0.08, "metric", "80mm"), (0.0125, "metric", "12.5mm"), (2.0, "metric", "2m"),
        (0.0, "metric", "0mm"), (-0.05, "metric", "-50mm"), (55 * 0.0254, "imperial", "55in"),
        (7.5 * 0.0254, "imperial", "7.5in"),
    ],
)  # fmt: skip
def test_a_length_is_typed_without_idle_digits_and_reads_back(metres, units, typed):
    assert Display(units).typed(metres) == typed
    assert parse(KINDS["length"], typed) == pytest.approx(metres)


def test_two_lengths_beside_one_another_are_written_alike():
    show = Display("metric")
    assert f"{show.beside(0.38, 0.08)} instead of {show.beside(0.08, 0.38)}" == "380 mm instead of 80 mm"
    assert f"{show.beside(1.5, 1.1)} instead of {show.beside(1.1, 1.5)}" == "1.50 m instead of 1.10 m"


def test_a_guess_in_feet_is_whole_inches():
    show = Display("imperial")
    assert show.length(show.guess(0.3969)) == "1 ft 4 in"
    assert show.guess(0.0254) == 0.0254
    assert Display("metric").guess(0.3969) == 0.3969
