"""The drawing of the sheet for the wall: section and plan side by side with their sizes, lettered for A4 as printed."""

from __future__ import annotations

from dataclasses import replace
from textwrap import fill

from matplotlib.figure import Figure

from flightsim.report.draw.bay_sheet import tee_spots
from flightsim.report.draw.linework import PLAN, SIDE, View, draw_bay, draw_people, draw_tee
from flightsim.report.draw.measures import plan_measures, side_measures
from flightsim.report.draw.numbered import Thing, number_things, things_of
from flightsim.report.draw.sheet import Dimension, Panel, dimension, scale_bar, view_at
from flightsim.report.draw.style import GREY, NORMAL, TINY, bare_axes_at, new_figure
from flightsim.scenario.reading.display import Display
from flightsim.study.run.present import bay_as_played
from flightsim.study.run.result import RunResult

WIDTH = 7.3  # inches: A4 and Letter within their margins
_PAD, _TOP, _FOOT, _TALLEST = 0.72, 0.12, 0.42, 3.7  # inches
_LEFT, _BETWEEN, _RIGHT = 0.45, 1.6, 0.62  # inches beside and between the views, for their dimension lines
_LETTERS = 74  # of names in a line


def wall_sheet(result: RunResult) -> Figure:
    """Section from the side on the left, plan on the right, to one scale; guards numbered and named below."""
    bay, display = bay_as_played(result), Display(result.scenario.units)
    scale, unit = display.length_axis
    length, width, height = (float(size) for size in bay.upper - bay.lower)
    room = _TALLEST - 2.0 * _PAD
    per_metre = min((WIDTH - _LEFT - _BETWEEN - _RIGHT) / 2.0 / length, room / max(width, height))
    tall = max(width, height) * per_metre + 2.0 * _PAD
    figure = new_figure(WIDTH, _TOP + tall + _FOOT)
    guards = [thing for thing in things_of(bay) if thing.kind == "guard"]
    across = length * per_metre + _BETWEEN
    left = (WIDTH - length * per_metre - across + _LEFT - _RIGHT) / 2.0 - _PAD
    views: tuple[tuple[View, str, list[Dimension], float], ...] = (
        (SIDE, "SECTION, FROM THE SIDE", side_measures(bay, display), height),
        (PLAN, "PLAN", plan_measures(bay, display), width),
    )
    for column, (view, name, measures, high) in enumerate(views):
        low = _FOOT + tall - high * per_metre - 2.0 * _PAD
        panel = view_at(figure, bay, view, scale, per_metre, _PAD, (left + column * across, low))
        draw_people(panel.axes, bay, panel.frame)
        draw_bay(panel.axes, bay, view, scale)
        draw_tee(panel.axes, tee_spots(result.scenario), panel.frame, 0.05 * panel.inch)
        for measure in measures:
            dimension(panel, measure)
        number_things(panel, guards)
        panel.axes.text(panel.lower[0], panel.upper[1] + 0.76 * panel.inch, name, fontsize=TINY, color=GREY,
                        va="center", fontweight="bold")  # fmt: skip
    _key(figure, panel, guards, unit)
    return figure


def _key(figure: Figure, plan: Panel, guards: list[Thing], unit: str) -> None:
    """Names of what is numbered, and a bar of round length."""
    names = fill("   ".join(f"{k} {thing.label}" for k, thing in enumerate(guards, start=1)), _LETTERS)
    tall = figure.get_size_inches()[1]
    figure.text(0.15 / WIDTH, 0.2 / tall, names, fontsize=NORMAL - 1.0, va="center")
    axes = bare_axes_at(figure, WIDTH - 2.35, 0.02, 2.3, 0.32)
    axes.set_xlim(-0.08 * plan.inch, 2.22 * plan.inch)
    axes.set_ylim(0, 0.32 * plan.inch)
    scale_bar(replace(plan, axes=axes), unit, (0.0, 0.03 * plan.inch))
