"""The main measures of a bay, as dimension lines: what a person checks with a tape."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, PartKind
from flightsim.report.draw.sheet import Dimension
from flightsim.scenario.reading.display import Display

Array = NDArray[np.float64]

MOST_ROWS = 2  # canopies with their own dimension lines: the sheet has no room for more
SHORTEST = 0.005  # m: nothing shorter is worth a dimension line


def extent(parts: Sequence[Part]) -> tuple[Array, Array]:
    """Lower and upper corner `(3,)`, m, of the box round these parts."""
    points = np.concatenate([outline for part in parts for outline in part.shape.outlines()])
    return points.min(axis=0), points.max(axis=0)


def by_label(parts: Sequence[Part]) -> list[list[Part]]:
    """The parts of each thing, in the order in which they come."""
    things: dict[str, list[Part]] = {}
    for part in parts:
        things.setdefault(part.label, []).append(part)
    return list(things.values())


def main_sheet(parts: Sequence[Part]) -> list[Part]:
    """The part with the widest reach: the screen itself, without its flap."""
    return sorted(parts, key=lambda part: -float(np.prod(np.sort(np.subtract(*extent([part])[::-1]))[1:])))[:1]


def chain(places: Iterable[float], display: Display, row: int, side: str) -> list[Dimension]:
    """Dimension lines end to end between places, m, along one side of a view."""
    scale, _ = display.length_axis
    order = sorted(places)
    pairs = [(a, b) for a, b in pairwise(order) if b - a > SHORTEST]
    return [
        Dimension(a * scale, b * scale, display.length(b - a), row, side, before=k == 0 and len(pairs) > 1)
        for k, (a, b) in enumerate(pairs)
    ]


def plan_measures(bay: Bay, display: Display) -> list[Dimension]:
    """Along: back to tee, tee to screen, gap behind, the whole length. Across: tee from the walls, and the width."""
    screen = main_sheet(bay.guards_of(PartKind.SCREEN))
    face = [float(extent(screen)[0][0])] if screen else []
    along = [float(bay.lower[0]), 0.0, *face, float(bay.upper[0])]
    across = [float(bay.lower[1]), 0.0, float(bay.upper[1])]
    lines = chain(along, display, 1, "below") + chain([along[0], along[-1]], display, 2, "below")
    return lines + chain(across, display, 1, "left") + chain([across[0], across[-1]], display, 2, "left")


def side_measures(bay: Bay, display: Display) -> list[Dimension]:
    """Above: tee to each canopy, and its depth. Below: the side nets' reach. Left: room height. Right: heights of
    the screen and of the canopies' lowest edges.
    """
    lines = chain([0.0, float(bay.upper[2])], display, 1, "left")
    canopies, nets = by_label(bay.guards_of(PartKind.OVERHEAD)), bay.guards_of(PartKind.SIDE)
    for row, canopy in enumerate(canopies[:MOST_ROWS], start=1):
        low, high = extent(canopy)
        lines += chain([0.0, float(low[0]), float(high[0])], display, row, "above")
        lines += chain([0.0, float(low[2])], display, row + 1, "right")
    for screen in main_sheet(bay.guards_of(PartKind.SCREEN)):
        low, high = extent([screen])
        lines += chain([0.0, float(low[2]), float(high[2])], display, 1, "right")
    if nets:
        low, high = extent(nets)
        lines += chain([float(low[0]), float(high[0])], display, 1, "below")
    return lines


def front_measures(bay: Bay, display: Display) -> list[Dimension]:
    """Below: the screen's width and the gaps beside it, and the room's width. Right: room height."""
    left, right = -float(bay.upper[1]), -float(bay.lower[1])
    screen = main_sheet(bay.guards_of(PartKind.SCREEN))
    edges = [-float(y[1]) for y in extent(screen)] if screen else []
    lines = chain([left, *edges, right], display, 1, "below") + chain([left, right], display, 2, "below")
    return lines + chain([0.0, float(bay.upper[2])], display, 1, "right")
