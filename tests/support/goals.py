"""Small frames that can be worked out by hand: two posts and a bar, with or without arms."""

from __future__ import annotations

from dataclasses import replace

from flightsim.making.pieces import Bar, Place, TubeSection
from flightsim.making.strength.sizes import tube
from flightsim.making.structure import Hold, Hung, Loads, Overhead, Structure

TUBE = tube("square", 0.050, 0.0025)
WIDTH, HEIGHT, ARM = 3.0, 2.4, 1.0
QUIET = Loads(cord_pull=0.0, cloth=0.0, stored=0.0, person=0.0, sideways=0.0, ball=0.0)


def bar(name: str, start: Place, end: Place, section: TubeSection = TUBE) -> Bar:
    role = name.removeprefix("left ").removeprefix("right ")
    made = Bar("", name, role, section, 0.0, start, end)
    return replace(made, length=made.span)


def goal(loads: Loads = QUIET, section: TubeSection = TUBE, anchored: bool = True) -> Structure:
    """Two posts 3 m apart and a bar between them, their feet on the floor; x is 0."""
    half, side = section.size / 2.0, WIDTH / 2.0
    bars = (
        bar("left upright", (0.0, side, 0.0), (0.0, side, HEIGHT + half), section),
        bar("right upright", (0.0, -side, 0.0), (0.0, -side, HEIGHT + half), section),
        bar("top bar", (0.0, side - half, HEIGHT), (0.0, half - side, HEIGHT), section),
    )
    holds = tuple(Hold(f"{name} foot", name, "start", "floor", anchored) for name in ("left upright", "right upright"))
    screen = Hung("screen", "top bar", ("left upright", "right upright"), WIDTH - 0.15, HEIGHT - 0.1)
    return Structure("goal", bars, holds, "S235", screen, loads=loads, joining="welded")


def bracketed(structure: Structure) -> Structure:
    """The same with bars of 0.4 m from the tops of its posts to the wall, and slanting ones."""
    side, half = WIDTH / 2.0, structure.bars[0].section.size / 2.0
    section = structure.bars[0].section
    more, holds = [], []
    for name, way in (("left", 1.0), ("right", -1.0)):
        more.append(bar(f"{name} wall bar", (0.4, way * side, HEIGHT), (half, way * side, HEIGHT), section))
        near = way * (side - 0.1)
        slant = bar(f"{name} brace", (0.4, near, HEIGHT), (half, near - way * (0.4 - half), HEIGHT), section)
        more.append(slant)
        holds += [Hold(f"{name} bracket", f"{name} wall bar", "start", "wall", True),
                  Hold(f"{name} brace bracket", f"{name} brace", "start", "wall", True)]  # fmt: skip
    return replace(structure, bars=(*structure.bars, *more), holds=(*structure.holds, *holds))


def with_arms(structure: Structure, mass: float = 0.0) -> Structure:
    """The same with two arms of 1 m toward the tee and a bar between their ends, under a canopy of this mass, kg/m2."""
    section, half = structure.bars[0].section, structure.bars[0].section.size / 2.0
    side = WIDTH / 2.0
    arms = tuple(
        bar(f"{name} side bar", (-half, way * side, HEIGHT), (-ARM, way * side, HEIGHT), section)
        for name, way in (("left", 1.0), ("right", -1.0))
    )
    front = bar("front bar", (half - ARM, side - half, HEIGHT), (half - ARM, half - side, HEIGHT), section)
    canopy = Overhead("canopy", "front bar", tuple(arm.name for arm in arms), WIDTH, ARM, mass)
    return replace(structure, bars=(*structure.bars, *arms, front), canopies=(canopy,))
