"""Section properties against the tables of EN 10219-2, to their digits."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flightsim.making.pieces import TubeSection
from flightsim.making.strength.sections import HollowSection, hollow_section, round_hollow, square_hollow

# EN 10219-2:1997, table of square sections, 40 and 50 mm, as read from a public copy of it (roymech.org, "SHS_cf"):
# size, wall, mm; M, kg/m; A, cm2; I, cm4; i, cm; Wel, Wpl, cm3; It, cm4; Ct, cm3. The rows of 40 x 2 and 50 x 2 to 4
# are also in the project's own reference, read from elsewhere.
SQUARE = (
    (40, 2.0, 2.31, 2.94, 6.94, 1.54, 3.47, 4.13, 11.3, 5.23),
    (40, 2.5, 2.82, 3.59, 8.22, 1.51, 4.11, 4.97, 13.6, 6.21),
    (40, 3.0, 3.30, 4.21, 9.32, 1.49, 4.66, 5.72, 15.8, 7.07),
    (40, 4.0, 4.20, 5.35, 11.1, 1.44, 5.54, 7.01, 19.4, 8.48),
    (50, 2.0, 2.93, 3.74, 14.1, 1.95, 5.66, 6.66, 22.6, 8.51),
    (50, 2.5, 3.60, 4.59, 16.9, 1.92, 6.78, 8.07, 27.5, 10.2),
    (50, 3.0, 4.25, 5.41, 19.5, 1.90, 7.79, 9.39, 32.1, 11.8),
    (50, 4.0, 5.45, 6.95, 23.7, 1.85, 9.49, 11.7, 40.4, 14.4),
    (50, 5.0, 6.56, 8.36, 27.0, 1.80, 10.8, 13.7, 47.5, 16.6),
)


def as_tabled(section: HollowSection) -> list[float]:
    return [
        section.mass, section.area * 1e4, section.second_moment * 1e8, section.radius_of_gyration * 1e2,
        section.elastic_modulus * 1e6, section.plastic_modulus * 1e6, section.torsion_constant * 1e8,
        section.torsion_modulus * 1e6,
    ]  # fmt: skip


@pytest.mark.parametrize("row", SQUARE, ids=lambda row: f"{row[0]}x{row[1]}")
def test_square_sections_have_the_standards_values_to_its_digits(row: tuple[float, ...]) -> None:
    size, wall, *tabled = row
    for computed, printed in zip(as_tabled(square_hollow(size / 1e3, wall / 1e3)), tabled, strict=True):
        half_a_digit = 0.5 * 10.0 ** (-(2 if printed < 10.0 else 1))
        assert abs(computed - printed) <= half_a_digit * 1.01, (printed, computed)


@pytest.mark.parametrize(("wall", "more"), [(2.0, 0.03), (3.0, 0.05), (4.0, 0.07)])
def test_sharp_corners_would_count_steel_that_is_not_there(wall: float, more: float) -> None:
    size, hole = 0.050, 0.050 - 2e-3 * wall
    assert (size**4 - hole**4) / 12.0 > (1.0 + more) * square_hollow(size, wall / 1e3).second_moment


@given(size=st.floats(0.02, 0.1), wall=st.floats(0.001, 0.006))
def test_square_section_lies_between_its_inscribed_round_one_and_its_sharp_one(size: float, wall: float) -> None:
    if 4.0 * wall > size:
        with pytest.raises(ValueError, match="cannot have a wall"):
            square_hollow(size, wall)
        return
    square, inscribed = square_hollow(size, wall), round_hollow(size, wall)
    sharp = (size**4 - (size - 2.0 * wall) ** 4) / 12.0
    assert inscribed.second_moment * (1.0 - 1e-9) <= square.second_moment < sharp
    assert square.elastic_modulus < square.plastic_modulus < 1.7 * square.elastic_modulus  # of a rod: 16 / 3 pi


def test_round_section_is_the_textbook_ring() -> None:  # EN 10219-2:2006, 48.3 x 3.2: from memory
    ring = round_hollow(0.0483, 0.0032)
    tabled = (3.56, 4.53, 11.6, 1.60, 4.80, 6.52, 23.2, 9.59)
    assert as_tabled(ring) == pytest.approx(tabled, rel=2e-3)


def test_walls_whose_corners_are_not_known_are_refused() -> None:
    with pytest.raises(ValueError, match="up to 6 mm"):
        hollow_section(TubeSection("square", 0.1, 0.0063))


def test_mass_is_that_of_the_cut_list() -> None:
    tube = TubeSection("square", 0.05, 0.0025, 0.005)
    assert hollow_section(tube).mass == pytest.approx(tube.mass_per_length, rel=1e-12)
    assert hollow_section(TubeSection("round", 0.0483, 0.003)).mass == pytest.approx(3.35, abs=0.005)
