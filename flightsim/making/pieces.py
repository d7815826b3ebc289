"""What a bay is made of, as plain data: bars, boards, cloths, nets and length goods, each with the bay's own name.

Lengths in m, places in the bay's axes (x from the tee to the screen, y to the left, z up), masses in kg.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import dist, pi
from typing import Literal, TypeAlias

Place: TypeAlias = tuple[float, float, float]
EndCut: TypeAlias = Literal["square", "mitre", "notched"]

SIXTEENTH = 0.0254 / 16.0  # m
STEEL = 7850.0  # kg/m3 (EN 1991-1-1 table A.4 gives 77.0-78.5 kN/m3; EN 10219-2 reckons with 7.85 kg/dm3)


def thick(metres: float) -> str:
    """A thickness as a shop has it: 12 mm, or 1/2 in where it is whole sixteenths of an inch."""
    inches = abs(metres / SIXTEENTH - round(metres / SIXTEENTH)) < 1e-3
    return f"{_sixteenths(metres)} in" if inches else f"{metres * 1e3:g} mm"


def _sixteenths(metres: float) -> str:
    """2, 1/8, 2-1/2: inches as the trade writes tube."""
    whole, part = divmod(round(metres / SIXTEENTH), 16)
    fraction = str(Fraction(part, 16)) if part else ""
    return "-".join(word for word in (str(whole) if whole else "", fraction) if word)


@dataclass(frozen=True)
class TubeSection:
    """A tube as it is bought: outside size, wall, and the outer corner radius of a square one, m."""

    shape: Literal["square", "round"]
    size: float
    wall: float
    corner_radius: float = 0.0
    material: str = "steel"

    @property
    def by_the_inch(self) -> bool:
        """Whether size and wall are whole sixteenths of an inch."""
        return all(abs(each / SIXTEENTH - round(each / SIXTEENTH)) < 1e-3 for each in (self.size, self.wall))

    @property
    def name(self) -> str:
        """As a stockist writes it: 50x50x2.5 square tube, 2x2x1/8 in square tube."""
        if self.by_the_inch:
            size, wall, unit = _sixteenths(self.size), _sixteenths(self.wall), " in"
        else:
            size, wall, unit = f"{self.size * 1e3:g}", f"{self.wall * 1e3:g}", ""
        sides = f"{size}x{size}x{wall}" if self.shape == "square" else f"{size}x{wall}"
        return f"{sides}{unit} {self.shape} tube"

    @property
    def area(self) -> float:
        """Of the steel, m2: EN 10219-2 for square tubes (inner corner radius = outer less the wall)."""
        inner = self.size - 2.0 * self.wall
        if self.shape == "round":
            return pi / 4.0 * (self.size**2 - inner**2)
        ro = self.corner_radius
        ri = max(ro - self.wall, 0.0)
        return self.size**2 - inner**2 - (4.0 - pi) * (ro**2 - ri**2)

    @property
    def mass_per_length(self) -> float:
        """kg/m, of steel."""
        return STEEL * self.area


@dataclass(frozen=True)
class BarEnd:
    """How one end of a bar is cut and fitted. angle: off square, rad, of a mitre; fitting: what joins it there."""

    cut: EndCut = "square"
    angle: float = 0.0
    fitting: str = ""  # "welded to top bar", "sleeve 45x45x2, 150 mm", "cap", "foot plate 100x100x6"


@dataclass(frozen=True)
class Hole:
    """A hole through a bar: its middle from the bar's start along it, and its diameter, m; faces: how many walls."""

    along: float
    diameter: float
    face: Literal["side", "top", "through_side", "through_top"] = "through_side"
    use: str = ""  # "M8 sleeve bolt", "eyelet cord"


@dataclass(frozen=True)
class Bar:
    """One bar of the frame. mark: stamped on it (A1); name: as in the bay; length: to cut, m, long point to long point.

    start, end: of its middle line where it stands; length may exceed their distance (a mitre) or fall short (a sleeve).
    """

    mark: str
    name: str
    role: str  # upright, top bar, side bar, front bar, leg, hanger, base bar, brace, sleeve ...
    section: TubeSection
    length: float
    start: Place
    end: Place
    ends: tuple[BarEnd, BarEnd] = (BarEnd(), BarEnd())
    holes: tuple[Hole, ...] = ()
    system: str = "frame"

    @property
    def span(self) -> float:
        """Between the ends of its middle line, m."""
        return dist(self.start, self.end)

    @property
    def mass(self) -> float:
        """kg, holes not taken off."""
        return self.length * self.section.mass_per_length


@dataclass(frozen=True)
class Board:
    """A flat piece cut from stock sheets: ply, foam, turf. may_turn: its grain may run either way."""

    mark: str
    name: str
    material: str  # "ply", "foam", "turf", as the price list has it
    thickness: float
    width: float
    height: float
    system: str
    may_turn: bool = True
    mass_per_area: float | None = None  # kg/m2, where it is known


@dataclass(frozen=True)
class Length:
    """Goods bought by length and cut: cover strips, pipe foam, cord, edge trim. count pieces of one length, m."""

    mark: str
    name: str
    material: str
    length: float
    system: str
    count: int = 1


@dataclass(frozen=True)
class Fitting:
    """Goods bought by the piece: bolts, caps, brackets, sleeves that come ready, screws, eyelets, anchors."""

    name: str
    material: str
    count: int
    system: str
    note: str = ""


@dataclass(frozen=True)
class Cloth:
    """A screen, net or sheet of cloth as it hangs: finished width and height, m.

    above_floor: of its foot, None overhead; flap: cloth that folds from the foot onto the floor; mesh: clear, of a net.
    """

    name: str
    kind: Literal["screen", "net", "cloth"]
    material: str
    width: float
    height: float
    system: str
    above_floor: float | None = None
    flap: float = 0.0
    mesh: float | None = None


@dataclass(frozen=True)
class FloorPiece:
    """What is laid on the slab: a rectangle in the bay's axes from its corner (least x, least y), m."""

    name: str
    material: str
    x: float
    y: float
    length: float  # along x
    width: float  # along y
    thickness: float
    system: str = "floor"


@dataclass(frozen=True)
class Marking:
    """Where on a bar another is joined. along: from the end of that name, m, to the middle of what is joined there."""

    bar: str
    measured_from: str  # "foot", "left end"
    along: float
    face: str  # "toward the tee"
    what: str  # "weld its stub"
    joins: str  # the other bar


@dataclass(frozen=True)
class Pieces:
    """All that one capability of the bay (a plugin) asks to be made or bought; marks are given when all are known."""

    bars: tuple[Bar, ...] = ()
    boards: tuple[Board, ...] = ()
    lengths: tuple[Length, ...] = ()
    fittings: tuple[Fitting, ...] = ()
    cloths: tuple[Cloth, ...] = ()
    floor: tuple[FloorPiece, ...] = ()
    notes: tuple[str, ...] = ()
    markings: tuple[Marking, ...] = ()
