"""A bay drawn in characters, to scale: plan and side view of whatever its parts are, to see a wrong number at once."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, PartKind, Role
from flightsim.scenario.reading.display import Display
from flightsim.study.run.open_bay import OpenBay

Array = NDArray[np.float64]
_COLUMNS = 60  # of the room's length
_TALL = 2.0  # a character is about twice as high as it is wide
_MOST_ROWS = 34
_OVERHEAD, _SIDE = "=", ":"
MARKS = {PartKind.SCREEN: "#", PartKind.OVERHEAD: _OVERHEAD, PartKind.SIDE: _SIDE, PartKind.THING: "*",
         PartKind.ROOM: "w"}  # fmt: skip
OTHER_GUARD, PERSON, BALL, WALL = "^", "p", "o", "|"
KEY = "# screen   = canopy   : side net   ^ other protection   * thing   w shut door, window or mat   p person   o ball"


@dataclass
class _Sheet:
    """Characters by place: u along the room and v down the page, m, from the upper left."""

    wide: float
    high: float
    scale: float  # columns per metre
    cells: dict[tuple[int, int], str] = field(default_factory=dict)

    def cell_of(self, u: float, v: float) -> tuple[int, int]:
        return round(v * self.scale / _TALL), round(u * self.scale)

    def frame(self, u0: float, u1: float, v0: float, v1: float, mark: str) -> None:
        """The outline of a rectangle, clipped to the sheet."""
        last_row, last_column = self.cell_of(self.wide, self.high)
        (r0, c0), (r1, c1) = self.cell_of(u0, v0), self.cell_of(u1, v1)
        for row in range(max(r0, 0), min(r1, last_row) + 1):
            for column in range(max(c0, 0), min(c1, last_column) + 1):
                if row in (r0, r1) or column in (c0, c1):
                    self.cells[row, column] = mark

    def text(self) -> str:
        last_row, last_column = self.cell_of(self.wide, self.high)
        rows = (
            "".join(self.cells.get((row, column), " ") for column in range(last_column + 1))
            for row in range(last_row + 1)
        )
        return "\n".join(f"  {row}".rstrip() for row in rows)


def sketch(opened: OpenBay, tee: bool = True) -> str:
    """Plan and side view with a key, one scale for both. tee: whether it is known; without it nobody stands there."""
    bay, show = opened.bay, Display(opened.scenario.units).length
    length, width, high = (bay.upper - bay.lower).tolist()
    scale = min(_COLUMNS / length, _MOST_ROWS * _TALL / max(width, high))
    return "\n".join([
        f"Plan: {show(length)} by {show(width)}. The screen is on the right, left is up.",
        _view(opened, scale, 1, tee).text(),
        f"From the side: {show(high)} at the highest.",
        _view(opened, scale, 2, tee).text(),
        KEY,
        f"One character across is {Display(opened.scenario.units).estimate(1.0 / scale)}.",
    ])  # fmt: skip


def _view(opened: OpenBay, scale: float, axis: int, tee: bool) -> _Sheet:
    """The room along x, and along this axis downward: the left wall, or the roof, is on top."""
    bay = opened.bay
    size = bay.upper - bay.lower
    sheet = _Sheet(float(size[0]), float(size[axis]), scale)
    sheet.frame(0.0, sheet.wide, 0.0, sheet.high, WALL)
    last_row, last_column = sheet.cell_of(sheet.wide, sheet.high)
    for column in range(last_column + 1):
        sheet.cells[0, column] = sheet.cells[last_row, column] = "-"
    for row in (0, last_row):
        sheet.cells[row, 0] = sheet.cells[row, last_column] = "+"
    for opening in bay.openings:
        _outline(sheet, bay, opening.corners.min(axis=0), opening.corners.max(axis=0), axis, " ")
    for zone in bay.zones if tee else ():
        _outline(sheet, bay, *zone.shape.bounds(), axis, PERSON)
    for part in sorted(bay.parts, key=_drawn_last):
        mark = _mark(part)
        if mark:
            _outline(sheet, bay, *part.shape.bounds(), axis, mark)
    for _, _, x, y in opened.plan.spots if tee else ():
        ball = np.array([x, y, opened.scenario.ground_height])
        _outline(sheet, bay, ball, ball, axis, BALL)
    return sheet


def _drawn_last(part: Part) -> tuple[bool, bool]:
    return part.role is Role.GUARD, part.kind is PartKind.SCREEN


def _mark(part: Part) -> str:
    if part.kind in (PartKind.WALL, PartKind.FLOOR):
        return ""
    return MARKS.get(part.kind, OTHER_GUARD if part.role is Role.GUARD else "*")


def _outline(sheet: _Sheet, bay: Bay, low: Array, high: Array, axis: int, mark: str) -> None:
    """x from the back of the room to the screen; the axis from its upper end down."""
    low, high = np.maximum(low, bay.lower), np.minimum(high, bay.upper)
    if (low > high + 1e-9).any():
        return
    u = (low[0] - bay.lower[0], high[0] - bay.lower[0])
    v = (bay.upper[axis] - high[axis], bay.upper[axis] - low[axis])
    sheet.frame(float(u[0]), float(u[1]), float(v[0]), float(v[1]), mark)
