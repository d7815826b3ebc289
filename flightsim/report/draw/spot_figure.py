"""Where a box can hang: plan and views, how many balls come to each place, the best numbered, a projector's light."""

from __future__ import annotations

from textwrap import fill

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.linework import draw_bay, draw_people, draw_tee
from flightsim.report.draw.rulers import draw_rulers
from flightsim.report.draw.shading import edges_within, shading_key, squares
from flightsim.report.draw.sheet import Panel, Sheet, lay_out
from flightsim.report.draw.style import HAIR_LINE, INK, PURPLE, SMALL, TINY, heading
from flightsim.scenario.reading.display import Display
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.spot.places_to_hang import GRID, Box3, Spots

Array = NDArray[np.float64]
LEVELS = (0.0, 1.0, 5.0, 20.0, 50.0, 100.0, 1000.0)  # balls of 1,000
_LABEL = 0.2  # inches between two labels at least


def spots_sheet(opened: OpenBay, box: Box3, spots: Spots) -> Figure:
    """The plan, shaded by the fewest balls that come to a box at any height above each place; side and front views."""
    display = Display(opened.scenario.units)
    scale, unit = display.length_axis
    sheet = lay_out(opened.bay, scale)
    plan = sheet.plan
    edges = edges_within(plan.lower, plan.upper, GRID * scale)
    squares(plan.axes, _fewest(plan.frame.flat(spots.looked_at), 1000.0 * spots.visits, edges), edges, LEVELS, 0.5)
    for panel in sheet.panels:
        draw_people(panel.axes, opened.bay, panel.frame, outlines_only=True)
        draw_bay(panel.axes, opened.bay, panel.view, scale)
        draw_tee(panel.axes, tee_spots(opened.scenario), panel.frame, 0.055 * panel.inch)
        _light(panel, spots, box)
        _places(panel, spots, box)
    for panel in sheet.panels:
        draw_rulers(panel, unit)
    _key(sheet, spots)
    words = f"{opened.scenario.name}: the numbered places are the least hit that are free and clear of the swing"
    heading(sheet.figure, "Where the box can hang", fill(words, 105))
    return sheet.figure


def _places(panel: Panel, spots: Spots, box: Box3) -> None:
    """Boxes to scale, each with its number beside it; numbers that would meet are set apart, with a thread."""
    taken: list[Array] = []
    for number, place in enumerate(spots.places, start=1):
        corners = panel.frame.flat(np.stack([place.middle - box.half, place.middle + box.half]))
        low, high = corners.min(axis=0), corners.max(axis=0)
        panel.axes.add_patch(
            Rectangle(tuple(low), *(high - low), facecolor="white", edgecolor=INK, linewidth=1.2, zorder=8)
        )
        middle = (low + high) / 2.0
        label = middle + np.array([0.0, -0.5 * (high - low)[1] - 0.13 * panel.inch])
        while any(np.abs(label - other).max() < _LABEL * panel.inch for other in taken):
            label = label + np.array([0.0, -_LABEL * panel.inch])
        taken.append(label)
        panel.axes.plot([middle[0], label[0]], [low[1], label[1]], color=INK, linewidth=HAIR_LINE, zorder=8)
        ground = {"facecolor": "white", "edgecolor": "none", "pad": 0.8}
        panel.axes.text(
            float(label[0]),
            float(label[1]),
            str(number),
            ha="center",
            va="center",
            fontsize=SMALL,
            zorder=9,
            bbox=ground,
        )


def _light(panel: Panel, spots: Spots, box: Box3) -> None:
    """The light of the first place: from its lens to the four corners of the picture, and the picture."""
    if spots.picture is None or not spots.places:
        return
    lens = spots.places[0].middle + np.array([box.half[0], 0.0, 0.0])
    corners = spots.picture.corners
    for corner in corners:
        x, y = panel.frame.flat(np.stack([lens, corner])).T
        panel.axes.plot(x, y, color=PURPLE, linewidth=0.9, zorder=7)
    x, y = panel.frame.flat(np.concatenate([corners, corners[:1]])).T
    panel.axes.plot(x, y, color=PURPLE, linewidth=2.0, linestyle=(0, (3.0, 1.2)), zorder=7)


def _key(sheet: Sheet, spots: Spots) -> None:
    left, bottom, _, height = sheet.key
    wide, tall = sheet.figure.get_size_inches()
    title = "balls of 1,000 that come\nto a box there, at the\nheight where fewest do"
    shading_key(sheet.figure, LEVELS, title, (left / wide, (bottom + height - 0.1) / tall))
    if spots.picture is not None:
        words = "purple: the light of place 1,\nto the corners of its picture"
        sheet.figure.text(left / wide, (bottom + 0.05) / tall, words, fontsize=TINY, color=PURPLE, va="bottom")


def _fewest(places: Array, amounts: Array, edges: tuple[Array, Array]) -> Array:
    """The least amount of all places `(n, 2)` in each square `(across, up)`; nought where there is none."""
    across, up = (
        np.clip(np.searchsorted(edge, places[:, k], side="right") - 1, 0, edge.size - 2) for k, edge in enumerate(edges)
    )
    least = np.full((edges[0].size - 1, edges[1].size - 1), np.inf)
    np.minimum.at(least, (across, up), amounts)
    return np.where(np.isfinite(least), least, 0.0)
