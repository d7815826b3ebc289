"""What stands and carries: bars, what holds them, what is hung on them, and how they are joined, as plain data."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from math import isfinite
from typing import Literal, TypeAlias

from flightsim.making.pieces import Bar, Place, TubeSection

To: TypeAlias = Literal["floor", "wall", "roof"]
Joining: TypeAlias = Literal["sleeve", "welded"]

YIELD = {  # Pa: EN 1993-1-1:2005, table 3.1, hollow sections; ASTM A500, shaped tube, 46 and 50 ksi (from memory)
    "S235": 235.0e6, "S275": 275.0e6, "S355": 355.0e6, "A500B": 317.0e6, "A500C": 345.0e6,
}  # fmt: skip
BRACE_BOLT = 0.008  # m: of braces where no sleeve has bolts (common practice)


@dataclass(frozen=True)
class Hold:
    """What keeps one end of a bar where it is. anchored: screwed or bolted down; else it only stands there."""

    name: str
    bar: str
    end: Literal["start", "end"]
    to: To
    anchored: bool


@dataclass(frozen=True)
class Anchors:
    """What fixes a foot or a bracket. count: of one plate; capacities, N, least base and edge, m: as their maker says.

    base, edge: how thick what they go into is, and how far from its edge they sit, m. None: not known.
    """

    count: int = 2
    pull_capacity: float | None = None
    shear_capacity: float | None = None
    base: float | None = None
    base_needed: float | None = None
    edge: float | None = None
    edge_needed: float | None = None


@dataclass(frozen=True)
class Loads:
    """What acts beside the frame's own weight. cord_pull: along a screen's edges, N/m; cloth: of the screen, kg/m2;
    stored: on canopies, kg/m2; person: hanging on an edge, sideways: at the top, ball: on a bar, N.
    """

    cord_pull: float = 100.0
    cloth: float = 0.6
    stored: float = 0.0
    person: float = 1000.0
    sideways: float = 500.0
    ball: float = 500.0


@dataclass(frozen=True)
class Hung:
    """A screen: the bar over it and those beside it, and its cloth's width and height, m."""

    name: str
    top: str
    sides: tuple[str, ...]
    width: float
    height: float


@dataclass(frozen=True)
class Overhead:
    """A canopy: the bar along its front, those along its sides; its width and depth, m; its mass, kg/m2.

    board: thickness of a board, m; nought for cloth or net. back: a bar carries its screen-side edge. ribs: how many
    bars run from front to back between those along its sides.
    """

    name: str
    front: str
    sides: tuple[str, ...]
    width: float
    depth: float
    mass: float
    board: float = 0.0
    back: bool = False
    ribs: int = 0


@dataclass(frozen=True)
class Sleeves:
    """How bars are joined: tubes that slide in or over. size, wall, overlap (each side), bolt: m; bolts: each side."""

    size: float
    wall: float
    inside: bool
    overlap: float
    bolt: float
    bolts: int
    clearance: float  # least that a side needs to slide

    def section(self, shape: Literal["square", "round"]) -> TubeSection:
        """Of the sleeve's tube, with the standard's corners."""
        return TubeSection(shape, self.size, self.wall, 2.0 * self.wall if shape == "square" else 0.0)


@dataclass(frozen=True)
class Structure:
    """A frame to be checked. remedies: what may be added, in words, each with the frame that it makes."""

    name: str
    bars: tuple[Bar, ...]
    holds: tuple[Hold, ...]
    grade: str = "S235"
    screen: Hung | None = None
    canopies: tuple[Overhead, ...] = ()
    loads: Loads = Loads()
    anchors: Anchors = Anchors()
    joining: Joining = "sleeve"
    sleeves: Sleeves | None = None
    remedies: Callable[[], Iterable[tuple[str, Structure]]] = field(default=tuple, compare=False)

    def check(self) -> None:
        """Raise ValueError for doubled names, bars without length, and holds or loads on bars that there are not."""
        names = [bar.name for bar in self.bars]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f"two bars share a name: {', '.join(twice)}")
        short = [bar.name for bar in self.bars if not (isfinite(bar.span) and bar.span > 0.0)]
        if short:
            raise ValueError(f"bars without length: {', '.join(short)}")
        hung = [self.screen.top, *self.screen.sides] if self.screen else []
        over = [name for canopy in self.canopies for name in (canopy.front, *canopy.sides)]
        unknown = sorted({*hung, *over, *(hold.bar for hold in self.holds)} - set(names))
        if unknown:
            raise ValueError(f"no bar is called {', '.join(unknown)}")
        if self.grade not in YIELD:
            raise ValueError(f"steel '{self.grade}' is none of {', '.join(YIELD)}")
        if not any(hold.to == "floor" or hold.anchored for hold in self.holds):
            raise ValueError("nothing holds it")

    def bar(self, name: str) -> Bar:
        """The bar of this name."""
        return next(bar for bar in self.bars if bar.name == name)

    def place(self, hold: Hold) -> Place:
        """Where it is held, m."""
        bar = self.bar(hold.bar)
        return bar.start if hold.end == "start" else bar.end
