"""What the pieces say of themselves: names, areas and masses of tubes against EN 10219-2."""

import pytest

from flightsim.making.pieces import Bar, TubeSection

TABLE = {  # EN 10219-2:2006 table B.3 (side, wall mm): kg/m, cm2
    (40, 2): (2.31, 2.94),
    (50, 2): (2.93, 3.74),
    (50, 2.5): (3.60, 4.59),
    (50, 3): (4.25, 5.41),
    (50, 4): (5.45, 6.95),
}


def square(size: float, wall: float) -> TubeSection:
    return TubeSection("square", size * 1e-3, wall * 1e-3, 2e-3 * wall)


@pytest.mark.parametrize(("size", "wall"), TABLE)
def test_mass_and_area_are_those_of_the_standards_table(size: float, wall: float) -> None:
    tube = square(size, wall)
    assert (round(tube.mass_per_length, 2), round(tube.area * 1e4, 2)) == TABLE[size, wall]


def test_a_tube_is_called_what_a_stockist_calls_it() -> None:
    assert square(50, 2.5).name == "50x50x2.5 square tube"
    assert TubeSection("round", 0.0483, 0.0032).name == "48.3x3.2 round tube"


def test_a_bars_mass_goes_by_the_length_that_is_cut() -> None:
    bar = Bar("A1", "frame top bar", "top bar", square(50, 3), 2.0, (0.0, 0.0, 2.0), (0.0, 1.9, 2.0))
    assert bar.span == pytest.approx(1.9)
    assert bar.mass == pytest.approx(2.0 * 4.25, rel=2e-3)  # the table is rounded
