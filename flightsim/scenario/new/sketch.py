"""A bay drawn back in characters, to scale: its plan and its side view, to see a wrong number at once."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from flightsim.scenario.new.new_bay import NewBay, NewOpening
from flightsim.scenario.reading.display import Display

_COLUMNS = 60  # of the room's length
_TALL = 2.0  # a character is about twice as high as it is wide
_MOST_ROWS = 34


@dataclass
class _Sheet:
    """Characters by place: u to the right and v down, m, from the upper left."""

    wide: float
    high: float
    scale: float  # columns per metre
    cells: dict[tuple[int, int], str] = field(default_factory=dict)

    def at(self, u: float, v: float) -> tuple[int, int]:
        return round(v * self.scale / _TALL), round(u * self.scale)

    def put(self, u: float, v: float, mark: str) -> None:
        """Marks one place, if on the sheet."""
        row, column = self.at(u, v)
        last_row, last_column = self.at(self.wide, self.high)
        if 0 <= row <= last_row and 0 <= column <= last_column:
            self.cells[row, column] = mark

    def line(self, start: tuple[float, float], end: tuple[float, float], mark: str) -> None:
        """Marks the places from start to end."""
        steps = 2 * max(1, *(abs(b - a) for a, b in zip(self.at(*start), self.at(*end), strict=True)))
        for k in range(steps + 1):
            share = k / steps
            self.put(start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]), mark)

    def text(self) -> str:
        last_row, last_column = self.at(self.wide, self.high)
        rows = (
            "".join(self.cells.get((row, column), " ") for column in range(last_column + 1))
            for row in range(last_row + 1)
        )
        return "\n".join(f"  {row}".rstrip() for row in rows)


def draw(bay: NewBay) -> str:
    """Plan and side view with a key, one scale for both."""
    show = Display(bay.units).length
    scale = min(_COLUMNS / bay.length.metres, _MOST_ROWS * _TALL / max(bay.width.metres, _highest(bay)))
    key = [
        "# screen   = canopy   : side net   ^ ceiling pad   o ball   . mat",
        "w window or door that stays shut; a gap in a wall: opening",
    ]
    return "\n".join(
        [
            f"Plan: {show(bay.length.metres)} by {show(bay.width.metres)}. The screen is on the right, left is up.",
            _plan(bay, scale).text(),
            f"From the side: {show(_highest(bay))} at the highest.",
            _side(bay, scale).text(),
            *key,
            f"One character across is {show(1.0 / scale)}.",
        ]
    )


def _highest(bay: NewBay) -> float:
    return max(height.metres for height in bay.roof.heights.values())


def _plan(bay: NewBay, scale: float) -> _Sheet:
    """Seen from above: the screen on the right, the left wall on top."""
    length, width = bay.length.metres, bay.width.metres
    sheet = _Sheet(length, width, scale)
    sheet.line((0.0, 0.0), (length, 0.0), "-")
    sheet.line((0.0, width), (length, width), "-")
    sheet.line((length, 0.0), (length, width), "|")
    if bay.back == "wall":
        sheet.line((0.0, 0.0), (0.0, width), "|")
    for corner in ((0.0, 0.0), (length, 0.0), (0.0, width), (length, width)):
        sheet.put(*corner, "+")
    for opening in bay.openings:
        _opening(sheet, bay, opening)
    face = length - bay.gap_behind.metres
    left, right = bay.screen_edges
    if bay.pad is not None:
        near = length - bay.pad.from_end_wall.metres
        _frame(sheet, near - bay.pad.length.metres, near, bay.pad.from_left_wall.metres, bay.pad.width.metres, "^")
    for side, (depth, _) in bay.nets.items():
        edge = left if side == "left" else right
        sheet.line((face - depth.metres, edge), (face, edge), ":")
    if bay.canopy_depth is not None:
        _frame(sheet, face - bay.canopy_depth.metres, face, left, right - left, "=")
    sheet.line((face, left), (face, right), "#")
    tee = (length - bay.tee_from_end.metres, bay.tee_from_left.metres)
    if bay.mat_height is not None:
        _frame(sheet, tee[0] - 0.75, tee[0] + 0.75, tee[1] - 0.75, 1.5, ".")
    sheet.put(*tee, "o")
    return sheet


def _frame(sheet: _Sheet, u0: float, u1: float, v0: float, high: float, mark: str) -> None:
    corners = [(u0, v0), (u1, v0), (u1, v0 + high), (u0, v0 + high), (u0, v0)]
    for start, end in pairwise(corners):
        sheet.line(start, end, mark)


def _opening(sheet: _Sheet, bay: NewBay, opening: NewOpening) -> None:
    """A hole in the wall's line, or a w where it stays shut."""
    start, end = opening.along.metres, opening.along.metres + opening.width.metres
    length, width = bay.length.metres, bay.width.metres
    ends = {
        "left": ((length - start, 0.0), (length - end, 0.0)),
        "right": ((length - start, width), (length - end, width)),
        "end": ((length, start), (length, end)),
        "back": ((0.0, start), (0.0, end)),
    }[opening.wall]
    sheet.line(*ends, "w" if opening.closed else " ")


def _side(bay: NewBay, scale: float) -> _Sheet:
    """Seen from the right wall, the screen on the right. The roof is that over the target line."""
    length, high, middle = bay.length.metres, _highest(bay), bay.tee_from_left.metres
    sheet = _Sheet(length, high, scale)
    tall = [bay.roof_height(length - u, middle) for u in (0.0, length / 2.0, length)]
    sheet.line((0.0, high - tall[0]), (length / 2.0, high - tall[1]), "-")
    sheet.line((length / 2.0, high - tall[1]), (length, high - tall[2]), "-")
    sheet.line((0.0, high), (length, high), "-")
    sheet.line((length, high - tall[2]), (length, high), "|")
    if bay.back == "wall":
        sheet.line((0.0, high - tall[0]), (0.0, high), "|")
    for corner in ((0.0, high - tall[0]), (length, high - tall[2]), (0.0, high), (length, high)):
        sheet.put(*corner, "+")
    face = length - bay.gap_behind.metres
    for depth, height in bay.nets.values():
        _frame(sheet, face - depth.metres, face, high - height.metres, height.metres, ":")
    if bay.pad is not None:
        near = length - bay.pad.from_end_wall.metres
        under = [high - bay.roof_height(length - u, middle) + bay.pad.thickness.metres
                 for u in (near - bay.pad.length.metres, near)]  # fmt: skip
        sheet.line((near - bay.pad.length.metres, under[0]), (near, under[1]), "^")
    if bay.canopy_depth is not None and bay.canopy_height is not None:
        top = high - bay.canopy_height.metres
        sheet.line((face - bay.canopy_depth.metres, top), (face, top), "=")
    foot = high - bay.screen_foot.metres
    sheet.line((face, foot - bay.screen_height.metres), (face, foot), "#")
    tee = length - bay.tee_from_end.metres
    if bay.mat_height is not None:
        sheet.line((tee - 0.75, high - bay.mat_height.metres), (tee + 0.75, high - bay.mat_height.metres), ".")
    sheet.put(tee, high - (bay.mat_height.metres if bay.mat_height else 0.0), "o")
    return sheet
