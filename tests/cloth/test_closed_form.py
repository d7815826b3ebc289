"""The closed form for the sink of a cloth: its equations hold, and it bends the way the reference says."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flightsim.cloth.closed_form import (
    centre_depth,
    place_factor,
    remaining_energy,
    return_restitution,
    shear_factor,
    speed_left,
    tension_depth,
    wave_depth,
)
from flightsim.cloth.fabric import Cloth

SPEEDS = np.array([5.0, 20.0, 45.0, 70.0, 90.0])


def test_wave_depth_by_hand():
    # sqrt(.04593/.35) (70/sqrt(300000/.35))^(1/3), by hand
    assert wave_depth(Cloth(), 70.0) == pytest.approx(0.36225 * (70.0 / 925.82) ** (1 / 3), rel=1e-4)


@given(pretension=st.floats(0.0, 200.0), cord=st.floats(20.0, 5000.0), speed=st.floats(1.0, 100.0))
def test_tension_takes_all_of_the_remaining_energy(pretension, cord, speed):
    cloth = Cloth(pretension=pretension, cord_stiffness=cord)
    half = 1.3
    series = 1.0 / (half / cloth.stiffness + 0.2 / cord)
    stretch = np.sqrt(half**2 + tension_depth(cloth, speed) ** 2) - half
    taken = 2.0 * np.pi * half * (pretension * stretch + 0.5 * series * stretch**2)
    assert taken == pytest.approx(float(remaining_energy(cloth, speed)), rel=1e-6)


def test_cords_of_no_give_leave_the_cloth_its_own_stiffness():
    assert np.all(tension_depth(Cloth(cord_stiffness=float("inf")), SPEEDS) < tension_depth(Cloth(), SPEEDS))


@pytest.mark.parametrize(("ratio", "factor"), [(0.0, 2.3), (0.006, 1.0), (0.03, 0.63), (0.09, 0.55), (0.3, 0.55)])
def test_shear_factors_are_those_listed(ratio, factor):
    assert shear_factor(ratio) == pytest.approx(factor)


def test_shear_factor_falls_without_jumps():
    factors = shear_factor(np.linspace(0.0, 0.1, 2001))
    assert np.all(np.diff(factors) <= 0.0)
    assert np.abs(np.diff(factors)).max() < 0.05


def test_depth_grows_slower_than_speed():
    depth = centre_depth(Cloth(), SPEEDS)
    assert np.all(np.diff(depth) > 0.0)
    assert np.all(np.diff(depth / SPEEDS) < 0.0)


def test_depth_factor_and_return_rise_toward_sides_and_most_in_corners():
    assert place_factor([1.3, 0.45, 0.15, 0.15], [1.3, 1.3, 1.3, 0.15]) == pytest.approx([1.0, 1.2, 1.55, 1.9])
    assert return_restitution([1.3, 0.45, 0.15, 0.15], [1.3, 1.3, 1.3, 0.15]) == pytest.approx([0.10, 0.16, 0.30, 0.37])
    assert return_restitution(1.3, 1.3, held_fast=True) == pytest.approx(0.30)


def test_places_do_not_care_which_side_is_named_first():
    near, other = np.meshgrid(np.linspace(0.0, 1.5, 16), np.linspace(0.0, 1.5, 16))
    assert np.array_equal(place_factor(near, other), place_factor(other, near))
    assert np.array_equal(return_restitution(near, other), return_restitution(other, near))


def test_speed_left_is_all_at_the_cloth_and_none_at_full_depth():
    assert speed_left(70.0, [0.0, 0.1, 0.2, 0.3], 0.2) == pytest.approx([70.0, 70.0 * (1 - 0.5**1.5), 0.0, 0.0])
