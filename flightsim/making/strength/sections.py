"""Section properties of cold-formed hollow sections from their corner radii.

Square and round: EN 10219-2:2019, annex B (formulae), with the corner radii that its tables are made with: outside
2 t and inside t for walls up to 6 mm. A formula with sharp corners gives up to 8 % more stiffness than the tube has.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt
from typing import Literal

from flightsim.making.pieces import STEEL, TubeSection

Shape = Literal["square", "round"]

THICKEST = 0.006  # m: up to here the corner radii below hold (EN 10219-2, annex B)
OF_NOMINAL = 0.93  # of the wall of tube by the inch: what strength is worked out with (AISC 360-16, B4.2, ASTM A500)
OUTER_RADIUS = 2.0  # times the wall; inside it is a wall less


@dataclass(frozen=True)
class HollowSection:
    """A square or round tube: its size over all and its wall, m, and what follows from them.

    area, m2; second_moment, m4 (the same about both axes); elastic_modulus and plastic_modulus, m3; torsion_constant,
    m4; torsion_modulus, m3; shear_area, m2 (EN 1993-1-1, 6.2.6); mass, kg/m.
    """

    shape: Shape
    size: float
    wall: float
    area: float
    second_moment: float
    elastic_modulus: float
    plastic_modulus: float
    torsion_constant: float
    torsion_modulus: float

    @property
    def mass(self) -> float:
        """Mass of a metre of it, kg/m."""
        return self.area * STEEL

    @property
    def radius_of_gyration(self) -> float:
        """Of either axis, m."""
        return sqrt(self.second_moment / self.area)

    @property
    def shear_area(self) -> float:
        """What carries shear: half of a square tube, 2 A/pi of a round one, m2 (EN 1993-1-1, 6.2.6(3))."""
        return self.area / 2.0 if self.shape == "square" else 2.0 * self.area / pi

    @property
    def inside(self) -> float:
        """Clear width, or diameter, inside it, m."""
        return self.size - 2.0 * self.wall


def hollow_section(tube: TubeSection) -> HollowSection:
    """Of a tube as it is bought; without a corner radius, of the standard's. Raises ValueError: no such tube can be.

    Tube by the inch is rolled thinner than it is called: its values are those of 0.93 of its wall.
    """
    wall, radius = tube.wall, tube.corner_radius
    if tube.by_the_inch:
        wall = OF_NOMINAL * tube.wall
        radius = OUTER_RADIUS * wall if abs(radius - OUTER_RADIUS * tube.wall) < 1e-9 else radius
    if tube.shape == "round":
        return round_hollow(tube.size, wall)
    return square_hollow(tube.size, wall, radius or None)


def square_hollow(size: float, wall: float, radius: float | None = None) -> HollowSection:
    """A square tube with rounded corners. EN 10219-2:2019, annex B.3.

    size, wall, radius (of the corners outside; inside it is a wall less): m. Raises ValueError.
    """
    if radius is None and wall > THICKEST:
        raise ValueError(f"a wall of {wall * 1e3:g} mm: the corner radii used here hold up to {THICKEST * 1e3:g} mm")
    outer = OUTER_RADIUS * wall if radius is None else radius
    inner = max(outer - wall, 0.0)
    if not (0.0 < wall < size / 2.0 and outer <= size / 2.0):
        raise ValueError(f"a square tube of {size * 1e3:g} mm cannot have a wall of {wall * 1e3:g} mm")
    hole = size - 2.0 * wall
    area = 2.0 * wall * (2.0 * size - 2.0 * wall) - (4.0 - pi) * (outer**2 - inner**2)
    second = (size**4 - hole**4) / 12.0 - 4.0 * (_spandrel(size, outer).second - _spandrel(hole, inner).second)
    whole, void = size**3 / 4.0, hole**3 / 4.0
    plastic = whole - void - 4.0 * (_spandrel(size, outer).first - _spandrel(hole, inner).first)
    middle = (outer + inner) / 2.0
    around = 4.0 * (size - wall) - 2.0 * middle * (4.0 - pi)
    enclosed = (size - wall) ** 2 - middle**2 * (4.0 - pi)
    k = 2.0 * enclosed * wall / around
    torsion = wall**3 * around / 3.0 + 2.0 * k * enclosed
    modulus = torsion / (wall + k / wall)
    return HollowSection("square", size, wall, area, second, 2.0 * second / size, plastic, torsion, modulus)


@dataclass(frozen=True)
class _Spandrel:
    """What a rounded corner lacks of a sharp one: first and second moment about the tube's axis, m3 and m4."""

    first: float
    second: float


def _spandrel(width: float, radius: float) -> _Spandrel:
    area = (1.0 - pi / 4.0) * radius**2
    arm = width / 2.0 - (10.0 - 3.0 * pi) / (12.0 - 3.0 * pi) * radius
    own = (1.0 / 3.0 - pi / 16.0 - 1.0 / (3.0 * (12.0 - 3.0 * pi))) * radius**4
    return _Spandrel(area * arm, own + area * arm**2)


def round_hollow(size: float, wall: float) -> HollowSection:
    """A round tube. size (outside diameter), wall: m. EN 10219-2:2019, annex B.2. Raises ValueError."""
    if not 0.0 < wall < size / 2.0:
        raise ValueError(f"a round tube of {size * 1e3:g} mm cannot have a wall of {wall * 1e3:g} mm")
    hole = size - 2.0 * wall
    area, second = pi / 4.0 * (size**2 - hole**2), pi / 64.0 * (size**4 - hole**4)
    elastic, plastic = 2.0 * second / size, (size**3 - hole**3) / 6.0
    return HollowSection("round", size, wall, area, second, elastic, plastic, 2.0 * second, 2.0 * elastic)
