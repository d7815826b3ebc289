"""Side nets: a net or stiff panel on either side, each by itself, from the screen toward the tee."""

from __future__ import annotations

from math import cos, sin
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from flightsim.bay.build import board
from flightsim.bay.facing_words import Facing
from flightsim.bay.parts import Part, PartKind, Role
from flightsim.making.pieces import Pieces
from flightsim.plugin.hookspecs import BayPieces, BaySetup, hookimpl
from flightsim.plugin.places import Lean, above_roof, direction, in_axes, mesh_problems
from flightsim.scenario.reading.declared import GuardLength, OneOf
from flightsim.scenario.reading.models import Model, Scenario, Section, Starter
from flightsim.scenario.reading.problems import Problem
from flightsim.scenario.reading.quantities import Distance, Length, Size
from flightsim_plugins.build_flat_pieces import flat_pieces, together
from flightsim_plugins.screen import Screen, the_screen
from flightsim_plugins.screen_questions import ask_side_nets

Side = Literal["left", "right"]
FOOT = 0.02  # m: a new net's foot above the floor


class SideNet(Model):
    """A net or panel on one side."""

    depth: Annotated[Size, GuardLength(stops_more=True, most=3.6, how="deep")] = Field(
        description="from its screen-side edge toward the tee, along the net"
    )
    height: Annotated[Size, GuardLength(stops_more=True, how="high")] = Field(description="foot to top")
    above_floor: Annotated[Distance, GuardLength(stops_more=False, moves=True)] = Field(
        0.0, description="slab to its foot; default 0 m"
    )
    offset: Annotated[Length | None, GuardLength(stops_more=False, moves=True)] = Field(
        None, description="outward from the screen's edge, at the screen end; default 0 m"
    )
    from_wall: Distance | None = Field(
        None, description="from the wall on its side, at the screen end, instead of offset"
    )
    gap: Annotated[Distance, GuardLength(stops_more=False, moves=True)] = Field(
        0.0, description="screen to its screen-side edge; default 0 m"
    )
    angle: Lean = Field(0.0, description="to the target line; + opens toward the tee; default 0 deg")
    kind: Annotated[Literal["net", "panel"], OneOf(("net", "panel"), bought=True, a_thing=True)] = Field(
        "net", description="net, or panel: stiff"
    )
    thickness: Distance = Field(0.0, description="of a panel, outward from its face; default 0 m")
    facing: Facing | None = Field(None, description="what it is made of; default net, or plywood for a panel")
    mesh: Size | None = Field(None, description="clear opening of a net's mesh; practice 25 mm, 20 mm near people")

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if self.offset is not None and self.from_wall is not None:
            raise ValueError("give offset (from the screen's edge) or from_wall, not both")
        if self.kind == "net" and self.thickness > 0.0:
            raise ValueError("a net has no thickness; a panel has")
        if self.kind == "panel" and self.mesh is not None:
            raise ValueError("a panel has no mesh; a net has")
        return self


class SideNets(Model):
    """Side protection; either side may be left out."""

    screen: str | None = Field(None, description="the screen that they belong to, where there are several")
    left: SideNet | None = None
    right: SideNet | None = None


@hookimpl
def flightsim_section() -> Section:
    """The section `side_nets`."""
    return Section(
        "side_nets",
        SideNets,
        "Side nets and panels",
        owner="side_nets",
        order=60,
        ask=ask_side_nets,
        starters=_starters,
    )


def _starters(scenario: Scenario) -> list[Starter]:
    """A net on each side that has none, as high as the screen."""
    screen = next(iter(scenario.entries("screen")), None)
    if screen is None or len(scenario.entries("screen")) > 1:
        return []
    nets = next(iter(scenario.entries("side_nets")), SideNets())
    foot = float(scenario.room.turf_height) + FOOT
    entry = {"depth": 1.5, "height": screen.above_floor + screen.height - foot, "above_floor": foot, "offset": 0.05}
    return [
        Starter(f"a net on the {side}", f"side_nets.{side}", entry)
        for side in ("left", "right")
        if getattr(nets, side) is None
    ]


@hookimpl
def flightsim_parts(context: BaySetup) -> BayPieces:
    """The left and the right one."""
    parts: list[Part] = []
    problems: list[Problem] = []
    for nets in context.entries:
        screen, unclear = the_screen(context.scenario, nets.screen, "side_nets")
        problems += unclear
        nets_given: list[tuple[Side, SideNet | None]] = [("left", nets.left), ("right", nets.right)]
        for side, net in nets_given:
            if net is not None and screen is not None:
                part = _net(context.scenario, net, screen, side)
                parts.append(part)
                problems += above_roof(context.scenario, f"side_nets.{side}", part)
                problems += mesh_problems(context.scenario, f"side_nets.{side}.mesh", net.mesh)
    return BayPieces(tuple(parts), (), tuple(problems))


@hookimpl
def flightsim_pieces(context: BaySetup) -> Pieces:
    """The net or panel of each side."""
    return together(
        *(
            flat_pieces(
                f"{side} side {net.kind}",
                _facing(net),
                net.thickness,
                net.depth,
                net.height,
                "side nets",
                net.mesh,
                net.above_floor,
            )
            for nets in context.entries
            for side, net in (("left", nets.left), ("right", nets.right))
            if net is not None
        )
    )


def _facing(net: SideNet) -> str:
    return net.facing or ("net" if net.kind == "net" else "plywood")


def _net(scenario: Scenario, net: SideNet, screen: Screen, side: Side) -> Part:
    outward = -1.0 if side == "left" else 1.0  # of distance from the left wall
    corner = in_axes(scenario, (screen.gap_behind + net.gap, _start(scenario, net, screen, side), net.above_floor))
    along = net.depth * direction(cos(net.angle), outward * sin(net.angle), 0.0)
    up = direction(0.0, 0.0, net.height)
    shape = board(corner, along, up, direction(0.0, outward, 0.0), net.thickness)
    return Part(f"{side} side {net.kind}", shape, Role.GUARD, _facing(net), "side_nets", kind=PartKind.SIDE)


def _start(scenario: Scenario, net: SideNet, screen: Screen, side: Side) -> float:
    """Distance from the left wall at the screen end, m."""
    left, right = screen.edges(scenario)
    if side == "left":
        return net.from_wall if net.from_wall is not None else left - (net.offset or 0.0)
    return scenario.room.width - net.from_wall if net.from_wall is not None else right + (net.offset or 0.0)
