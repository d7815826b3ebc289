"""Obstacles: boxes and tubes by name. Lamps, heater, projector, sensor, door rails, opener, pipes, sprinklers."""

from __future__ import annotations

from typing import Annotated, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from flightsim.bay.facing_words import Facing
from flightsim.bay.parts import Part, PartKind, Role
from flightsim.bay.shapes import RoundTube, Shape, block, square_tube
from flightsim.plugin.hookspecs import BayPieces, BaySetup, hookimpl
from flightsim.plugin.places import above_roof, entry_key, in_axes
from flightsim.scenario.reading.declared import FacingOfAThing
from flightsim.scenario.reading.models import Model, Scenario, Section
from flightsim.scenario.reading.names import Called
from flightsim.scenario.reading.problems import Problem, Severity
from flightsim.scenario.reading.quantities import Distance, Size
from flightsim_plugins.screen_questions import ask_obstacles


class Place(Model):
    """A point in the room."""

    from_end_wall: Distance = Field(description="end wall to the point")
    from_left_wall: Distance = Field(description="left wall to the point")
    above_floor: Distance = Field(description="slab to the point")


_BOX = ("from_end_wall", "from_left_wall", "above_floor", "length", "width", "height")
_TUBE = ("diameter", "start", "end")


class Obstacle(Model):
    """A box (place and size) or a tube (section, diameter, and the ends of its middle line)."""

    name: Called = Field(min_length=1, description="what people call it")
    kind: Literal["box", "tube"] = Field(description="box: a place and its sizes; tube: its two ends")
    from_end_wall: Distance | None = Field(None, description="of a box: to its nearest side")
    from_left_wall: Distance | None = Field(None, description="of a box: to its left side")
    above_floor: Distance | None = Field(None, description="of a box: slab to its underside")
    length: Size | None = Field(None, description="of a box: along the target line")
    width: Size | None = Field(None, description="of a box: across")
    height: Size | None = Field(None, description="of a box: upward")
    section: Literal["round", "square"] = Field("round", description="of a tube")
    diameter: Size | None = Field(None, description="of a tube: outside, or the outside width of a square one")
    corner_radius: Distance = Field(0.0, description="of a square tube's outer edges; default sharp")
    start: Place | None = Field(None, alias="from", description="of a tube: one end of its middle line")
    end: Place | None = Field(None, alias="to", description="of a tube: the other end")
    fragile: bool = Field(False, description="breaks when hit; glass always does")
    facing: Annotated[Facing, FacingOfAThing()] = Field("steel", description="what it is made of")

    @model_validator(mode="after")
    def _complete(self) -> Self:
        needed, foreign = (_BOX, _TUBE) if self.kind == "box" else (_TUBE, _BOX)
        missing = [_spelt(name) for name in needed if getattr(self, name) is None]
        extra = [_spelt(name) for name in foreign if getattr(self, name) is not None]
        if missing:
            raise ValueError(f"a {self.kind} also needs {', '.join(missing)}")
        if extra:
            raise ValueError(f"a {self.kind} has no {', '.join(extra)}")
        if self.start is not None and self.start == self.end:
            raise ValueError("a tube's two ends must differ")
        if self.diameter is not None and self.corner_radius > self.diameter / 2.0:
            raise ValueError("a tube's corner_radius can be half its diameter at most")
        return self


@hookimpl
def flightsim_section() -> Section:
    """The section `obstacles`."""
    return Section(
        "obstacles", Obstacle, "Lamps, openers, pipes", owner="obstacles", several=True, order=30, ask=ask_obstacles
    )


@hookimpl
def flightsim_parts(context: BaySetup) -> BayPieces:
    """One part an obstacle."""
    parts = [_part(context.scenario, obstacle) for obstacle in context.entries]
    problems: list[Problem] = []
    for k, part in enumerate(parts):
        key = entry_key(context.scenario, "obstacles", k)
        problems += above_roof(context.scenario, key, part, Severity.WARNING)
    return BayPieces(tuple(parts), (), tuple(problems))


def _part(scenario: Scenario, obstacle: Obstacle) -> Part:
    shape = _box(scenario, obstacle) if obstacle.kind == "box" else _tube(scenario, obstacle)
    return Part(
        obstacle.name,
        shape,
        Role.UNPROTECTED,
        obstacle.facing,
        "obstacles",
        "",
        obstacle.fragile or obstacle.facing == "glass",
        PartKind.THING,
    )


def _box(scenario: Scenario, obstacle: Obstacle) -> Shape:
    near = np.array([obstacle.from_end_wall, obstacle.from_left_wall, obstacle.above_floor], dtype=np.float64)
    far = near + np.array([obstacle.length, obstacle.width, obstacle.height], dtype=np.float64)
    corners = in_axes(scenario, [near, far])
    return block(corners.min(axis=0), corners.max(axis=0))


def _tube(scenario: Scenario, obstacle: Obstacle) -> Shape:
    assert obstacle.start is not None
    assert obstacle.end is not None
    assert obstacle.diameter is not None
    ends = [(p.from_end_wall, p.from_left_wall, p.above_floor) for p in (obstacle.start, obstacle.end)]
    start, end = in_axes(scenario, ends)
    if obstacle.section == "round":
        return RoundTube(start, end, obstacle.diameter / 2.0)
    return square_tube(start, end, obstacle.diameter, obstacle.corner_radius)


def _spelt(name: str) -> str:
    return {"start": "from", "end": "to"}.get(name, name)
