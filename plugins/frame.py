"""The frame: the tubes that carry screen and canopy, which a ball can hit like anything else.

Tubes are cold-formed (EN 10219-2: outer corners of twice the wall). Clearances and padding: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import cos, sin, tan
from typing import Literal, Self, TypeAlias

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import RoundTube, Shape, square_tube
from flightsim.contact.facings import Facing, Foam, shipped_facings
from flightsim.plugin.hookspecs import BayPieces, BaySetup, hookimpl
from flightsim.plugin.places import TAPE, above_roof, direction, entry_key, in_axes
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Model, Scenario, Section
from flightsim.scenario.reading.names import Called
from flightsim.scenario.reading.problems import Problem
from flightsim.scenario.reading.quantities import Distance, Size
from flightsim_plugins.canopy import Canopy
from flightsim_plugins.screen import Screen, the_screen

Array = NDArray[np.float64]
Place: TypeAlias = tuple[float, float, float]  # from the end wall, from the left wall, above the slab, m
Bars = Literal["uprights", "top_bar", "side_bars", "front_bar", "legs", "hangers", "base_bars"]

BARE, PADDED = "steel", "foam on steel"
CORDS = 0.050  # m between cloth and tube (common practice, no source)
CORNER = 2.0  # outer corner radius over wall (EN 10219-2)


class Tube(Model):
    """The tube that the frame is made of."""

    section: Literal["square", "round"] = Field("square", description="of the tube")
    size: Size = Field(0.050, description="outside width, or diameter; default 50 mm")
    wall: Size = Field(0.0025, description="thickness of the steel; default 2.5 mm")
    corner_radius: Distance | None = Field(None, description="of a square one's outer edges; default twice the wall")

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if self.wall >= self.size / 2.0:
            raise ValueError("a tube's wall must be less than half its size")
        if self.corner_radius is not None and self.section == "round":
            raise ValueError("a round tube has no corner_radius")
        if self.rounding() > self.size / 2.0:
            raise ValueError("a tube's corner_radius can be half its size at most; it is twice the wall unless given")
        return self

    def rounding(self) -> float:
        """Outer corner radius, m; nought of a round one, which has no corners."""
        if self.section == "round":
            return 0.0
        return CORNER * self.wall if self.corner_radius is None else self.corner_radius


class Frame(Model):
    """The tubes around a screen, and those that carry its canopies."""

    name: Called = Field("frame", min_length=1, description="what people call it; needed where there are several")
    screen: str | None = Field(None, description="the screen that it carries, where there are several")
    canopies: tuple[str, ...] | None = Field(None, description="those that it carries; default all of its screen")
    tube: Tube = Field(Tube(), description="of all bars")
    clearance: Distance = Field(CORDS, description="edge of the cloth to the tube, for the cords; default 50 mm")
    canopy_bars: Literal["around", "above"] = Field(
        "around", description="level with the canopy and outside its edges, or on top of it"
    )
    canopy_clearance: Distance | None = Field(
        None, description="edge of the canopy to bars around it; default as clearance for cloth, 0 m for a board"
    )
    front_support: Literal["none", "legs", "hangers"] = Field(
        "none", description="what carries the canopy's front corners: legs to the floor, hangers to the roof"
    )
    base_length: Distance = Field(
        0.0, description="of bars on the floor, from each upright toward the tee; default none"
    )
    padding: Literal["none", "foam"] = Field("none", description="foam around the tubes")
    padding_thickness: Size = Field(0.040, description="of the foam, all round; default 40 mm")
    padded: tuple[Bars, ...] = Field((), description="which bars have it, where there is padding; default all")

    def foam_on(self, bars: Bars) -> float:
        """Thickness of the foam around these bars, m."""
        return self.padding_thickness if self.padding == "foam" and bars in (self.padded or (bars,)) else 0.0

    def half(self, bars: Bars) -> float:
        """Half the outside width of these bars, foam included, m."""
        return self.tube.size / 2.0 + self.foam_on(bars)

    def facing(self, bars: Bars) -> str:
        """What a ball meets."""
        return _padded_name(self.padding_thickness) if self.foam_on(bars) else BARE


@dataclass(frozen=True)
class _Bar:
    """One tube: which bars it is of, its name, and the ends of its middle line. up `(3,)`: where one face looks."""

    bars: Bars
    name: str
    start: Place
    end: Place
    up: Array | None = None

    def part(self, scenario: Scenario, frame: Frame, group: str) -> Part:
        """The tube with its foam."""
        start, end = in_axes(scenario, [self.start, self.end])
        foam, half = frame.foam_on(self.bars), frame.half(self.bars)
        shape: Shape = RoundTube(start, end, half)
        if frame.tube.section == "square":
            shape = square_tube(start, end, 2.0 * half, frame.tube.rounding() + foam, self.up)
        name = f"{frame.name} {self.name}"
        return Part(name, shape, Role.UNPROTECTED, frame.facing(self.bars), "frame", f"{frame.name} {group}")


@hookimpl
def flightsim_section() -> Section:
    """The section `frame`."""
    return Section("frame", Frame, "Tubes that carry screen and canopy", owner="frame", several=True, order=55)


@hookimpl
def flightsim_facings(context: BaySetup) -> Sequence[Facing]:
    """Foam on steel, where it is not as thick as the one that comes with flightsim."""
    base = shipped_facings()[PADDED]
    found: dict[str, Facing] = {}
    for frame in context.entries:
        name = _padded_name(frame.padding_thickness)
        if frame.padding == "foam" and name != PADDED and base.foam is not None:
            foam = Foam(frame.padding_thickness, base.foam.crush_stress)
            found[name] = replace(base, name=name, foam=foam, source=f"as {PADDED}, of this thickness")
    return tuple(found.values())


def _padded_name(thickness: float) -> str:
    base = shipped_facings()[PADDED].foam
    same = base is not None and abs(base.thickness - thickness) < 1e-9
    return PADDED if same else f"{thickness * 1000.0:g} mm {PADDED}"


@hookimpl
def flightsim_parts(context: BaySetup) -> BayPieces:
    """The bars of each frame."""
    scenario = context.scenario
    parts: list[Part] = []
    problems: list[Problem] = []
    for k, frame in enumerate(context.entries):
        key = entry_key(scenario, "frame", k)
        screen, unclear = the_screen(scenario, frame.screen, key)
        canopies, unknown = _canopies(scenario, frame, screen, key)
        problems += [*unclear, *unknown]
        if screen is None or unknown:
            continue
        bars = [("", bar) for bar in _around_screen(scenario, frame, screen, canopies)]
        for canopy in canopies:
            of = f", {canopy.name}" if len(canopies) > 1 else ""
            bars += [(of, replace(bar, name=bar.name + of)) for bar in _around_canopy(scenario, frame, screen, canopy)]
        for of, bar in bars:
            if bar.start == bar.end:
                continue
            group = bar.bars.replace("_", " ") + of
            parts.append(bar.part(scenario, frame, group))
            tube = bar.part(scenario, frame.model_copy(update={"padding": "none"}), group)  # foam gives way to a wall
            problems += [*above_roof(scenario, key, tube), *_through_walls(scenario, key, tube)]
    return BayPieces(tuple(parts), (), tuple(problems))


def _canopies(scenario: Scenario, frame: Frame, screen: Screen | None, key: str) -> tuple[list[Canopy], list[Problem]]:
    """The canopies that this frame carries."""
    every: list[Canopy] = list(scenario.entries("canopy"))
    mine = [c for c in every if screen is not None and c.screen in (None, screen.name)]
    if frame.canopies is None:
        return mine, []
    known = [canopy.name for canopy in mine]
    names = ", ".join(known) or "there is none"
    problems = [
        scenario.problem(f"{key}.canopies.{k}", f"no canopy of this screen is called '{name}'", names)
        for k, name in enumerate(frame.canopies)
        if name not in known
    ]
    return [canopy for canopy in mine if canopy.name in frame.canopies], problems


def _uprights(scenario: Scenario, frame: Frame, screen: Screen) -> tuple[float, float]:
    """Middle lines of the uprights, from the left wall, m."""
    left, right = screen.edges(scenario)
    out = frame.clearance + frame.tube.size / 2.0
    return left - out, right + out


def _around_screen(scenario: Scenario, frame: Frame, screen: Screen, canopies: Sequence[Canopy]) -> Iterator[_Bar]:
    """Uprights and top bar in the plane of the cloth, and bars on the floor."""
    s, (left, right) = screen.gap_behind, _uprights(scenario, frame, screen)
    top = screen.above_floor + screen.height + frame.clearance + frame.tube.size / 2.0
    end = top + frame.tube.size / 2.0
    yield _Bar("uprights", "left upright", (s, left, 0.0), (s, left, end))
    yield _Bar("uprights", "right upright", (s, right, 0.0), (s, right, end))
    inner = frame.half("uprights")
    yield _Bar("top_bar", "top bar", (s, left + inner, top), (s, right - inner, top))
    if frame.base_length > 0.0:
        z, near = frame.half("base_bars"), s + inner
        far = near + frame.base_length
        for side, t in (("left", left), ("right", right)):
            stop = max(near, min([far, *_legs_before(scenario, frame, screen, canopies, t)]))
            yield _Bar("base_bars", f"{side} base bar", (near, t, z), (stop, t, z))


def _legs_before(
    scenario: Scenario, frame: Frame, screen: Screen, canopies: Sequence[Canopy], t: float
) -> Iterator[float]:
    """Where a bar on the floor meets legs: it ends there."""
    if frame.front_support != "legs":
        return
    room = frame.half("legs") + frame.half("base_bars")
    for canopy in canopies:
        lines = _Lines(scenario, frame, screen, canopy)
        if min(abs(side - t) for side in lines.sides()) < room - TAPE:
            yield lines.at(lines.front())[0] - frame.half("legs")


@dataclass(frozen=True)
class _Lines:
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

    def at(self, along: float) -> tuple[float, float]:
        """From the end wall and above the slab, m, so far along the canopy."""
        it, slope = self.canopy, self.canopy.slope
        up = it.thickness / 2.0
        if self.frame.canopy_bars == "above":
            up = it.thickness + max(self.frame.half("side_bars"), self.frame.half("front_bar"))
        s, z = self.screen.gap_behind + it.gap, it.height
        return s + along * cos(slope) - up * sin(slope), z + along * sin(slope) + up * cos(slope)

    def start(self) -> float:
        """Along the canopy, where it leaves the uprights and the top bar, m."""
        out = max(self.frame.half("uprights"), self.frame.half("top_bar"))
        square_end = self.frame.half("side_bars") * abs(tan(self.canopy.slope))
        return (self.screen.gap_behind + out - self.at(0.0)[0]) / cos(self.canopy.slope) + square_end


def _around_canopy(scenario: Scenario, frame: Frame, screen: Screen, canopy: Canopy) -> Iterator[_Bar]:
    """Side bars from the screen's frame to the front, the front bar between them, and what carries the corners."""
    lines = _Lines(scenario, frame, screen, canopy)
    slope, front = canopy.slope, lines.front()
    up = direction(-sin(slope), 0.0, cos(slope))
    (s0, z0), (s1, z1) = lines.at(lines.start()), lines.at(front + frame.tube.size / 2.0)
    s, z = lines.at(front)
    left, right = lines.sides()
    for side, t in (("left", left), ("right", right)):
        yield _Bar("side_bars", f"{side} side bar", (s0, t, z0), (s1, t, z1), up)
        out = max(frame.half("side_bars"), frame.half("front_bar")) / cos(slope)
        out += max(frame.half("legs"), frame.half("hangers")) * abs(tan(slope))
        if frame.front_support == "legs":
            yield _Bar("legs", f"{side} leg", (s, t, 0.0), (s, t, z - out))
        elif frame.front_support == "hangers":
            roof = float(scenario.room.roof_shape().height(s, t)) - _room_for_slope(scenario, frame, s, t)
            yield _Bar("hangers", f"{side} hanger", (s, t, z + out), (s, t, max(roof, z + out)))
    inner = frame.half("side_bars")
    yield _Bar("front_bar", "front bar", (s, left + inner, z), (s, right - inner, z), up)


def _room_for_slope(scenario: Scenario, frame: Frame, s: float, t: float) -> float:
    """How much lower than at its middle line the roof is over a hanger's lowest corner, m."""
    half, roof = frame.half("hangers"), scenario.room.roof_shape()
    corners = [float(roof.height(s + ds, t + dt)) for ds in (-half, half) for dt in (-half, half)]
    return float(roof.height(s, t)) - min(corners)


def _through_walls(scenario: Scenario, key: str, part: Part) -> Iterator[Problem]:
    """An error where a tube stands in a wall, or reaches past the back."""
    show, room = Display(scenario.units).length, scenario.room
    lower, upper = part.shape.bounds()
    (far_s, far_t), (near_s, near_t) = (
        (scenario.tee.from_end_wall - corner[0], scenario.tee.from_left_wall - corner[1]) for corner in (lower, upper)
    )
    for past, wall, fix in (
        (-near_s, "end wall", "a larger gap_behind of the screen, or a thinner tube"),
        (far_s - room.length, "back", "a shorter canopy, or shorter bars on the floor"),
        (-near_t, "left wall", "a narrower screen or canopy, less clearance, or a thinner tube"),
        (far_t - room.width, "right wall", "a narrower screen or canopy, less clearance, or a thinner tube"),
    ):
        if past > TAPE:
            found = f"{part.name} reaches {show(past)} into or past the {wall}"
            yield scenario.problem(key, found, "tubes inside the room", fix)
