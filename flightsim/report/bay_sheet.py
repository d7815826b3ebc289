"""The bay as a builder's drawing: plan, side and front elevation to scale, with its main measures and a key."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part, Role
from flightsim.report.linework import FRONT, PLAN, draw_bay, draw_tee, is_wall
from flightsim.report.measures import front_measures, plan_measures, side_measures
from flightsim.report.projection import silhouettes
from flightsim.report.sheet import Panel, Sheet, dimension, lay_out, scale_bar
from flightsim.report.style import (
    GREY,
    GUARD_COLOUR,
    GUARD_DASHES,
    GUARD_LINE,
    HAIR_LINE,
    INK,
    OPENING_DASHES,
    SMALL,
    THIN_LINE,
    TINY,
    WALL_LINE,
    axes_at,
    heading,
)
from flightsim.scenario.display import Display
from flightsim.scenario.models import Scenario
from flightsim.study.result import RunResult

Array = NDArray[np.float64]

BELOW = "Side elevation and plan: the screen is on the right. Front elevation: the screen as the player sees it."
MOST_NUMBERS = 24  # things numbered on the drawing: more would hide it


@dataclass
class _Thing:
    """What carries one number on the drawing."""

    label: str
    kind: str  # "guard", "thing" or "opening"
    fragile: bool = False
    parts: list[Part] = field(default_factory=list)
    corners: list[Array] = field(default_factory=list)


def tee_spots(scenario: Scenario) -> list[Array]:
    """Where balls stand, each `(3,)`, m."""
    ground = scenario.ground_height
    spots = [(scenario.along(s.from_end_wall), scenario.across(s.from_left_wall)) for s in scenario.tee.spots]
    return [np.array([x, y, ground]) for x, y in spots or [(0.0, 0.0)]]


def bay_sheet(result: RunResult) -> Figure:
    """The bay to scale, without balls."""
    bay, display = result.bay, Display(result.scenario.units)
    scale, unit = display.length_axis
    sheet = lay_out(bay, scale)
    for panel in sheet.panels:
        draw_bay(panel.axes, bay, panel.view, scale)
        draw_tee(panel.axes, tee_spots(result.scenario), panel.frame, 0.055 * panel.inch)
        _name(panel)
    for panel, measures in (
        (sheet.plan, plan_measures(bay, display)),
        (sheet.side, side_measures(bay, display)),
        (sheet.front, front_measures(bay, display)),
    ):
        for measure in measures:
            dimension(panel, measure)
    things = _things(bay)
    for panel in sheet.panels:
        _number(panel, things)
    _key(sheet, things, unit)
    heading(sheet.figure, result.scenario.name, BELOW)
    return sheet.figure


def _name(panel: Panel) -> None:
    x, y = panel.lower[0], panel.upper[1] + 0.62 * panel.inch
    panel.axes.text(x, y, panel.view.name.upper(), fontsize=TINY + 0.5, color=GREY, va="center", fontweight="bold")


def _things(bay: Bay) -> list[_Thing]:
    """What is numbered: guards first, then what stands in the room, then openings."""
    found: dict[tuple[str, str], _Thing] = {}
    for part in bay.parts:
        if part.role is Role.FLOOR or is_wall(part):
            continue
        kind = "guard" if part.role is Role.GUARD else "thing"
        thing = found.setdefault((kind, part.label), _Thing(part.label, kind))
        thing.parts.append(part)
        thing.fragile |= part.fragile
    things = sorted(found.values(), key=lambda thing: thing.kind != "guard")
    openings = [_Thing(opening.name, "opening", corners=[opening.corners]) for opening in bay.openings]
    return [*things, *openings]


def _anchor(thing: _Thing, panel: Panel) -> Array:
    """The middle `(2,)` of a thing in a view."""
    outlines = [line for part in thing.parts for line in silhouettes(part.shape, panel.frame)]
    outlines += [panel.frame.flat(corners) for corners in thing.corners]
    largest = max(outlines, key=lambda line: float(np.ptp(line, axis=0).sum()), default=np.zeros((1, 2)))
    return np.asarray((largest.min(axis=0) + largest.max(axis=0)) / 2.0)


def _number(panel: Panel, things: list[_Thing]) -> None:
    """Ringed numbers, kept clear of one another, each with a line to its thing."""
    taken: list[Array] = []
    for number, thing in enumerate(things[:MOST_NUMBERS], start=1):
        if panel.view is FRONT and thing.kind != "guard":
            continue
        if panel.view is not PLAN and thing.kind == "opening":
            continue
        anchor = np.clip(_anchor(thing, panel), panel.lower, panel.upper)
        at = _free_place(anchor, taken, panel)
        taken.append(at)
        if np.linalg.norm(at - anchor) > 0.01 * panel.inch:
            panel.axes.plot(*np.stack([anchor, at]).T, color=GREY, linewidth=HAIR_LINE, zorder=9)
            panel.axes.plot(*anchor, marker=".", markersize=2.5, color=GREY, zorder=9)
        ring = {"boxstyle": "circle,pad=0.22", "facecolor": "white", "edgecolor": INK, "linewidth": 0.7}
        panel.axes.text(*at, str(number), fontsize=TINY - 0.5, ha="center", va="center", bbox=ring, zorder=11)


def _free_place(anchor: Array, taken: list[Array], panel: Panel) -> Array:
    """The nearest place inside the room that is clear of the numbers already set."""
    clear = 0.24 * panel.inch
    inside = 0.14 * panel.inch
    tee = panel.frame.flat(np.zeros(3))
    for ring in range(0, 12):
        for turn in np.arange(12 if ring else 1) * np.pi / 6 + np.pi / 4:
            at = anchor + ring * 0.12 * panel.inch * np.array([np.cos(turn), np.sin(turn)])
            fits = (at >= panel.lower + inside).all() and (at <= panel.upper - inside).all()
            if fits and all(np.linalg.norm(at - other) > clear for other in [*taken, tee]):
                return at
    return anchor


def _key(sheet: Sheet, things: list[_Thing], unit: str) -> None:
    """The list of numbers, the line styles and the scale bar, in the sheet's free quarter."""
    left, bottom, width, height = sheet.key
    axes = axes_at(sheet.figure, left, bottom, width, height)
    axes.set_axis_off()
    axes.set_xlim(0, width)
    axes.set_ylim(0, height)
    shown = things[:MOST_NUMBERS]
    rows = max(1, (len(shown) + 1) // 2) if len(shown) > 10 else len(shown)
    for k, thing in enumerate(shown):
        x, y = (k // rows) * width / 2.0, height - 0.15 - (k % rows) * 0.185
        text = f"{k + 1}  {thing.label}{'  (fragile)' if thing.fragile else ''}"
        weight = "bold" if thing.kind == "guard" else "normal"
        style = "italic" if thing.kind == "opening" else "normal"
        axes.text(x, y, text, fontsize=SMALL, va="center", fontweight=weight, fontstyle=style)
    if len(things) > MOST_NUMBERS:
        axes.text(0, height - 0.15 - rows * 0.185, f"and {len(things) - MOST_NUMBERS} more, not numbered", fontsize=TINY)
    looks = (
        ("wall, roof, floor", WALL_LINE, "-"),
        ("guard (bold above)", GUARD_LINE, GUARD_DASHES),
        ("thing in the room", THIN_LINE, "-"),
        ("opening (slanted above)", THIN_LINE, OPENING_DASHES),
    )
    for k, (text, line, dashes) in enumerate(looks):
        y = 0.92 - 0.17 * k
        colour = GUARD_COLOUR if dashes is GUARD_DASHES else INK
        axes.plot([0.0, 0.5], [y, y], color=colour, linewidth=line, linestyle=dashes)
        axes.text(0.6, y, text, fontsize=TINY, va="center")
    axes.plot([0.25], [0.92 - 0.17 * 4], marker="+", markersize=9, color=INK, markeredgewidth=0.9)
    axes.text(0.6, 0.92 - 0.17 * 4, "tee", fontsize=TINY, va="center")
    bar = Panel(axes, PLAN, sheet.plan.frame, sheet.plan.inch, np.zeros(2), np.zeros(2))
    axes_bar = axes_at(sheet.figure, left, bottom - 0.17, width, 0.32)
    axes_bar.set_axis_off()
    axes_bar.set_xlim(-0.08 * bar.inch, (width - 0.08) * bar.inch)
    axes_bar.set_ylim(0, 0.32 * bar.inch)
    scale_bar(Panel(axes_bar, PLAN, bar.frame, bar.inch, bar.lower, bar.upper), unit, (0.0, 0.03 * bar.inch))
