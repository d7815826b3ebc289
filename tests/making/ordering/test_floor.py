"""The floor in pieces, and what stands on it."""

from __future__ import annotations

import pytest

from flightsim.making.ordering.floor import lay_floor, standing_on_slab
from flightsim.making.pieces import Bar, Cloth, FloorPiece, TubeSection
from flightsim.scenario.reading.display import Display

TURF = FloorPiece("turf", "turf", -2.0, -1.5, 6.0, 3.2, 0.02)
MAT = FloorPiece("mat", "mat", -0.75, -0.75, 1.5, 1.5, 0.045)
TUBE = TubeSection("square", 0.05, 0.0025, 0.005)


def test_strips_cover_the_floor_once_and_what_is_let_in_is_cut_out_of_them() -> None:
    laid = lay_floor([TURF, MAT], 2.0)
    assert [piece.number for piece in laid] == [1, 2, 3]
    strips = [piece for piece in laid if piece.material == "turf"]
    assert sum(s.length * s.width for s in strips) == pytest.approx(6.0 * 3.2)
    assert all(s.width <= 2.0 for s in strips)
    assert sum(s.cut_out[2] * s.cut_out[3] for s in strips if s.cut_out) == pytest.approx(1.5 * 1.5)


def test_a_cut_out_is_told_from_the_strips_end_at_the_screen_and_its_left_edge() -> None:
    """The mat lies 3.25 m from the end wall and .95 m from the left one: so it does in the strip that holds it."""
    strip = next(piece for piece in lay_floor([TURF, MAT], 4.0) if piece.material == "turf")
    assert strip.cut_out_from() == pytest.approx((4.0 - 0.75, 1.7 - 0.75))


def test_the_first_strip_lies_at_the_left_wall() -> None:
    first = next(piece for piece in lay_floor([TURF], 2.0) if piece.material == "turf")
    assert first.y + first.width == pytest.approx(1.7)


def test_on_a_wet_floor_feet_stand_on_packers_and_low_cloth_is_told() -> None:
    post = Bar("A1", "left upright", "upright", TUBE, 2.4, (3.0, 1.5, 0.0), (3.0, 1.5, 2.4))
    top = Bar("A2", "top bar", "top bar", TUBE, 2.9, (3.0, 1.5, 2.4), (3.0, -1.5, 2.4))
    low, high = (Cloth(name, "net", "net", 1.0, 2.0, "nets", foot) for name, foot in (("low", 0.01), ("high", 0.05)))
    overhead = Cloth("canopy", "net", "net", 1.0, 2.0, "canopy")
    stands = {s.name: s.on for s in standing_on_slab([post, top], [], [low, high, overhead], True, 0.01, Display())}
    assert set(stands) == {"left upright", "low", "high"}
    assert "packers 10 mm" in stands["left upright"]
    assert "soaks water up" in stands["low"]
    assert "soaks" not in stands["high"]
    dry = standing_on_slab([post], [], [low], False, 0.01, Display())
    assert [s.on for s in dry] == ["the slab", "hangs 10 mm above the slab"]
