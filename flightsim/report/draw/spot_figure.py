"""Where a box can hang: the room from above, with how many balls come to each place, and the best ones numbered."""

from __future__ import annotations

from pathlib import Path
from textwrap import fill

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.linework import PLAN, draw_bay, draw_people, draw_tee
from flightsim.report.draw.rulers import draw_rulers
from flightsim.report.draw.shading import edges_within, shading_key, squares
from flightsim.report.draw.sheet import plan_alone
from flightsim.report.draw.style import DPI, INK, SMALL, heading
from flightsim.scenario.reading.display import Display
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.spot.places_to_hang import GRID, Box3, Spots

Array = NDArray[np.float64]
LEVELS = (0.0, 1.0, 5.0, 20.0, 50.0, 100.0, 1000.0)  # balls of 1,000
_PAD, _KEY = 0.6, 2.5  # inches


def draw_spots(opened: OpenBay, box: Box3, spots: Spots, path: Path) -> None:
    """Write the picture. Raises OSError."""
    spots_sheet(opened, box, spots).savefig(path, dpi=DPI)


def spots_sheet(opened: OpenBay, box: Box3, spots: Spots) -> Figure:
    """The plan, shaded by the fewest balls that come to a box at any height above each place."""
    display = Display(opened.scenario.units)
    scale, unit = display.length_axis
    figure, panel, key = plan_alone(opened.bay, scale, _PAD, _KEY)
    edges = edges_within(panel.lower, panel.upper, GRID * scale)
    squares(panel.axes, _fewest(panel.frame.flat(spots.looked_at), 1000.0 * spots.visits, edges), edges, LEVELS, 0.5)
    draw_people(panel.axes, opened.bay, panel.frame, outlines_only=True)
    draw_bay(panel.axes, opened.bay, PLAN, scale)
    draw_tee(panel.axes, tee_spots(opened.scenario), panel.frame, 0.055 * panel.inch)
    draw_rulers(panel, unit)
    for number, place in enumerate(spots.places, start=1):
        corners = panel.frame.flat(np.stack([place.middle - box.half, place.middle + box.half]))
        low, high = corners.min(axis=0), corners.max(axis=0)
        size = high - low
        panel.axes.add_patch(Rectangle(low, *size, facecolor="white", edgecolor=INK, linewidth=1.2, zorder=8))
        x, y = (low + high) / 2.0
        panel.axes.text(x, y, str(number), ha="center", va="center", fontsize=SMALL, zorder=9)
    left, bottom, _, height = key
    wide, tall = figure.get_size_inches()
    title = "balls of 1,000 that come\nto a box there, at the\nheight where fewest do"
    shading_key(figure, LEVELS, title, (left / wide, (bottom + height - 0.1) / tall))
    words = (
        f"{opened.scenario.name}: the numbered places are the least hit, of those that are free and clear of the swing"
    )
    heading(figure, "Where the box can hang", fill(words, 105))
    return figure


def _fewest(places: Array, amounts: Array, edges: tuple[Array, Array]) -> Array:
    """The least amount of all places `(n, 2)` in each square `(across, up)`; nought where there is none."""
    across, up = (
        np.clip(np.searchsorted(edge, places[:, k], side="right") - 1, 0, edge.size - 2) for k, edge in enumerate(edges)
    )
    least = np.full((edges[0].size - 1, edges[1].size - 1), np.inf)
    np.minimum.at(least, (across, up), amounts)
    return np.where(np.isfinite(least), least, 0.0)
