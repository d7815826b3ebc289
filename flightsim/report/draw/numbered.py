"""Ringed numbers on a drawing, and what they stand for."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, Role
from flightsim.report.draw.linework import FRONT, PLAN, is_wall
from flightsim.report.draw.projection import silhouettes
from flightsim.report.draw.sheet import Panel
from flightsim.report.draw.style import GREY, HAIR_LINE, INK, TINY

Array = NDArray[np.float64]

MOST_NUMBERS = 24  # things numbered on the drawing: more would hide it


@dataclass
class Thing:
    """What carries one number on the drawing."""

    label: str
    kind: str  # "guard", "thing" or "opening"
    fragile: bool = False
    parts: list[Part] = field(default_factory=list)
    corners: list[Array] = field(default_factory=list)


def things_of(bay: Bay) -> list[Thing]:
    """What is numbered: guards first, then what stands in the room, then openings."""
    found: dict[tuple[str, str], Thing] = {}
    for part in bay.parts:
        if part.role is Role.FLOOR or is_wall(part):
            continue
        kind = "guard" if part.role is Role.GUARD else "thing"
        thing = found.setdefault((kind, part.label), Thing(part.label, kind))
        thing.parts.append(part)
        thing.fragile |= part.fragile
    things = sorted(found.values(), key=lambda thing: thing.kind != "guard")
    openings = [Thing(opening.name, "opening", corners=[opening.corners]) for opening in bay.openings]
    return [*things, *openings]


def _anchor(thing: Thing, panel: Panel) -> Array:
    """The middle `(2,)` of a thing in a view."""
    outlines = [line for part in thing.parts for line in silhouettes(part.shape, panel.frame)]
    outlines += [panel.frame.flat(corners) for corners in thing.corners]
    largest = max(outlines, key=lambda line: float(np.ptp(line, axis=0).sum()), default=np.zeros((1, 2)))
    return np.asarray((largest.min(axis=0) + largest.max(axis=0)) / 2.0)


def number_things(panel: Panel, things: list[Thing]) -> None:
    """Ringed numbers, kept clear of one another, each with a line to its thing."""
    taken: list[Array] = []
    for number, thing in enumerate(things[:MOST_NUMBERS], start=1):
        if panel.view is FRONT and thing.kind != "guard":
            continue
        if panel.view is not PLAN and thing.kind == "opening":
            continue
        anchor = np.clip(_anchor(thing, panel), panel.lower, panel.upper)
        place = free_place(anchor, taken, panel)
        taken.append(place)
        if np.linalg.norm(place - anchor) > 0.01 * panel.inch:
            panel.axes.plot(*np.stack([anchor, place]).T, color=GREY, linewidth=HAIR_LINE, zorder=9)
            panel.axes.plot(*anchor, marker=".", markersize=2.5, color=GREY, zorder=9)
        ring = {"boxstyle": "circle,pad=0.22", "facecolor": "white", "edgecolor": INK, "linewidth": 0.7}
        panel.axes.text(
            float(place[0]),
            float(place[1]),
            str(number),
            fontsize=TINY - 0.5,
            ha="center",
            va="center",
            bbox=ring,
            zorder=11,
        )


def free_place(anchor: Array, taken: list[Array], panel: Panel) -> Array:
    """The nearest place inside the room that is clear of the numbers already set."""
    clear = 0.24 * panel.inch
    inside = 0.14 * panel.inch
    tee = panel.frame.flat(np.zeros(3))
    for ring in range(12):
        for turn in np.arange(12 if ring else 1) * np.pi / 6 + np.pi / 4:
            place = anchor + ring * 0.12 * panel.inch * np.array([np.cos(turn), np.sin(turn)])
            fits = (place >= panel.lower + inside).all() and (place <= panel.upper - inside).all()
            if fits and all(np.linalg.norm(place - other) > clear for other in [*taken, tee]):
                return place
    return anchor
