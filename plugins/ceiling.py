"""Ceiling protection: pads on the underside of the roof, and baffles that hang from it."""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, sin
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from flightsim.bay.build import board
from flightsim.bay.facing_words import Facing
from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import Shape
from flightsim.making.pieces import Pieces
from flightsim.plugin.hookspecs import BayPieces, BaySetup, hookimpl
from flightsim.plugin.places import Lean, above_roof, direction, in_axes
from flightsim.scenario.reading.declared import GuardLength
from flightsim.scenario.reading.models import Model, Scenario, Section
from flightsim.scenario.reading.names import Called
from flightsim.scenario.reading.problems import Problem
from flightsim.scenario.reading.quantities import Angle, Distance, Size
from flightsim_plugins.build_flat_pieces import flat_pieces, together
from flightsim_plugins.ceiling_starters import ceiling_starters
from flightsim_plugins.screen_questions import ask_ceiling


class Pad(Model):
    """A padded zone on the underside of the roof; it follows the roof's slope."""

    name: Called = Field(min_length=1, description="what people call it")
    from_end_wall: Distance = Field(description="to its nearer edge, measured level")
    from_left_wall: Distance = Field(description="to its left edge, measured level")
    length: Annotated[Size, GuardLength(stops_more=True, how="long")] = Field(
        description="along the target line, measured level"
    )
    width: Annotated[Size, GuardLength(stops_more=True, how="wide")] = Field(description="across, measured level")
    thickness: Size = Field(description="of the pad, down from the roof")
    facing: Facing = Field("foam", description="what it is made of")


class Baffle(Model):
    """A sheet or board that hangs from the roof, across the target line unless turned."""

    name: Called = Field(min_length=1, description="what people call it")
    from_end_wall: Distance = Field(description="to the left end of its top edge")
    from_left_wall: Distance = Field(description="to the left end of its top edge")
    width: Annotated[Size, GuardLength(stops_more=True, how="wide")] = Field(description="of its top edge")
    drop: Annotated[Size, GuardLength(stops_more=True, most=0.6)] = Field(
        description="top edge to foot, along the baffle"
    )
    top: Size | None = Field(None, description="slab to its top edge; default: it touches the roof")
    thickness: Distance = Field(0.0, description="of a board, from its tee side back; default 0 m, a sheet")
    angle: Lean = Field(0.0, description="from plumb; + swings its foot toward the tee; default 0 deg")
    turn: Angle = Field(0.0, description="0 deg hangs across the line; + brings its right end nearer; default 0 deg")
    facing: Facing = Field("cloth", description="what it is made of")


class Ceiling(Model):
    """What protects the roof, or hangs from it to stop balls."""

    pads: tuple[Pad, ...] = Field((), description="padded zones")
    baffles: tuple[Baffle, ...] = Field((), description="hanging sheets and boards")


@hookimpl
def flightsim_section() -> Section:
    """The section `ceiling`."""
    return Section(
        "ceiling",
        Ceiling,
        "Ceiling pads and hanging baffles",
        owner="ceiling",
        order=70,
        ask=ask_ceiling,
        starters=ceiling_starters,
    )


@hookimpl
def flightsim_parts(context: BaySetup) -> BayPieces:
    """All pads and baffles."""
    parts: list[Part] = []
    problems: list[Problem] = []
    for ceiling in context.entries:
        for pad in ceiling.pads:
            parts += _pad(context.scenario, pad)
        for k, baffle in enumerate(ceiling.baffles):
            part = _baffle(context.scenario, baffle)
            parts.append(part)
            problems += above_roof(context.scenario, f"ceiling.baffles.{k}", part)
    return BayPieces(tuple(parts), (), tuple(problems))


@hookimpl
def flightsim_pieces(context: BaySetup) -> Pieces:
    """The boards of each pad, one a slope of the roof, and the sheets or boards of the baffles."""
    made = []
    for ceiling in context.entries:
        for pad in ceiling.pads:
            for name, corners in _pad_faces(context.scenario, pad):
                along, across = (float(np.linalg.norm(corners[k] - corners[0])) for k in (1, 3))
                made.append(flat_pieces(name, pad.facing, pad.thickness, across, along, "ceiling"))
        made += [flat_pieces(b.name, b.facing, b.thickness, b.width, b.drop, "ceiling") for b in ceiling.baffles]
    return together(*made)


def _pad(scenario: Scenario, pad: Pad) -> Iterator[Part]:
    """The boards of a pad: one for each slope of the roof that it covers."""
    down = np.array([0.0, 0.0, -1.0])
    for name, corners in _pad_faces(scenario, pad):
        shape = board(corners[0], corners[1] - corners[0], corners[3] - corners[0], down, pad.thickness)
        yield Part(name, shape, Role.GUARD, pad.facing, "ceiling", pad.name)


def _pad_faces(scenario: Scenario, pad: Pad) -> Iterator[tuple[str, NDArray[np.float64]]]:
    """Name and corners `(4, 3)` of each slope that it covers; the first to the second runs along the room."""
    lower = (pad.from_end_wall, pad.from_left_wall)
    upper = (pad.from_end_wall + pad.length, pad.from_left_wall + pad.width)
    roof = scenario.room.roof_shape()
    faces = roof.faces(lower, upper)
    for k, face in enumerate(faces, start=1):
        # A ridge lies along or across, so each face is a rectangle in plan: by its ends, free of what clipping rounds.
        (s0, t0), (s1, t1) = face[:, :2].min(axis=0), face[:, :2].max(axis=0)
        plan = np.array([(s0, t0), (s1, t0), (s1, t1), (s0, t1)])
        corners = in_axes(scenario, np.column_stack([plan, roof.height(*plan.T)]))
        yield pad.name if len(faces) == 1 else f"{pad.name}, slope {k}", corners


def _baffle(scenario: Scenario, baffle: Baffle) -> Part:
    ds, dt = sin(baffle.turn), cos(baffle.turn)
    width = baffle.width * direction(ds, dt, 0.0)
    toward_tee = direction(dt, -ds, 0.0)
    drop = baffle.drop * (sin(baffle.angle) * toward_tee + direction(0.0, 0.0, -cos(baffle.angle)))

    def hung(top: float) -> Shape:
        left_end = in_axes(scenario, (baffle.from_end_wall, baffle.from_left_wall, top))
        return board(left_end, width, drop, -toward_tee, baffle.thickness)

    top = baffle.top if baffle.top is not None else _touching(scenario, hung(0.0))
    return Part(baffle.name, hung(top), Role.GUARD, baffle.facing, "ceiling")


def _touching(scenario: Scenario, shape: Shape) -> float:
    """How far to lift a shape, m, until the first of its corners touches the roof's underside."""
    corners = np.concatenate(shape.outlines())
    s, t = scenario.tee.from_end_wall - corners[:, 0], scenario.tee.from_left_wall - corners[:, 1]
    return float((scenario.room.roof_shape().height(s, t) - corners[:, 2]).min())
