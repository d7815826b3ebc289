"""Every unit that a quantity takes, against pint's own definitions."""

from __future__ import annotations

import re

import pint
import pytest

from flightsim.scenario.reading.quantities import KINDS, parse
from flightsim.scenario.reading.units import IN_SI

SPELT = {"inHg": "inch_Hg", "rpm": "revolutions_per_minute", "ft-lb": "foot_pound"}
REGISTRY = pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)
ALL = [(kind, unit) for kind in KINDS.values() for unit in kind.units]


@pytest.mark.parametrize(("kind", "unit"), ALL, ids=[f"{kind.name} in {unit}" for kind, unit in ALL])
@pytest.mark.parametrize("value", [0.0, 1.0, -3.25, 1234.5])
def test_a_unit_is_what_the_units_library_has_it_to_be(kind, unit, value):
    name = SPELT.get(unit, re.sub(r"([23])$", r"^\1", unit))
    expected = REGISTRY.Quantity(value, name).to(kind.si).magnitude
    assert parse(kind, f"{value} {unit}") == pytest.approx(expected, rel=1e-13, abs=1e-12 if kind.si == "K" else 0.0)


def test_no_unit_is_known_that_no_quantity_takes():
    assert set(IN_SI) == {unit for _, unit in ALL}
