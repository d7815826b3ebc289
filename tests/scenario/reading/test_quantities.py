"""Quantities: what is read, what is refused, and that both directions agree.

Conversion factors: foot, inch and mile by the international yard and pound agreement of 1959 (exact);
inch of mercury and pound by NIST SP 811 (2008), appendix B.8, from memory; the pound-force is a pound times the
standard fall of 9.80665 m/s2 (CGPM 1901, memory).
"""

from __future__ import annotations

from math import isfinite, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError
from pydantic_core import PydanticCustomError

from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.quantities import (
    KINDS,
    Angle,
    ArealMass,
    Distance,
    Energy,
    Force,
    Length,
    Mass,
    Size,
    Stiffness,
    Stress,
    parse,
    quantity,
)

LBF = 0.45359237 * 9.80665


def refusal(kind: str, text: object) -> dict[str, str]:
    with pytest.raises(PydanticCustomError) as caught:
        parse(KINDS[kind], text)
    assert caught.value.context is not None
    return caught.value.context


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("4.2 m", 4.2),
        ("1350 mm", 1.35),
        ("35 cm", 0.35),
        ("13 ft 9 in", 165 * 0.0254),
        ("13' 9\"", 165 * 0.0254),
        ("13′9″", 165 * 0.0254),
        ("53.5in", 53.5 * 0.0254),
        ("53 1/2 in", 53.5 * 0.0254),
        ("53-1/2 in", 53.5 * 0.0254),
        ("53½ in", 53.5 * 0.0254),
        ("7/8 in", 0.875 * 0.0254),
        ("11 ft 9 3/4 in", 141.75 * 0.0254),
        ("-1 ft 6 in", -18 * 0.0254),
        ("-0 ft 6 in", -6 * 0.0254),
        ("−3 mm", -0.003),
        ("+.5 m", 0.5),
        ("1e-3 m", 0.001),
        ("4 m 20 cm", 4.2),
        ("6 feet", 72 * 0.0254),
        ("2 metres", 2.0),
        ("  2   m  ", 2.0),
    ],
)
def test_lengths_read_as_people_write_them(text, metres):
    assert parse(KINDS["length"], text) == pytest.approx(metres, rel=1e-14)


@pytest.mark.parametrize(
    ("kind", "text", "si"),
    [
        ("speed", "67 m/s", 67.0),
        ("speed", "150 mph", 150 * 1609.344 / 3600),
        ("speed", "240 km/h", 240 / 3.6),
        ("speed", "10 kph", 10 / 3.6),
        ("speed", "100ft/s", 30.48),
        ("angle", "-3.5 deg", -3.5 * pi / 180),
        ("angle", "12°", 12 * pi / 180),
        ("angle", "0.1 rad", 0.1),
        ("spin rate", "2700 rpm", 90 * pi),
        ("temperature", "20 degC", 293.15),
        ("temperature", "-3 degC", 270.15),
        ("temperature", "68 degF", 293.15),
        ("temperature", "-40 °F", 233.15),
        ("temperature", "290 K", 290.0),
        ("pressure", "1013 hPa", 101300.0),
        ("pressure", "1000 mbar", 100000.0),
        ("pressure", "29.92 inHg", 29.92 * 3386.389),
        ("density", "1.2 kg/m3", 1.2),
        ("density", "1.2kg/m³", 1.2),
        ("density", "0.075 lb/ft^3", 0.075 * 0.45359237 / 0.3048**3),
        ("mass", "45.93 g", 0.04593),
        ("mass", "1.62 oz", 1.62 * 0.028349523125),
        ("energy", "25 J", 25.0),
        ("energy", "0.112 kJ", 112.0),
        ("energy", "11 ft-lb", 11 * 0.3048 * LBF),
        ("energy", "58 ft·lbf", 58 * 0.3048 * LBF),
        ("areal mass", "0.35 kg/m2", 0.35),
        ("areal mass", "350 g/m²", 0.35),
        ("areal mass", "350 gsm", 0.35),
        ("areal mass", "10 oz/yd^2", 10 * 0.028349523125 / 0.9144**2),
        ("areal mass", "1 lb/ft2", 0.45359237 / 0.3048**2),
        ("force", "150 N", 150.0),
        ("force", ".5 kN", 500.0),
        ("force", "10 kgf", 98.0665),
        ("force", "30lbf", 30 * LBF),
        ("stiffness", "500 N/m", 500.0),
        ("stiffness", "0.5 N/mm", 500.0),
        ("stiffness", "200 kN/m", 2e5),
        ("stiffness", "10 lbf/in", 10 * LBF / 0.0254),
        ("tension", "50 N/m", 50.0),
        ("tension", "0.5 N/cm", 50.0),
        ("tension", "3 lbf/ft", 3 * LBF / 0.3048),
        ("stress", "0.12 MPa", 1.2e5),
        ("stress", "235 N/mm2", 2.35e8),
        ("stress", "8 GPa", 8e9),
        ("stress", "20 psi", 20 * LBF / 0.0254**2),
    ],
)
def test_other_quantities_become_si(kind, text, si):
    assert parse(KINDS[kind], text) == pytest.approx(si, rel=2e-7)


@pytest.mark.parametrize("value", ["3.4", 3.4, " 3.4 "])
def test_a_bare_number_where_a_unit_is_due_shows_how_to_write_it(value):
    context = refusal("length", value)
    assert context["found"] == (f"'{value}' has no unit" if isinstance(value, str) else "3.4 has no unit")
    assert context["fix"] == "3.4 m, if that is what you mean"
    assert "mm" in context["allowed"]


def test_a_large_bare_length_is_taken_for_millimetres_in_the_hint_only():
    assert refusal("length", 1350)["fix"] == "1350 mm, if that is what you mean"
    assert refusal("length", "-1350")["fix"] == "-1350 mm, if that is what you mean"


def test_a_decimal_comma_is_refused_with_both_readings():
    assert refusal("length", "4,2 m")["fix"] == "4.2 m"
    assert refusal("length", "1,200 mm")["fix"] == "1.200 mm, or 1200 mm, whichever you mean"


def test_a_unit_in_the_wrong_case_or_kind_is_refused_with_the_nearest():
    assert refusal("length", "4 MM")["fix"] == "4 mm"
    assert refusal("speed", "150 MPH")["fix"] == "150 mph"
    assert refusal("length", "20 degC")["found"] == "'degC' is not a unit of length here"


@pytest.mark.parametrize("text", ["5 ft 14 in", "1.5 ft 6 in", "6 in 5 ft", "3 m 3 m", "3 ft 12 in"])
def test_feet_and_inches_that_do_not_add_up_are_refused(text):
    assert refusal("length", text)["found"] == f"'{text}' does not add up"


@pytest.mark.parametrize("text", ["1 ft -6 in", "1 ft + 6 in"])
def test_only_the_first_number_of_a_length_has_a_sign(text):
    assert "more than one number" in refusal("length", text)["found"]


def test_two_numbers_are_a_length_only():
    assert "more than one number" in refusal("speed", "5 m/s 3 m/s")["found"]


@pytest.mark.parametrize(
    "text",
    ["", "m", "nan m", "inf m", "1 000 mm", "4.2 m extra", "3 / 0 in", "1e999 m", "٣ m", "3..2 m", "--3 m", "3 m;",
    "0x10 m",     True, None, [3], {"m": 3}, float("nan"), float("inf"), "9" * 500 + " m"],
)  # fmt: skip
def test_nonsense_is_refused_with_an_example(text):
    context = refusal("length", text)
    assert context["found"]
    assert context["fix"] == "4.2 m or 1350 mm"


@settings(deadline=None)  # the first call loads the units
@given(st.text(max_size=40) | st.from_regex(r"[-+]?[0-9./ ]{1,8}(m|ft|in| |'){0,3}[0-9]{0,3}", fullmatch=True))
def test_any_text_is_read_or_refused_in_plain_words(text):
    for kind in KINDS.values():
        try:
            value, said = parse(kind, text), {"found": "", "allowed": "", "fix": ""}
        except PydanticCustomError as error:
            value, said = 0.0, error.context or {}
        assert isfinite(value)
        assert {"found", "allowed", "fix"} <= said.keys()


@settings(deadline=None)  # the first call loads the units
@given(st.floats(-900.0, 900.0), st.sampled_from(sorted(KINDS)))
def test_what_is_written_back_reads_back_exactly(number, name):
    adapter = TypeAdapter(quantity(name))
    written = adapter.dump_python(number, mode="json")
    assert adapter.validate_python(written) == number


@settings(deadline=None)  # the first call loads the units
@given(st.floats(-30.0, 30.0))
def test_a_length_shown_in_feet_and_inches_reads_back_within_a_sixteenth(metres):
    shown = Display("imperial").length(metres)
    assert abs(parse(KINDS["length"], shown) - metres) <= 0.0254 / 16 * (1 + 1e-9)


@settings(deadline=None)  # the first call loads the units
@given(st.integers(0, 40), st.integers(0, 11), st.integers(0, 7))
def test_every_eighth_of_an_inch_survives_showing_and_reading(feet, inches, eighths):
    metres = ((feet * 12 + inches) * 8 + eighths) * 0.0254 / 8
    assert parse(KINDS["length"], Display("imperial").length(metres)) == pytest.approx(metres, abs=1e-12)


@pytest.mark.parametrize(
    ("annotation", "text", "limit"),
    [
        (Size, "0 m", "more than 0 m"),
        (Size, "-3 ft", "more than 0 m"),
        (Distance, "-1 mm", "at least 0 m"),
        (Size, "2 km", None),
        (Distance, "1001 m", "at most 1000 m"),
        (Mass, "0 g", "more than 0 kg"),
        (ArealMass, "0 g/m2", "more than 0 kg/m2"),
        (Energy, "-1 J", "more than 0 J"),
        (Force, "-1 N", "at least 0 N"),
        (Stiffness, "0 N/m", "more than 0 N/m"),
        (Stress, "-1 kPa", "more than 0 Pa"),
    ],
)
def test_values_out_of_range_are_refused_with_the_limit(annotation, text, limit):
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(annotation).validate_python(text)
    if limit is not None:
        assert caught.value.errors()[0]["ctx"]["allowed"] == limit


def test_an_offset_or_angle_may_be_negative():
    assert TypeAdapter(Length).validate_python("-20 mm") == -0.02
    assert TypeAdapter(Angle).validate_python("-12 deg") < 0
