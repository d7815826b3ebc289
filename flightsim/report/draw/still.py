"""The bay from above one corner, with some ways: what stands in the page where no script draws it."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from flightsim.bay.parts import Part, Role
from flightsim.contact.fates import Outcome
from flightsim.report.draw.linework import is_wall
from flightsim.report.draw.paths import examples
from flightsim.report.draw.style import (
    GREY,
    GUARD_COLOUR,
    HAIR_LINE,
    INK,
    SMALL,
    STROKES,
    THIN_LINE,
    WORST_FIRST,
    bare_axes_at,
    new_figure,
)
from flightsim.report.words.common_words import OUTCOME_WORDS
from flightsim.study.run.present import zones_present
from flightsim.study.run.replay import Replay
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]
WIDTH, HEIGHT = 9.0, 5.6  # inches
# Axonometric: the paper's right and up for an eye behind the tee, to its right and above.
RIGHT = np.array([0.66, -0.75, 0.0]) / np.hypot(0.66, 0.75)
TOWARD = np.array([-0.62, -0.54, 0.57]) / np.linalg.norm([-0.62, -0.54, 0.57])
UP = np.cross(TOWARD, RIGHT)


def flat(points: Array) -> Array:
    """Points `(k, 3)`, m, on the paper `(k, 2)`."""
    return np.stack([points @ RIGHT, points @ UP], axis=1)


def still_sheet(result: RunResult, flown: Replay) -> Figure:
    """The whole bay and a few ways of each outcome."""
    figure = new_figure(WIDTH, HEIGHT)
    axes = bare_axes_at(figure, 0.1, 0.1, WIDTH - 0.2, HEIGHT - 0.2)
    axes.set_aspect("equal")
    for part in sorted(result.bay.parts, key=lambda part: part.role is Role.GUARD):
        _draw_part(axes, part)
    for opening in result.bay.openings:
        outline = [flat(opening.corners)]
        axes.add_collection(PolyCollection(outline, facecolor="none", edgecolor=INK, linewidth=0.8, linestyle="--"))
    for zone in zones_present(result):
        outlines = [flat(outline) for outline in zone.seen.outlines()]
        axes.add_collection(PolyCollection(outlines, facecolor="0.5", alpha=0.12, edgecolor=GREY, linewidth=0.4))
    keys = [key for outcome in WORST_FIRST if (key := _draw_ways(axes, result, flown, outcome))]
    if keys:
        axes.legend(handles=keys, loc="upper left", fontsize=SMALL, frameon=False)
    axes.autoscale_view()
    return figure


def _draw_part(axes: Axes, part: Part) -> None:
    outlines = [flat(outline) for outline in part.shape.outlines()]
    if not outlines:
        return
    guard = part.role is Role.GUARD
    width = THIN_LINE if guard or is_wall(part) else HAIR_LINE
    face = to_rgba(GUARD_COLOUR, 0.12) if guard else "none"
    axes.add_collection(
        PolyCollection(outlines, facecolor=face, edgecolor=GUARD_COLOUR if guard else GREY, linewidth=width)
    )


def _draw_ways(axes: Axes, result: RunResult, flown: Replay, outcome: Outcome) -> Line2D | None:
    balls, stroke = examples(result, flown, outcome), STROKES[outcome]
    if not balls.size:
        return None
    lines = [flat(flown.way(int(k)).point) for k in balls]
    axes.add_collection(
        LineCollection(lines, colors=stroke.colour, linewidths=stroke.width, linestyles=[stroke.dashes])
    )
    return Line2D(
        [], [], color=stroke.colour, linewidth=stroke.width, linestyle=stroke.dashes, label=OUTCOME_WORDS[outcome]
    )
