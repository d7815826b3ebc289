"""A drawing sheet: side elevation over plan, front elevation beside, all to one scale, as a builder lays them out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.report.draw.linework import FRONT, PLAN, SIDE, View
from flightsim.report.draw.projection import Frame
from flightsim.report.draw.style import GREY, HAIR_LINE, INK, TINY, bare_axes_at, new_figure

Array = NDArray[np.float64]

WIDTH = 9.6  # inches
HEADING = 0.76
PAD = 0.68  # inches round each view, for dimension lines
ROW = 0.23  # inches between rows of dimension lines


@dataclass(frozen=True)
class Panel:
    """One view on the sheet: its axes, in user units, and how many of these one inch of paper stands for."""

    axes: Axes
    view: View
    frame: Frame
    inch: float
    lower: Array
    upper: Array  # paper box `(2,)` of the room, user units


@dataclass(frozen=True)
class Sheet:
    """The three views and the free quarter for the key, left, bottom, width and height in inches."""

    figure: Figure
    plan: Panel
    side: Panel
    front: Panel
    key: tuple[float, float, float, float]

    @property
    def panels(self) -> tuple[Panel, Panel, Panel]:
        """Side elevation, front elevation, plan."""
        return self.side, self.front, self.plan


def lay_out(bay: Bay, scale: float, pad: float = PAD) -> Sheet:
    """An empty sheet for a bay. scale: user units a metre; pad: inches kept free round each view."""
    length, width, height = bay.upper - bay.lower
    per_metre = min((WIDTH - 4.0 * pad) / (length + width), 5.2 / (width + height))
    tall = HEADING + 4.0 * pad + (width + height) * per_metre
    figure = new_figure(WIDTH, tall)
    sizes = length * per_metre + 2 * pad, width * per_metre + 2 * pad, height * per_metre + 2 * pad
    low, across = 0.0, WIDTH - sizes[0] - sizes[1]
    left = across / 2.0 if across > 0 else 0.0
    plan = _panel(figure, bay, PLAN, scale, per_metre, pad, (left, low, sizes[0], sizes[1]))
    side = _panel(figure, bay, SIDE, scale, per_metre, pad, (left, low + sizes[1], sizes[0], sizes[2]))
    front = _panel(figure, bay, FRONT, scale, per_metre, pad, (left + sizes[0], low + sizes[1], sizes[1], sizes[2]))
    key = (left + sizes[0] + pad, 0.3, sizes[1] - pad + left - 0.2, sizes[1] - 0.35)
    return Sheet(figure, plan, side, front, key)


def plan_alone(
    bay: Bay, scale: float, pad: float, key: float
) -> tuple[Figure, Panel, tuple[float, float, float, float]]:
    """A sheet with the plan and, right of it, room for a key of this width, inches, whose place it gives as Sheet."""
    length, width, _ = bay.upper - bay.lower
    per_metre = min((WIDTH - 2.0 * pad - key) / length, 6.0 / width)
    across, up = length * per_metre + 2.0 * pad, width * per_metre + 2.0 * pad
    figure = new_figure(across + key, HEADING + up)
    panel = _panel(figure, bay, PLAN, scale, per_metre, pad, (0.0, 0.0, across, up))
    return figure, panel, (across, 0.3, key - 0.1, up - 0.3)


def _panel(
    figure: Figure, bay: Bay, view: View, scale: float, per_metre: float, pad: float,
    place: tuple[float, float, float, float],
) -> Panel:  # fmt: skip
    axes = bare_axes_at(figure, *place)
    frame, inch = view.frame(scale), scale / per_metre
    corners = frame.flat(np.stack([bay.lower, bay.upper]))
    lower, upper = corners.min(axis=0), corners.max(axis=0)
    axes.set_xlim(lower[0] - pad * inch, lower[0] - pad * inch + place[2] * inch)
    axes.set_ylim(lower[1] - pad * inch, lower[1] - pad * inch + place[3] * inch)
    return Panel(axes, view, frame, inch, lower, upper)


def view_at(
    figure: Figure, bay: Bay, view: View, scale: float, per_metre: float, pad: float, corner: tuple[float, float]
) -> Panel:
    """One view with its lower left corner at a place of a figure, inches; per_metre and pad: inches, as for a sheet."""
    across, up = np.ptp(view.frame(1.0).flat(np.stack([bay.lower, bay.upper])), axis=0)
    size = float(across) * per_metre + 2.0 * pad, float(up) * per_metre + 2.0 * pad
    return _panel(figure, bay, view, scale, per_metre, pad, (*corner, *size))


@dataclass(frozen=True)
class Dimension:
    """A measure along one side of a view: from and to in user units, its text, the row it stands in (1 next to
    the room) and the side of the view: "below", "above", "left" or "right". before: where there is no room for the
    text, it stands before the start and not after the end.
    """

    start: float
    end: float
    text: str
    row: int
    side: str
    before: bool = False


def dimension(panel: Panel, measure: Dimension) -> None:
    """Draw a dimension line with slashes at its ends, and its text; short measures have the text beside."""
    level = measure.side in ("below", "above")
    axis = 1 if level else 0
    low = measure.side in ("below", "left")
    edge = panel.lower[axis] if low else panel.upper[axis]
    sign = -1.0 if low else 1.0
    line_at = edge + sign * (0.12 + ROW * measure.row) * panel.inch
    near = edge + sign * 0.06 * panel.inch
    ends = np.array([measure.start, measure.end])
    _line(panel, ends, np.array([line_at, line_at]), level, 0.7)
    for end in ends:
        _line(panel, np.array([end, end]), np.array([near, line_at + sign * 0.05 * panel.inch]), level, HAIR_LINE)
        _slash(panel, end, line_at, level)
    room = abs(measure.end - measure.start) / panel.inch
    need = 0.058 * TINY / 7.0 * len(measure.text)
    if need + 0.1 < room:
        _text(panel, float(ends.mean()), line_at, measure.text, level, "center")
    elif measure.before:  # too short for its text: beside it, on the free side
        _text(panel, float(ends.min()) - 0.06 * panel.inch, line_at, measure.text, level, "right")
    else:
        _text(panel, float(ends.max()) + 0.06 * panel.inch, line_at, measure.text, level, "left")


def _line(panel: Panel, along: Array, across: Array, level: bool, width: float) -> None:
    x, y = (along, across) if level else (across, along)
    panel.axes.plot(x, y, color=INK, linewidth=width, solid_capstyle="butt", zorder=6)


def _slash(panel: Panel, along: float, across: float, level: bool) -> None:
    x, y = (along, across) if level else (across, along)
    size = 0.035 * panel.inch
    panel.axes.plot([x - size, x + size], [y - size, y + size], color=INK, linewidth=1.1, zorder=7)


def _text(panel: Panel, along: float, across: float, text: str, level: bool, align: str) -> None:
    """Text on the line, reading from below or from the right; align says which end of it stands at `along`."""
    ground = {"facecolor": "white", "edgecolor": "none", "pad": 0.8}
    x, y = (along, across) if level else (across, along)
    stand = {"left": "bottom", "right": "top", "center": "center"}[align]
    places = {"ha": align, "va": "center"} if level else {"ha": "center", "va": stand, "rotation": 90.0}
    panel.axes.text(x, y, text, fontsize=TINY, bbox=ground, zorder=8, **places)


def scale_bar(panel: Panel, unit: str, place: tuple[float, float]) -> None:
    """A bar of round length, at `place` in user units, that tells the scale at any print size."""
    target = 1.6 * panel.inch
    steps = np.array([0.5, 1, 2, 3, 5, 10, 20])
    length = float(steps[np.abs(steps - target).argmin()])
    x, y = place
    thick = 0.06 * panel.inch
    for k in range(2):
        left = x + k * length / 2.0
        face = INK if k == 0 else "white"
        panel.axes.fill(
            [left, left + length / 2, left + length / 2, left], [y, y, y + thick, y + thick],
            facecolor=face, edgecolor=INK, linewidth=0.7, zorder=6,
        )  # fmt: skip
    for mark in (0.0, length / 2.0, length):
        panel.axes.text(x + mark, y + 1.6 * thick, f"{mark:g}", fontsize=TINY, ha="center", va="bottom")
    panel.axes.text(x + length + 2.5 * thick, y, unit, fontsize=TINY, ha="left", va="bottom", color=GREY)
