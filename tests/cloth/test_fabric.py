"""Which cloths can be: nonsense is refused in words that name the number and what is allowed."""

import pytest

from flightsim.cloth.fabric import AIR_DRAGGED, Cloth


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"areal_mass": 0.0}, "areal_mass of 0 kg/m2 cannot be: 0.02 to 5 kg/m2 can"),
        ({"areal_mass": -0.3}, "areal_mass of -0.3"),
        ({"areal_mass": 350.0}, "areal_mass of 350"),  # grams
        ({"areal_mass": float("nan")}, "areal_mass of nan"),
        ({"stiffness": 300.0}, "stiffness of 300 N/m"),  # kN/m
        ({"stiffness": float("inf")}, "stiffness of inf"),
        ({"shear_ratio": -0.1}, "shear_ratio of -0.1"),
        ({"pretension": -1.0}, "pretension of -1 N/m"),
        ({"cord_stiffness": 0.0}, "cord_stiffness of 0 N/m cannot be: 5 to infinite"),
        ({"cord_spacing": 0.0}, "cord_spacing of 0 m"),
        ({"width": 0.0}, "width of 0 m"),
        ({"height": -2.6}, "height of -2.6 m"),
        ({"stiffness": 2000.0, "pretension": 50.0}, "more than 1 %"),
        ({"corded": frozenset()}, "held at no side"),
        ({"corded": frozenset({"bottom"})}, "at least one of left, right, foot, top"),
    ],
)
def test_a_cloth_that_cannot_be_is_refused_with_what_can(wrong, words):
    with pytest.raises(ValueError) as refused:
        Cloth(**wrong)
    assert words in str(refused.value)


def test_an_airtight_cloth_moves_the_air_as_well():
    assert Cloth(airtight=True).moving_mass == pytest.approx(Cloth().areal_mass + AIR_DRAGGED)
    assert Cloth(airtight=True).wave_speed < Cloth().wave_speed
