"""The bay as a builder's drawing: plan, side and front elevation to scale, with its main measures and a key."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray

from flightsim.report.draw.bay_key import draw_key
from flightsim.report.draw.linework import draw_bay, draw_people, draw_tee
from flightsim.report.draw.measures import front_measures, plan_measures, side_measures
from flightsim.report.draw.numbered import number_things, things_of
from flightsim.report.draw.sheet import Panel, dimension, lay_out
from flightsim.report.draw.style import GREY, TINY, heading
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Scenario
from flightsim.study.run.present import bay_as_played
from flightsim.study.run.result import RunResult

Array = NDArray[np.float64]

BELOW = "Side elevation and plan: the screen is on the right. Front elevation: the screen as the player sees it."


def tee_spots(scenario: Scenario) -> list[Array]:
    """Where balls stand, each `(3,)`, m."""
    ground = scenario.ground_height
    spots = [(scenario.along(s.from_end_wall), scenario.across(s.from_left_wall)) for s in scenario.tee.spots]
    return [np.array([x, y, ground]) for x, y in spots or [(0.0, 0.0)]]


def bay_sheet(result: RunResult) -> Figure:
    """The bay to scale, without balls."""
    bay, display = bay_as_played(result), Display(result.scenario.units)
    scale, unit = display.length_axis
    sheet = lay_out(bay, scale)
    for panel in sheet.panels:
        draw_people(panel.axes, bay, panel.frame)
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
    things = things_of(bay)
    for panel in sheet.panels:
        number_things(panel, things)
    draw_key(sheet, things, unit, bool(bay.zones))
    heading(sheet.figure, result.scenario.name, BELOW)
    return sheet.figure


def _name(panel: Panel) -> None:
    x, y = panel.lower[0], panel.upper[1] + 0.62 * panel.inch
    panel.axes.text(x, y, panel.view.name.upper(), fontsize=TINY + 0.5, color=GREY, va="center", fontweight="bold")
