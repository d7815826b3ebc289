"""A frame as what is cut and what is checked: its steel, what holds it, and what hangs on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from math import dist
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.facings import shipped_facings
from flightsim.making.pieces import Bar, Place
from flightsim.making.strength.joint_checks import fitting_sleeve
from flightsim.making.structure import Anchors, Hold, Hung, Loads, Overhead, Sleeves, Structure
from flightsim.scenario.reading.models import Scenario
from flightsim_plugins.canopy import Canopy
from flightsim_plugins.frame_bar import FrameBar
from flightsim_plugins.frame_bars import CanopyLines, frame_bars
from flightsim_plugins.frame_model import Bars, Frame
from flightsim_plugins.screen import Screen

ROLES: dict[Bars, str] = {
    "uprights": "upright", "top_bar": "top bar", "side_bars": "side bar", "front_bar": "front bar", "legs": "leg",
    "hangers": "hanger", "base_bars": "base bar", "back_bar": "back bar", "ribs": "rib", "wall_bars": "wall bar",
    "braces": "brace",
}  # fmt: skip
PLY, FOAM = 750.0, 30.0  # kg/m3: birch ply, upper end; foam [sheets]
NET, CLOTH = 0.12, 0.6  # kg/m2: upper ends [cloth-values]
ON_BOARDS = 10.0  # kg/m2 that people put on a board (judgement)


def structure_of(scenario: Scenario, frame: Frame, screen: Screen, canopies: Sequence[Canopy]) -> Structure:
    """The frame for its checks."""
    found = frame_bars(scenario, frame, screen, canopies)
    bars = tuple(steel_bar(scenario, frame, bar) for bar in found)
    return Structure(
        frame.name, bars, tuple(_holds(frame, found)), frame.tube.grade, _hung(frame, screen, found, bars),
        tuple(_overhead(scenario, frame, screen, canopy, found) for canopy in canopies), _loads(frame, canopies),
        _anchors(frame), frame.joint.kind, sleeves_of(frame), partial(_remedies, scenario, frame, screen, canopies),
    )  # fmt: skip


def steel_bar(scenario: Scenario, frame: Frame, bar: FrameBar) -> Bar:
    """A bar as it is cut: its steel, under the foam of others to the steel that it meets."""
    start, end = (_place(point) for point in bar.steel(scenario))
    section = frame.tube.as_bought()
    name = f"{frame.name} {bar.name}"
    made = Bar("", name, ROLES[bar.bars], section, 0.0, start, end)
    return Bar("", name, ROLES[bar.bars], section, made.span, start, end)


def _place(point: NDArray[np.float64]) -> Place:
    x, y, z = (float(c) for c in point)
    return x, y, z


def _holds(frame: Frame, bars: Sequence[FrameBar]) -> Iterator[Hold]:
    """Feet on the floor, brackets on the end wall, hangers at the roof."""
    firm = frame.feet == "anchored"
    legs = [bar.start for bar in bars if bar.bars == "legs"]
    near = 1.1 * frame.tube.size + frame.foam_on("legs")
    for bar in bars:
        name = f"{frame.name} {bar.name}"
        if bar.bars in ("uprights", "legs"):
            yield Hold(f"{name} foot", name, "start", "floor", firm)
        elif bar.bars == "base_bars" and not any(dist(bar.end[:2], leg[:2]) <= near for leg in legs):
            yield Hold(f"{name} end", name, "end", "floor", firm)
        elif bar.bars == "hangers":
            yield Hold(f"{name} top", name, "end", "roof", True)
        elif bar.bars == "wall_bars" or (bar.bars == "braces" and "wall brace" in bar.name):
            yield Hold(f"{name} bracket", name, "start", "wall", True)


def _hung(frame: Frame, screen: Screen, found: Sequence[FrameBar], bars: Sequence[Bar]) -> Hung:
    names = {kind: [b.name for f, b in zip(found, bars, strict=True) if f.bars == kind] for kind in ROLES}
    width = next(b.span for b in bars if b.name == names["top_bar"][0]) - 2.0 * frame.clearance
    return Hung(screen.name, names["top_bar"][0], tuple(names["uprights"]), width, screen.height)


def _overhead(scenario: Scenario, frame: Frame, screen: Screen, canopy: Canopy, found: Sequence[FrameBar]) -> Overhead:
    of_canopy = [bar for bar in found if bar.canopy == canopy.name]
    names = {kind: tuple(f"{frame.name} {bar.name}" for bar in of_canopy if bar.bars == kind) for kind in ROLES}
    left, right = CanopyLines(scenario, frame, screen, canopy).sides()
    mass = frame.carries.canopy_mass
    return Overhead(
        canopy.name, names["front_bar"][0], names["side_bars"], right - left, canopy.depth,
        canopy_mass(canopy) if mass is None else mass, canopy.thickness, frame.back_bar, frame.ribs,
    )  # fmt: skip


def canopy_mass(canopy: Canopy) -> float:
    """kg/m2 of a board with the foam of its underside, or of net or cloth, at the upper end of what they weigh."""
    facing = shipped_facings().get(canopy.underside)
    if canopy.thickness == 0.0:
        return NET if canopy.underside == "net" else CLOTH
    foam = facing.foam.thickness if facing is not None and facing.foam is not None else 0.0
    return PLY * canopy.thickness + FOAM * foam


def _loads(frame: Frame, canopies: Sequence[Canopy]) -> Loads:
    carries, boards = frame.carries, any(canopy.thickness > 0.0 for canopy in canopies)
    stored = carries.stored_on_top if carries.stored_on_top is not None else (ON_BOARDS if boards else 0.0)
    return Loads(carries.cord_pull, CLOTH, stored, carries.person, carries.sideways, carries.ball)


def _anchors(frame: Frame) -> Anchors:
    anchors = frame.anchors
    return Anchors(
        anchors.count, anchors.pull_capacity, anchors.shear_capacity, anchors.base_thickness, anchors.base_needed,
        anchors.edge_distance, anchors.edge_needed,
    )  # fmt: skip


def sleeves_of(frame: Frame) -> Sleeves | None:
    """The sleeve given, or the tabled one that fits with the least play; None for welds, and where none fits."""
    joint, tube = frame.joint, frame.tube.as_bought()
    if joint.kind == "welded":
        return None
    size, wall = joint.size, joint.wall
    if size is None or wall is None:
        fits = fitting_sleeve(tube, joint.clearance, joint.fits == "inside")
        if fits is None:
            return None
        size, wall = fits.size, fits.wall
    return Sleeves(size, wall, joint.fits == "inside", joint.overlap, joint.bolt, joint.bolts, joint.clearance)


def _remedies(
    scenario: Scenario, frame: Frame, screen: Screen, canopies: Sequence[Canopy]
) -> Iterator[tuple[str, Structure]]:
    """What an owner may add, the least first: legs, hangers, bars to the wall, braces, and some of them together."""
    wall: dict[str, Any] = {"wall_bars": "braced"}
    legs, hangers = {"front_support": "legs"}, {"front_support": "hangers"}
    arms: dict[str, Any] = {"braces": ("canopy",)}
    base: dict[str, Any] = {"braces": ("canopy", "base", "head")}
    floor: dict[str, Any] = {} if frame.base_length else {"base_length": 0.8}
    ways: list[tuple[str, dict[str, Any]]] = [
        ("wall_bars: braced", wall),
        ("wall_bars: braced and braces: [canopy]", {**wall, **arms}),
        ("front_support: legs and wall_bars: braced", {**legs, **wall}),
        ("front_support: hangers and wall_bars: braced", {**hangers, **wall}),
        ("front_support: legs, braces: [plan] and wall_bars: braced", {**legs, **wall, "braces": ("plan",)}),
        ("front_support: legs, braces: [front] and wall_bars: braced", {**legs, **wall, "braces": ("front",)}),
        ("front_support: legs, braces: [front, plan] and wall_bars: braced",
         {**legs, **wall, "braces": ("front", "plan")}),
        ("bars on the floor (base_length: 0.8 m) and braces: [canopy, base, head]", {**floor, **base}),
        ("front_support: legs and braces: [canopy, front, head]",
         {**legs, "braces": ("canopy", "front", "head")}),
    ]  # fmt: skip
    for words, change in ways:
        braces = tuple(dict.fromkeys((*frame.braces, *change.get("braces", ()))))
        other = frame.model_copy(update={**change, "braces": braces})
        if "head" in braces and other.wall_bars == "braced":
            continue
        yield words, structure_of(scenario, other, screen, canopies)
