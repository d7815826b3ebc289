"""`flightsim fly`: what it prints, what it takes, and how it refuses."""

import json
import subprocess
import sys
from functools import partial
from math import radians, sin

import pytest

DRIVE = ["--ball-speed", "75m/s", "--elevation", "11deg", "--spin-rate", "2700rpm"]
KEYS = [
    "carry_m",
    "x_m",
    "y_m",
    "apex_m",
    "time_s",
    "landing_angle_deg",
    "landing_speed_m_s",
    "landing_spin_rpm",
    "aero",
    "air_density_kg_m3",
    "air_viscosity_pa_s",
]


@pytest.fixture
def fly(called):
    return partial(called, "fly")


@pytest.fixture
def landing(fly):
    def call(*options):
        code, out, err = fly(*DRIVE, *options, "--json")
        assert code in (0, None), err
        return json.loads(out)

    return call


def test_json_has_these_keys_in_this_order_and_nothing_else(landing):
    assert list(landing()) == KEYS


def test_json_has_the_reference_solution_in_full_precision(landing):
    # aerodynamics reference: 75 m/s, 11 deg, 2700 rpm at 1.2 kg/m3
    numbers = landing("--air-density", "1.2kg/m3")
    assert numbers["carry_m"] == pytest.approx(251.136015, abs=2e-6)
    assert numbers["landing_spin_rpm"] == pytest.approx(2112.1958, abs=1e-4)
    assert numbers["aero"] == "naruo2004"
    assert numbers["air_density_kg_m3"] == 1.2
    assert numbers["air_viscosity_pa_s"] == pytest.approx(1.8134e-5, abs=5e-10)
    assert len(repr(numbers["carry_m"])) > 12
    assert numbers["y_m"] == 0.0


def test_every_option_at_once(landing):
    numbers = landing(
        *("--azimuth", "5deg", "--spin-tilt", "10deg", "--temperature", "68degF", "--pressure", "29.9inHg"),
        *("--humidity", "0.3", "--aero", "ferguson2022", "--ball", "legal"),
    )
    assert numbers["y_m"] < 0.0
    assert numbers["aero"] == "ferguson2022"
    assert numbers["air_density_kg_m3"] == pytest.approx(1.2, abs=0.01)


def test_the_speed_may_be_in_miles_an_hour(landing):
    same = landing("--ball-speed", "167.7701mph")
    assert same["carry_m"] == pytest.approx(landing()["carry_m"], abs=1e-3)


def test_density_overrides_density_only_and_viscosity_follows_the_temperature(landing):
    numbers = landing("--air-density", "1.1kg/m3", "--temperature", "35degC", "--altitude", "500m")
    assert numbers["air_density_kg_m3"] == 1.1
    # Sutherland's law, US Standard Atmosphere 1976
    assert numbers["air_viscosity_pa_s"] == pytest.approx(1.458e-6 * 308.15**1.5 / (308.15 + 110.4), rel=1e-12)


def test_altitude_thins_the_air(landing):
    assert landing("--altitude", "1600m")["air_density_kg_m3"] < 1.0


def test_no_air_is_a_vacuum(landing):
    numbers = landing("--air-density", "0kg/m3")
    assert numbers["carry_m"] == pytest.approx(75.0**2 * sin(radians(22.0)) / 9.80665, rel=1e-9)  # the parabola
    assert numbers["landing_angle_deg"] == pytest.approx(11.0, abs=1e-7)


@pytest.mark.parametrize("joined", [True, False])
@pytest.mark.parametrize(
    ("option", "value"), [("--elevation", "-3deg"), ("--spin-tilt", "-10deg"), ("--spin-rate", "-500rpm")]
)
def test_negative_values_are_values_and_not_options(landing, option, value, joined):
    numbers = landing(f"{option}={value}") if joined else landing(option, value)
    if option == "--elevation":
        assert numbers["carry_m"] == numbers["time_s"] == numbers["apex_m"] == 0.0
        assert numbers["landing_angle_deg"] == pytest.approx(3.0)
    elif option == "--spin-tilt":
        assert numbers["y_m"] > 5.0
    else:
        assert numbers["landing_spin_rpm"] < 0.0
        assert numbers["carry_m"] < 130.0


def test_angles_are_taken_as_given(landing):
    assert landing("--elevation", "110deg")["x_m"] < -100.0
    assert landing("--azimuth", "180deg")["x_m"] < -240.0


def test_text_is_in_metric_unless_imperial_is_asked_for(fly):
    code, out, _ = fly(*DRIVE)
    assert code in (0, None)
    assert "251.19 m ahead" in out
    assert "naruo2004" in out
    _, out, _ = fly(*DRIVE, "--units", "imperial")
    assert "824 ft" in out
    assert "mph" in out


def test_text_says_which_way_a_ball_went(fly):
    assert "behind" in fly(*DRIVE, "--elevation", "110deg")[1]
    assert "to the right" in fly(*DRIVE, "--azimuth", "5deg")[1]
    assert "to the left" in fly(*DRIVE, "--azimuth", "-5deg")[1]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (
            ["--elevation", "11"],
            ["--elevation", "'11' has no unit", "allowed: a number and a unit: deg", "try: 11 deg"],
        ),
        (["--ball-speed", "75 kg"], ["--ball-speed", "kg", "allowed", "m/s", "try: "]),
        (["--ball-speed", "-5m/s"], ["--ball-speed", "out of range", "allowed: at least 0 m/s"]),
        (["--spin-rate", "nan rpm"], ["--spin-rate", "try: 2700 rpm"]),
        (["--ball-speed", "1e999 m/s"], ["--ball-speed", "not a finite number"]),
        (["--temperature", "-400degC"], ["--temperature", "out of range", "at least 200 K"]),
        (["--altitude", "60km"], ["--altitude", "allowed"]),
        (["--altitude", "60000m"], ["--altitude", "at most 11000 m"]),
        (["--pressure", "1 Pa"], ["--pressure", "at least 20000 Pa"]),
        (["--air-density", "-1kg/m3"], ["--air-density", "at least 0 kg/m3"]),
        (["--pressure", "1013hPa", "--altitude", "30m"], ["pressure", "altitude", "not both"]),
        (["--humidity", "1.3"], ["--humidity", "'1.3' is out of range", "0 to 1"]),
        (["--humidity", "damp"], ["--humidity", "'damp' is not a number", "try: 0.5"]),
        (["--humidity", "nan"], ["--humidity", "out of range"]),
        (["--aero", "naruo2005"], ["--aero", "naruo2005", "ferguson2022", "try: --aero naruo2004"]),
        (["--ball", "legl"], ["--ball", "legl", "foam", "try: --ball legal"]),
        (["--units", "feet"], ["--units", "imperial"]),
        (["--elevatoin", "3deg"], ["--elevatoin", "--elevation"]),
        (["--ball-speed", "1e200m/s"], ["--ball-speed", "out of range", "at most 120 m/s"]),
    ],
)
def test_a_bad_value_ends_with_two_and_says_what_was_found_and_what_is_allowed(fly, options, words):
    code, out, err = fly(*DRIVE, *options)
    assert code == 2
    assert out == ""
    for word in words:
        assert word in err


def test_a_missing_launch_number_ends_with_two_and_names_it(fly):
    code, _, err = fly("--ball-speed", "75m/s", "--elevation", "11deg")
    assert code == 2
    assert "--spin-rate" in err


def test_half_the_humidity_may_be_written_as_a_percentage(landing):
    assert landing("--humidity", "50%") == landing("--humidity", "0.5") == landing()


def test_help_of_fly_loads_neither_numpy_nor_scipy():
    code = "import sys; sys.argv = ['flightsim', 'fly', '--help']\nfrom flightsim import cli\n"
    code += "try:\n    cli.main()\nexcept SystemExit:\n    pass\n"
    code += "print([name for name in ('numpy', 'scipy', 'matplotlib', 'pint') if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    assert "--ball-speed" in done.stdout
