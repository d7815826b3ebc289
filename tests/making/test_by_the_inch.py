"""A bay in feet and inches is built from what shops that sell by the foot have."""

from __future__ import annotations

import pytest

from flightsim.making.pieces import TubeSection, thick
from flightsim.making.settings import FOOT, INCH, BuildSettings, Making
from flightsim.making.strength.joint_checks import fitting_sleeve, play
from flightsim.making.strength.sections import hollow_section
from flightsim.making.strength.sizes import in_table, nearest, tabled, tube

# AISC Steel Construction Manual, 15th edition, table 1-12 (in, in2, in4): from memory, and so in public copies.
# Its walls are rounded to .001 in.
HSS = [
    (2, 2, 0.840, 0.486), (2, 3, 1.19, 0.641), (2, 4, 1.51, 0.747), (2.5, 2, 1.07, 0.998), (3, 2, 1.30, 1.78),
    (3, 4, 2.44, 3.02),
]  # fmt: skip


@pytest.mark.parametrize(("size", "sixteenths", "area", "second"), HSS)
def test_tube_by_the_inch_has_the_values_of_aiscs_table(size: float, sixteenths: int, area: float, second: float):
    found = hollow_section(tube("square", size * INCH, sixteenths * INCH / 16.0))
    assert found.area / INCH**2 == pytest.approx(area, rel=6e-3)
    assert found.second_moment / INCH**4 == pytest.approx(second, rel=6e-3)


def test_it_is_called_and_found_in_inches_and_nothing_metric_is() -> None:
    two = tube("square", 2.0 * INCH, INCH / 8.0)
    assert two.name == "2x2x1/8 in square tube"
    assert tube("square", 2.5 * INCH, 3.0 * INCH / 16.0).name == "2-1/2x2-1/2x3/16 in square tube"
    assert in_table(two)
    assert all("in square" in each.name for each in nearest(two))
    for shape in ("square", "round"):
        assert not any(each.by_the_inch for each in tabled(shape))  # type: ignore[arg-type]
    assert not in_table(
        TubeSection("square", 2.0 * INCH, 0.120 * INCH, 0.240 * INCH)
    )  # a gauge: its corners are asked for


def test_its_sleeve_is_by_the_inch_too() -> None:
    outer = tube("square", 2.0 * INCH, 3.0 * INCH / 16.0)
    sleeve = fitting_sleeve(outer, 0.0005)
    assert sleeve is not None
    assert sleeve.name == "1-1/2x1-1/2x3/16 in square tube"
    assert play(outer, sleeve, True) == pytest.approx(INCH / 16.0)


def test_what_is_not_said_is_as_shops_by_the_foot_have_it_and_what_is_said_stays() -> None:
    plain = BuildSettings().in_feet()
    assert (plain.kerf, plain.trim, plain.turf_width) == pytest.approx((INCH / 8.0, INCH / 4.0, 6.0 * FOOT))
    for material in ("plywood 1/2 in", "foam 25 mm"):
        assert (plain.sheet(material).length, plain.sheet(material).width) == pytest.approx((8.0 * FOOT, 4.0 * FOOT))
    assert plain.plain_stock().length == 6_096_000_000
    assert plain.cloth.foot_fold == pytest.approx(6.0 * INCH)
    said = BuildSettings(kerf="2 mm", cloth=Making(hem="40 mm")).in_feet()  # type: ignore[arg-type]
    assert (said.kerf, said.cloth.hem, said.cloth.eyelet_pitch) == pytest.approx((0.002, 0.040, 8.0 * INCH))
    assert BuildSettings().plain_stock().length == 6_000_000_000


def test_a_thickness_is_told_as_a_shop_has_it() -> None:
    assert [thick(each) for each in (0.012, 0.5 * INCH, 0.75 * INCH, 0.025)] == ["12 mm", "1/2 in", "3/4 in", "25 mm"]
