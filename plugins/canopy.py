"""The canopy: a board or sheet overhead, from the screen toward the tee, that stops steep balls."""

from __future__ import annotations

from math import cos, sin
from typing import Annotated

import numpy as np
from pydantic import Field

from flightsim.bay.build import board
from flightsim.bay.facing_words import Facing
from flightsim.bay.parts import Part, PartKind, Role
from flightsim.making.pieces import Pieces
from flightsim.plugin.hookspecs import BayPieces, BaySetup, hookimpl
from flightsim.plugin.places import Lean, above_roof, direction, entry_key, in_axes
from flightsim.scenario.reading.declared import GuardLength
from flightsim.scenario.reading.models import Model, Scenario, Section, Starter
from flightsim.scenario.reading.names import Called
from flightsim.scenario.reading.problems import Problem
from flightsim.scenario.reading.quantities import Distance, Size
from flightsim_plugins.build_flat_pieces import flat_pieces, together
from flightsim_plugins.screen import Screen, the_screen
from flightsim_plugins.screen_questions import ask_canopy


class Canopy(Model):
    """A canopy: it starts at the screen and reaches toward the tee."""

    name: Called = Field("canopy", min_length=1, description="what people call it; needed where there are several")
    screen: str | None = Field(None, description="the screen that it belongs to, where there are several")
    depth: Annotated[Size, GuardLength(stops_more=True, least=0.5, most=1.5, common=1.0, how="deep")] = Field(
        description="from its screen-side edge toward the tee, along the board"
    )
    height: Annotated[Size, GuardLength(stops_more=True, least=2.1, how="high", moves=True)] = Field(
        description="slab to its underside, at the screen-side edge"
    )
    slope: Lean = Field(0.0, description="0 deg is level; + rises toward the tee; default 0 deg")
    gap: Annotated[Distance, GuardLength(stops_more=False, moves=True)] = Field(
        0.0, description="screen to its screen-side edge; default 0 m"
    )
    side_overhang: Annotated[Distance, GuardLength(stops_more=True, most=0.6)] = Field(
        0.0, description="past each edge of the screen; default 0 m"
    )
    front_lip: Annotated[Distance, GuardLength(stops_more=True, most=0.2)] = Field(
        0.0, description="drop of a board that hangs from the front edge; default none"
    )
    thickness: Distance = Field(0.0, description="of the board; default 0 m, a sheet of cloth or net")
    underside: Facing = Field("foam on plywood", description="what faces the ball")


@hookimpl
def flightsim_section() -> Section:
    """The section `canopy`."""
    return Section(
        "canopy",
        Canopy,
        "Overhead canopies",
        owner="canopy",
        several=True,
        order=50,
        ask=ask_canopy,
        starters=_starters,
    )


def _starters(scenario: Scenario) -> list[Starter]:
    """A net overhead where there is none, just above the screen."""
    screens = scenario.entries("screen")
    if len(screens) != 1 or scenario.entries("canopy"):
        return []
    top = max(screens[0].above_floor + screens[0].height + 0.05, 2.1)
    entry = {"depth": 1.0, "height": top, "side_overhang": 0.05, "underside": "net"}
    return [Starter("a canopy", "canopy", entry)]


@hookimpl
def flightsim_parts(context: BaySetup) -> BayPieces:
    """Each canopy and its lip."""
    parts: list[Part] = []
    problems: list[Problem] = []
    for k, canopy in enumerate(context.entries):
        key = entry_key(context.scenario, "canopy", k)
        screen, unclear = the_screen(context.scenario, canopy.screen, key)
        problems += unclear
        if screen is not None:
            of_canopy = _canopy(context.scenario, canopy, screen)
            parts += of_canopy
            problems += above_roof(context.scenario, key, of_canopy[0])
            problems += _lip_too_long(context.scenario, canopy, key)
    return BayPieces(tuple(parts), (), tuple(problems))


@hookimpl
def flightsim_pieces(context: BaySetup) -> Pieces:
    """The boards, nets or sheets of each canopy and its lip."""
    return together(*(_pieces(context.scenario, canopy) for canopy in context.entries))


def _pieces(scenario: Scenario, canopy: Canopy) -> Pieces:
    screen, _ = the_screen(scenario, canopy.screen, "canopy")
    if screen is None:
        return Pieces()
    left, right = screen.edges(scenario)
    width = right - left + 2.0 * canopy.side_overhang
    flat = [(canopy.name, canopy.depth), (f"{canopy.name} lip", canopy.front_lip)]
    made = [
        flat_pieces(name, canopy.underside, canopy.thickness, width, height, canopy.name)
        for name, height in flat
        if height > 0.0
    ]
    return together(*made)


def _canopy(scenario: Scenario, canopy: Canopy, screen: Screen) -> list[Part]:
    left, right = screen.edges(scenario)
    left, right = left - canopy.side_overhang, right + canopy.side_overhang
    back = in_axes(scenario, (screen.gap_behind + canopy.gap, left, canopy.height))
    toward_tee = canopy.depth * direction(cos(canopy.slope), 0.0, sin(canopy.slope))
    across = direction(0.0, right - left, 0.0)
    up = np.array([0.0, 0.0, 1.0])
    shapes = [(canopy.name, board(back, toward_tee, across, up, canopy.thickness))]
    if canopy.front_lip > 0.0:
        drop = direction(0.0, 0.0, -canopy.front_lip)
        toward_screen = direction(-1.0, 0.0, 0.0)
        lip = board(back + toward_tee, across, drop, toward_screen, canopy.thickness)
        shapes.append((f"{canopy.name} lip", lip))
    return [
        Part(name, shape, Role.GUARD, canopy.underside, "canopy", canopy.name, kind=PartKind.OVERHEAD)
        for name, shape in shapes
    ]


def _lip_too_long(scenario: Scenario, canopy: Canopy, key: str) -> list[Problem]:
    foot = canopy.height + canopy.depth * sin(canopy.slope) - canopy.front_lip
    if canopy.front_lip == 0.0 or foot > scenario.ground_height:
        return []
    return [scenario.problem(f"{key}.front_lip", "the lip hangs down to the floor", "a lip above the player's ball")]
