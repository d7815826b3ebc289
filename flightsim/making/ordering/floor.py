"""The floor: strips of turf from a roll, numbered in the order of laying, with the cut-outs for what is let in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from flightsim.making.pieces import Bar, Cloth, FloorPiece, Place
from flightsim.scenario.reading.display import Display

_SNUG = 1e-6
CLEAR_OF_WET = 0.020  # m (judgement)
ON_FLOOR = 0.020  # m: a bar whose end is no higher stands on the slab (judgement)


@dataclass(frozen=True)
class Laid:
    """One piece of the floor. number: order of laying; cut_out: x, y, length, width from its own corner, m."""

    number: int
    name: str
    material: str
    x: float
    y: float
    length: float
    width: float
    thickness: float
    cut_out: tuple[float, float, float, float] | None
    system: str = "floor"

    def cut_out_from(self) -> tuple[float, float] | None:
        """How far the cut-out is from the piece's end toward the screen, and from its left edge, m."""
        if self.cut_out is None:
            return None
        x, y, length, width = self.cut_out
        return self.length - x - length, self.width - y - width


@dataclass(frozen=True)
class Standing:
    """What stands on the slab, where, and what is put under it; place None: what hangs above it, and how high."""

    name: str
    place: Place | None
    on: str


def lay_floor(pieces: Sequence[FloorPiece], roll: float) -> tuple[Laid, ...]:
    """What is let in first (the mat gives the others their edge), then strips along the room from the left wall."""
    rolls = [piece for piece in pieces if piece.material == "turf"]
    others = [piece for piece in pieces if piece.material != "turf"]
    laid = [
        Laid(k, p.name, p.material, p.x, p.y, p.length, p.width, p.thickness, None, p.system)
        for k, p in enumerate(others, start=1)
    ]
    for piece in rolls:
        count = ceil(piece.width / roll - _SNUG)
        for k in range(count):
            top = piece.y + piece.width - k * roll  # the left wall is where y is largest
            width = min(roll, top - piece.y)
            y = top - width
            cut = next((c for other in others if (c := _cut(piece.x, y, piece.length, width, other))), None)
            name = f"{piece.name}, strip {k + 1} of {count}"
            laid.append(
                Laid(len(laid) + 1, name, piece.material, piece.x, y, piece.length, width, piece.thickness, cut,
                     piece.system)
            )  # fmt: skip
    return tuple(laid)


def _cut(
    x: float, y: float, length: float, width: float, other: FloorPiece
) -> tuple[float, float, float, float] | None:
    x0, x1 = max(x, other.x), min(x + length, other.x + other.length)
    y0, y1 = max(y, other.y), min(y + width, other.y + other.width)
    return (x0 - x, y0 - y, x1 - x0, y1 - y0) if x1 - x0 > _SNUG and y1 - y0 > _SNUG else None


def standing_on_slab(
    bars: Sequence[Bar], floor: Sequence[Laid], cloths: Sequence[Cloth], wet: bool, packers: float, show: Display
) -> tuple[Standing, ...]:
    """What stands or lies on the slab and on what, then how high the screens and nets hang above it."""
    found = []
    under = f"plastic packers {show.to_cut(packers)}, foot sealed or galvanised (practice)" if wet else "the slab"
    for bar in bars:
        low = min((bar.start, bar.end), key=lambda place: place[2])
        if bar.role != "sleeve" and low[2] <= ON_FLOOR + bar.section.size / 2.0:
            found.append(Standing(bar.name, low, under))
    lies = "a drainage mat that lets it dry (practice)" if wet else "the slab"
    found += [Standing(laid.name, (laid.x, laid.y, 0.0), lies) for laid in floor]
    for cloth in cloths:
        if cloth.above_floor is not None:
            low_one = wet and cloth.above_floor < CLEAR_OF_WET
            note = f"hangs {show.to_cut(cloth.above_floor)} above the slab" + (
                f": less than {show.to_cut(CLEAR_OF_WET)}, it soaks water up (judgement)" if low_one else ""
            )
            found.append(Standing(cloth.name, None, note))
    return tuple(found)
