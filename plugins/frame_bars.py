"""Where a frame's bars run: middle lines from the scenario's measures, with foam as a ball meets it and bare as cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import cos, sin, tan

import numpy as np
from numpy.typing import NDArray

from flightsim.plugin.places import TAPE, direction
from flightsim.scenario.reading.models import Scenario
from flightsim_plugins.canopy import Canopy
from flightsim_plugins.frame_bar import FrameBar
from flightsim_plugins.frame_braces import braces_at_canopy, braces_at_screen, wall_bars
from flightsim_plugins.frame_model import Bars, Frame
from flightsim_plugins.screen import Screen

Array = NDArray[np.float64]


def frame_bars(scenario: Scenario, frame: Frame, screen: Screen, canopies: Sequence[Canopy]) -> list[FrameBar]:
    """All bars of a frame; those without length are left out."""
    bars = list(_around_screen(scenario, frame, screen, canopies))
    bars += wall_bars(frame, screen, bars)
    bars += braces_at_screen(frame, bars)
    for canopy in canopies:
        of = f", {canopy.name}" if len(canopies) > 1 else ""
        of_canopy = list(_around_canopy(scenario, frame, screen, canopy))
        of_canopy += braces_at_canopy(frame, bars, of_canopy)
        bars += [replace(bar, name=bar.name + of, canopy=canopy.name) for bar in of_canopy]
    return [bar for bar in bars if bar.start != bar.end]


def _uprights(scenario: Scenario, frame: Frame, screen: Screen) -> tuple[float, float]:
    """Middle lines of the uprights, from the left wall, m."""
    left, right = screen.edges(scenario)
    out = frame.clearance + frame.tube.size / 2.0
    return left - out, right + out


def _around_screen(scenario: Scenario, frame: Frame, screen: Screen, canopies: Sequence[Canopy]) -> Iterator[FrameBar]:
    """Uprights and top bar in the plane of the cloth, and bars on the floor."""
    s, (left, right) = screen.gap_behind, _uprights(scenario, frame, screen)
    top = screen.above_floor + screen.height + frame.clearance + frame.tube.size / 2.0
    end = max([top + frame.tube.size / 2.0, *_canopy_ends(scenario, frame, screen, canopies)])
    yield FrameBar("uprights", "left upright", (s, left, 0.0), (s, left, end))
    yield FrameBar("uprights", "right upright", (s, right, 0.0), (s, right, end))
    inner, foam = frame.half("uprights"), frame.foam_on("uprights")
    yield FrameBar("top_bar", "top bar", (s, left + inner, top), (s, right - inner, top), under=(foam, foam))
    if frame.base_length > 0.0:
        z, near = frame.half("base_bars"), s + inner
        far = near + frame.base_length
        for side, t in (("left", left), ("right", right)):
            legs = [leg for leg in _legs_before(scenario, frame, screen, canopies, t) if leg < far]
            under = (foam, frame.foam_on("legs") if legs else 0.0)
            stop = max(near, min([far, *legs]))
            yield FrameBar("base_bars", f"{side} base bar", (near, t, z), (stop, t, z), under=under)


def _canopy_ends(scenario: Scenario, frame: Frame, screen: Screen, canopies: Sequence[Canopy]) -> Iterator[float]:
    """How high an upright goes to carry side bars, m."""
    for canopy in canopies if frame.post_top == "canopy" else ():
        lines = CanopyLines(scenario, frame, screen, canopy)
        yield lines.place_at(lines.start())[1] + frame.tube.size / 2.0 / cos(canopy.slope)


def _legs_before(
    scenario: Scenario, frame: Frame, screen: Screen, canopies: Sequence[Canopy], t: float
) -> Iterator[float]:
    """Where a bar on the floor meets legs: it ends there."""
    if frame.front_support != "legs":
        return
    room = frame.half("legs") + frame.half("base_bars")
    for canopy in canopies:
        lines = CanopyLines(scenario, frame, screen, canopy)
        if min(abs(side - t) for side in lines.sides()) < room - TAPE:
            yield lines.place_at(lines.front())[0] - frame.half("legs")


@dataclass(frozen=True)
class CanopyLines:
    """Where the middle lines of a canopy's bars run."""

    scenario: Scenario
    frame: Frame
    screen: Screen
    canopy: Canopy

    def away(self, bars: Bars) -> float:
        """Canopy's edges to the middle of the bars, outward, m: with their foam they stay clear of it."""
        half = self.frame.tube.size / 2.0
        if self.frame.canopy_bars == "above":
            return -half
        clear = self.frame.canopy_clearance
        if clear is None:
            clear = self.frame.clearance if self.canopy.thickness == 0.0 else 0.0
        return max(half + clear, self.frame.half(bars))

    def sides(self) -> tuple[float, float]:
        """From the left wall, m."""
        left, right = self.screen.edges(self.scenario)
        out = self.canopy.side_overhang + self.away("side_bars")
        return left - out, right + out

    def front(self) -> float:
        """Along the canopy, from its screen-side edge, m."""
        return self.canopy.depth + self.away("front_bar")

    def place_at(self, along: float) -> tuple[float, float]:
        """From the end wall and above the slab, m, so far along the canopy."""
        canopy, slope = self.canopy, self.canopy.slope
        up = canopy.thickness / 2.0
        if self.frame.canopy_bars != "around":
            up = canopy.thickness + max(self.frame.half("side_bars"), self.frame.half("front_bar"))
        s, z = self.screen.gap_behind + canopy.gap, canopy.height
        return s + along * cos(slope) - up * sin(slope), z + along * sin(slope) + up * cos(slope)

    def start(self) -> float:
        """Along the canopy, where it leaves the uprights and the top bar, m."""
        out = max(self.frame.half("uprights"), self.frame.half("top_bar"))
        return self._leaves(out, self.frame.half("side_bars"))

    def bare_start(self) -> float:
        """Where the canopy's steel beneath the foam leaves the uprights and the top bar, along the canopy, m."""
        return self._leaves(self.frame.tube.size / 2.0, self.frame.tube.size / 2.0)

    def _leaves(self, out: float, half: float) -> float:
        square_end = half * abs(tan(self.canopy.slope))
        return (self.screen.gap_behind + out - self.place_at(0.0)[0]) / cos(self.canopy.slope) + square_end


def _around_canopy(scenario: Scenario, frame: Frame, screen: Screen, canopy: Canopy) -> Iterator[FrameBar]:
    """Side bars from the screen's frame to the front, the front bar between them, and what carries the corners."""
    lines = CanopyLines(scenario, frame, screen, canopy)
    slope, front, start = canopy.slope, lines.front(), lines.start()
    up = direction(-sin(slope), 0.0, cos(slope))
    (s0, z0), (s1, z1) = lines.place_at(start), lines.place_at(front + frame.tube.size / 2.0)
    s, z = lines.place_at(front)
    left, right = lines.sides()
    for side, t in (("left", left), ("right", right)):
        under = (start - lines.bare_start(), 0.0)
        yield FrameBar("side_bars", f"{side} side bar", (s0, t, z0), (s1, t, z1), up, under)
        out, bare = _carried_at(frame, slope, True), _carried_at(frame, slope, False)
        if frame.front_support == "legs":
            yield FrameBar("legs", f"{side} leg", (s, t, 0.0), (s, t, z - out), under=(0.0, out - bare))
        elif frame.front_support == "hangers":
            roof = float(scenario.room.roof_shape().height(s, t)) - _room_for_slope(scenario, frame, s, t)
            top = max(roof, z + out)
            yield FrameBar("hangers", f"{side} hanger", (s, t, z + out), (s, t, top), under=(out - bare, 0.0))
    inner, foam = frame.half("side_bars"), frame.foam_on("side_bars")
    yield FrameBar("front_bar", "front bar", (s, left + inner, z), (s, right - inner, z), up, (foam, foam))
    if frame.back_bar:
        yield from _back_and_ribs(frame, lines, up)


def _carried_at(frame: Frame, slope: float, foam: bool) -> float:
    """From the front corner's middle line down to a leg's top, or up to a hanger's foot, m."""
    half = frame.tube.size / 2.0
    across = max(frame.half("side_bars"), frame.half("front_bar")) if foam else half
    along = max(frame.half("legs"), frame.half("hangers")) if foam else half
    return across / cos(slope) + along * abs(tan(slope))


def _back_and_ribs(frame: Frame, lines: CanopyLines, up: Array) -> Iterator[FrameBar]:
    """A bar along the canopy's screen-side edge between the side bars, and bars from it to the front bar."""
    left, right = lines.sides()
    inner, foam = frame.half("side_bars"), frame.foam_on("side_bars")
    back = lines.start() + frame.half("back_bar")
    s, z = lines.place_at(back)
    yield FrameBar("back_bar", "back bar", (s, left + inner, z), (s, right - inner, z), up, (foam, foam))
    (s0, z0), (s1, z1) = (
        lines.place_at(back + frame.half("back_bar")),
        lines.place_at(lines.front() - frame.half("front_bar")),
    )
    under = (frame.foam_on("back_bar"), frame.foam_on("front_bar"))
    for k in range(frame.ribs):
        t = left + (right - left) * (k + 1) / (frame.ribs + 1)
        yield FrameBar("ribs", f"rib {k + 1}", (s0, t, z0), (s1, t, z1), up, under)


def _room_for_slope(scenario: Scenario, frame: Frame, s: float, t: float) -> float:
    """How much lower than at its middle line the roof is over a hanger's lowest corner, m."""
    half, roof = frame.half("hangers"), scenario.room.roof_shape()
    corners = [float(roof.height(s + ds, t + dt)) for ds in (-half, half) for dt in (-half, half)]
    return float(roof.height(s, t)) - min(corners)
