"""Tubes as tabled in EN 10219-2, and those of ASTM A500 by the inch, lightest first."""

from __future__ import annotations

from flightsim.making.pieces import SIXTEENTH, TubeSection
from flightsim.making.strength.sections import OUTER_RADIUS, Shape, hollow_section

# mm: size and walls. Square up to 60: read in a public copy of EN 10219-2:1997; the rest from memory.
SQUARE = {
    20.0: (2.0, 2.5), 25.0: (2.0, 2.5, 3.0), 30.0: (2.0, 2.5, 3.0), 40.0: (2.0, 2.5, 3.0, 4.0),
    50.0: (2.0, 2.5, 3.0, 4.0, 5.0), 60.0: (2.0, 2.5, 3.0, 4.0, 5.0, 6.0), 70.0: (2.5, 3.0, 4.0, 5.0, 6.0),
    80.0: (3.0, 4.0, 5.0, 6.0), 90.0: (3.0, 4.0, 5.0, 6.0), 100.0: (3.0, 4.0, 5.0, 6.0),
}  # fmt: skip
ROUND = {
    21.3: (2.0, 2.5, 3.0), 26.9: (2.0, 2.5, 3.0), 33.7: (2.0, 2.5, 3.0), 42.4: (2.0, 2.5, 3.0, 4.0),
    48.3: (2.0, 2.5, 3.0, 4.0, 5.0), 60.3: (2.0, 2.5, 3.0, 4.0, 5.0), 76.1: (2.0, 2.5, 3.0, 4.0, 5.0, 6.0),
    88.9: (2.0, 2.5, 3.0, 4.0, 5.0, 6.0), 114.3: (2.5, 3.0, 4.0, 5.0, 6.0),
}  # fmt: skip
# in sixteenths of an inch: square tube of ASTM A500 as AISC tables it (from memory)
SQUARE_INCH = {
    20: (2, 3), 24: (2, 3), 28: (2, 3), 32: (2, 3, 4), 36: (2, 3, 4), 40: (2, 3, 4), 48: (2, 3, 4), 56: (2, 3, 4),
}  # fmt: skip
ROUND_INCH: dict[int, tuple[int, ...]] = {}
SAME = 5e-5  # m: sizes closer than this are one
LARGEST = 0.090  # m: a tube that a bay still has room for (judgement)


def tabled(shape: Shape, by_the_inch: bool = False) -> tuple[TubeSection, ...]:
    """All tabled sizes of a shape, lightest first: in millimetres, or in inches."""
    table = SQUARE if shape == "square" else ROUND
    found = [tube(shape, size / 1e3, wall / 1e3) for size, walls in table.items() for wall in walls]
    if by_the_inch:
        inches = SQUARE_INCH if shape == "square" else ROUND_INCH
        found = [tube(shape, size * SIXTEENTH, wall * SIXTEENTH) for size, walls in inches.items() for wall in walls]
    return tuple(sorted(found, key=lambda found_size: (found_size.mass_per_length, found_size.size)))


def _like(section: TubeSection) -> tuple[TubeSection, ...]:
    """The table that a shop with this tube has; that in millimetres where there is none by the inch."""
    return tabled(section.shape, section.by_the_inch) or tabled(section.shape)


def tube(shape: Shape, size: float, wall: float) -> TubeSection:
    """With the standard's corners. size, wall: m."""
    return TubeSection(shape, size, wall, OUTER_RADIUS * wall if shape == "square" else 0.0)


def in_table(section: TubeSection) -> bool:
    """Whether the standard has this size, wall and corner."""
    return any(
        abs(size.size - section.size) < SAME and abs(size.wall - section.wall) < SAME
        and abs(size.corner_radius - section.corner_radius) < SAME
        for size in (*tabled(section.shape), *tabled(section.shape, by_the_inch=True))
    )  # fmt: skip


def nearest(section: TubeSection, count: int = 3) -> tuple[TubeSection, ...]:
    """The tabled tubes most like it."""

    def unlike(size: TubeSection) -> float:
        return abs(size.size / section.size - 1.0) + abs(size.wall / section.wall - 1.0)

    return tuple(sorted(_like(section), key=unlike)[:count])


def heavier(section: TubeSection) -> tuple[TubeSection, ...]:
    """Tabled tubes of its shape worth trying: none smaller, each the lightest of all that are as stiff."""
    stiff, found = hollow_section(section).second_moment, []
    for size in _like(section):
        value = hollow_section(size).second_moment
        if value > stiff and section.size - SAME <= size.size <= LARGEST:
            found.append(size)
            stiff = value
    return tuple(found)
