"""The nearest escapes drawn in the bay: side elevation, front elevation and plan, with the normal shot beside them."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patheffects import withStroke
from numpy.typing import NDArray

from flightsim.report.draw.linework import draw_bay, draw_people, draw_tee
from flightsim.report.draw.map_figure import MOST
from flightsim.report.draw.rulers import draw_rulers
from flightsim.report.draw.sheet import Panel, lay_out
from flightsim.report.draw.style import INK, SMALL, TINY, VERMILLION, bare_axes_at, heading
from flightsim.report.words.map_ways import at_its_speed, way_words
from flightsim.report.words.map_words import title
from flightsim.scenario.reading.display import Display
from flightsim.study.map.bay_map import BayMap, ClubMap
from flightsim.study.map.path_spread import free_paths

Array = NDArray[np.float64]

PAD = 0.6  # inches kept free round each view, for rulers
PIECES = 24


def escape_sheet(club: ClubMap, found: BayMap) -> Figure:
    """The three views with the nearest escapes, numbered as on the map, and the normal shot dashed."""
    bay, display = found.opened.bay, Display(found.opened.scenario.units)
    scale, unit = display.length_axis
    sheet = lay_out(bay, scale, PAD)
    normal, paths = _paths(club)
    for panel in sheet.panels:
        draw_people(panel.axes, bay, panel.frame)
        draw_bay(panel.axes, bay, panel.view, scale)
        draw_tee(panel.axes, [club.aim.start], panel.frame, 0.055 * panel.inch)
        draw_rulers(panel, unit)
        panel.axes.plot(*panel.frame.flat(normal.T).T, color=INK, linewidth=0.9, linestyle=(0, (2.0, 1.5)), zorder=7)
        for number, path in enumerate(paths, start=1):
            _draw(panel, number, path)
    _key(club, sheet.figure, sheet.key)
    heading(sheet.figure, f"Nearest escapes: {title(club, found)}",
            "The smallest turns of a normal shot that get a ball past the protection in its first flight")  # fmt: skip
    return sheet.figure


def _paths(club: ClubMap) -> tuple[Array, list[Array]]:
    """Ball centres `(3, k)`, m, of the normal shot and of each escape, to what they meet first."""
    shown, shooter = at_its_speed(club)[:MOST], club.map.shooter
    shots = [(club.aim.elevation, club.aim.azimuth), *((e.shot.elevation, e.shot.azimuth) for e in shown)]
    elevation, azimuth = np.array(shots).T
    time = shooter.first(elevation, azimuth).time
    points, _, _ = free_paths(shooter.physics, shooter.launches(elevation, azimuth), np.nan_to_num(time), PIECES)
    return points[:, :, 0].T, [points[:, :, k].T for k in range(1, len(shots))]


def _draw(panel: Panel, number: int, path: Array) -> None:
    line = panel.frame.flat(path.T)
    panel.axes.plot(*line.T, color=VERMILLION, linewidth=1.2, zorder=8)
    rim = [withStroke(linewidth=2.2, foreground="white")]
    x, y = (float(value) for value in line[-1])
    panel.axes.text(x, y, str(number), fontsize=SMALL, fontweight="bold", ha="center", va="center", color=INK,
                    path_effects=rim, zorder=10)  # fmt: skip


def _key(club: ClubMap, figure: Figure, place: tuple[float, float, float, float]) -> None:
    axes = bare_axes_at(figure, *place)
    lines = [Line2D([], [], color=INK, linewidth=0.9, linestyle=(0, (2.0, 1.5))),
             Line2D([], [], color=VERMILLION, linewidth=1.2)]  # fmt: skip
    axes.legend(lines, ["a normal shot", "nearest escapes"], loc="upper left", fontsize=SMALL, frameon=False,
                borderaxespad=0.0)  # fmt: skip
    shown = at_its_speed(club)[:MOST]
    lines_beside = [
        f"{n}  {way_words(e)}\n    turn {np.degrees(e.shot.turn):.2f} deg, to the {e.shot.region.name}"
        for n, e in enumerate(shown, start=1)
    ]
    axes.text(0.0, 0.86, "\n".join(lines_beside) or "none found", fontsize=TINY, va="top", transform=axes.transAxes,
              linespacing=1.3)  # fmt: skip
