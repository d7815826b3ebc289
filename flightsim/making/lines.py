"""A frame as lines, texts and dimensions: data for drawings, in the bay's axes, m. Nothing is drawn here."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from flightsim.making.pieces import Bar, Place
from flightsim.making.strength.check import NOT_A_CERTIFICATE
from flightsim.making.structure import Structure


@dataclass(frozen=True)
class Line:
    """A bar's middle line, and its size over all, m."""

    name: str
    start: Place
    end: Place
    size: float


@dataclass(frozen=True)
class Dimension:
    """A measure between two places. value: m, as it is to be written."""

    name: str
    start: Place
    end: Place
    value: float


@dataclass(frozen=True)
class Label:
    """A text at a place."""

    text: str
    place: Place


@dataclass(frozen=True)
class FrameLines:
    """All of a frame for its drawing."""

    lines: tuple[Line, ...]
    dimensions: tuple[Dimension, ...]
    labels: tuple[Label, ...]
    note: str = NOT_A_CERTIFICATE

    def as_data(self) -> dict[str, object]:
        """For build.json."""
        return {
            "lines": [
                {"name": each.name, "start_m": list(each.start), "end_m": list(each.end), "size_m": each.size}
                for each in self.lines
            ],
            "dimensions": [
                {"name": each.name, "start_m": list(each.start), "end_m": list(each.end), "value_m": each.value}
                for each in self.dimensions
            ],
            "labels": [{"text": each.text, "at_m": list(each.place)} for each in self.labels],
            "note": self.note,
        }


def frame_lines(structure: Structure) -> FrameLines:
    """Middle lines with their tubes' names, each bar's length, and the frame's main measures."""
    lines = tuple(Line(bar.name, bar.start, bar.end, bar.section.size) for bar in structure.bars)
    lengths = tuple(Dimension(f"{bar.name}, length", bar.start, bar.end, bar.length) for bar in structure.bars)
    labels = tuple(Label(f"{bar.mark} {bar.name}, {bar.section.name}".strip(), _middle(bar)) for bar in structure.bars)
    return FrameLines(lines, (*lengths, *_screen(structure), *_canopies(structure)), labels)


def _middle(bar: Bar) -> Place:
    x, y, z = ((a + b) / 2.0 for a, b in zip(bar.start, bar.end, strict=True))
    return x, y, z


def _screen(structure: Structure) -> Iterator[Dimension]:
    """Clear opening and outer size of the frame around a screen."""
    if structure.screen is None:
        return
    left, right = sorted((structure.bar(side) for side in structure.screen.sides), key=lambda bar: -bar.start[1])
    top = structure.bar(structure.screen.top)
    half, x = top.section.size / 2.0, left.start[0]
    middle, under = (left.start[1] + right.start[1]) / 2.0, top.start[2] - half
    for name, out, z in (("clear opening, width", -half, under / 2.0), ("outer width", half, 0.0)):
        a, b = left.start[1] + out, right.start[1] - out
        yield Dimension(name, (x, a, z), (x, b, z), a - b)
    for name, z in (("clear opening, height", under), ("outer height", under + 2.0 * half)):
        yield Dimension(name, (x, middle, 0.0), (x, middle, z), z)
    for side in (left, right):
        yield Dimension(f"{side.name}, height", side.start, side.end, side.end[2] - side.start[2])


def _canopies(structure: Structure) -> Iterator[Dimension]:
    """How far each canopy's front bar stands out from the screen's frame, and how high it is."""
    for canopy in structure.canopies:
        front = structure.bar(canopy.front)
        middle, half = _middle(front), front.section.size / 2.0
        low = (middle[0], middle[1], middle[2] - half)
        yield Dimension(f"{front.name}, slab to its underside", (middle[0], middle[1], 0.0), low, middle[2] - half)
        if structure.screen is not None:
            top = _middle(structure.bar(structure.screen.top))
            out = abs(middle[0] - top[0])
            yield Dimension(f"{front.name}, out from the top bar, middles", top, (middle[0], top[1], top[2]), out)
