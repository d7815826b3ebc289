"""A bay from tape measures, its parts by name, and their corners: for tests with numbers worked out by hand."""

from __future__ import annotations

import numpy as np

from flightsim.bay.parts import Bay, Part
from flightsim.engine.follow import first_contacts
from flightsim.flight.air import Air
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import launch
from flightsim.plugin.hookspecs import BayPieces
from flightsim.plugin.testing import bay_of, with_plugins

PLUGINS = with_plugins()
FLAT = "{kind: flat, height: 3 m}"
SCREEN = "screen: {width: 2.4 m, height: 2.2 m, gap_behind: 400 mm}\n"
# The cloth hangs at x = 3.2; its edges are at t = 0.3 and 2.7, so at y = 1.2 and -1.2.


def bay(rest: str, roof: str = FLAT, room: str = "") -> tuple[Bay, BayPieces]:
    text = (
        f"name: Test\nunits: metric\nroom: {{length: 6 m, width: 3.6 m, roof: {roof}{room}}}\n"
        f"tee: {{from_end_wall: 3.6 m, from_left_wall: 1.5 m}}\n{rest}"
    )
    return bay_of(text, PLUGINS)


def named(bay: Bay, name: str) -> Part:
    (part,) = [part for part in bay.parts if part.name == name]
    return part


def corners(part: Part) -> list[tuple[float, ...]]:
    """All different corners, sorted."""
    points = np.round(np.concatenate(part.shape.outlines()), 9) + 0.0
    return sorted({tuple(float(v) for v in point) for point in points})


def rounded(*points: tuple[float, float, float]) -> list[tuple[float, ...]]:
    return sorted({tuple(float(v) for v in np.round(point, 9) + 0.0) for point in points})


LEFT_LOW = "{kind: single_slope, left_height: 2.2 m, right_height: 3.4 m}"
RIGHT_LOW = "{kind: single_slope, left_height: 3.4 m, right_height: 2.2 m}"
END_LOW = "{kind: single_slope, end_height: 2.2 m, back_height: 3.4 m}"
BACK_LOW = "{kind: single_slope, end_height: 3.4 m, back_height: 2.2 m}"
ALONG = "{kind: gable, ridge: along, eaves_height: 2.2 m, ridge_height: 3.4 m}"
ACROSS = "{kind: gable, ridge: across, eaves_height: 2.2 m, ridge_height: 3.4 m}"
ROOFS = [FLAT, LEFT_LOW, RIGHT_LOW, END_LOW, BACK_LOW, ALONG, ACROSS]


def aimed(it: Bay, target: tuple[float, float, float], start: tuple[float, float, float] = (0.0, 0.0, 1.0)):
    """One ball straight at a point, by golfers' angles, without air or gravity."""
    x, y, z = np.subtract(target, start)
    elevation, azimuth = np.arctan2(z, np.hypot(x, y)), np.arctan2(-y, x)
    balls = launch(np.array(start)[:, None], 40.0, elevation, azimuth, 0.0, 0.0)
    physics = Physics(air=Air(1e-30, 1.8e-5), gravity=0.0)
    return first_contacts(physics, balls, it, PLUGINS.touch_tests(it))
