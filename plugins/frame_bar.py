"""One bar of a frame, as a ball meets it and as it is cut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import RoundTube, Shape, square_tube
from flightsim.plugin.places import in_axes
from flightsim.scenario.reading.models import Scenario
from flightsim_plugins.frame_model import Bars, Frame

Array = NDArray[np.float64]
Place = tuple[float, float, float]  # from the end wall, from the left wall, above the slab, m


@dataclass(frozen=True)
class FrameBar:
    """One tube: which bars it is of, its name, and the ends of its middle line. up `(3,)`: where one face looks.

    under: how far the steel goes on past each end, beneath the other bar's foam, m.
    """

    bars: Bars
    name: str
    start: Place
    end: Place
    up: Array | None = None
    under: tuple[float, float] = (0.0, 0.0)
    canopy: str = ""  # the canopy that it carries, of a bar around one

    def part(self, scenario: Scenario, frame: Frame, group: str) -> Part:
        """The tube with its foam."""
        start, end = in_axes(scenario, [self.start, self.end])
        foam, half = frame.foam_on(self.bars), frame.half(self.bars)
        shape: Shape = RoundTube(start, end, half)
        if frame.tube.section == "square":
            shape = square_tube(start, end, 2.0 * half, frame.tube.rounding() + foam, self.up)
        name = f"{frame.name} {self.name}"
        return Part(name, shape, Role.UNPROTECTED, frame.facing(self.bars), "frame", f"{frame.name} {group}")

    def steel(self, scenario: Scenario) -> tuple[Array, Array]:
        """The ends of the steel itself `(3,)`, m, in our axes."""
        start, end = in_axes(scenario, [self.start, self.end])
        along = (end - start) / np.linalg.norm(end - start)
        return start - self.under[0] * along, end + self.under[1] * along
