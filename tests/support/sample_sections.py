"""Small sections of a scenario file, for tests of the loader that need no plugin."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, model_validator

from flightsim.scenario.reading.load import load_scenario
from flightsim.scenario.reading.models import Model, Scenario, Section
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.quantities import Angle, Distance, Size

CHOICES = {"aero": ("naruo2004", "ferguson2022"), "ball.preset": ("legal", "foam")}


class Flat(Model):
    kind: Literal["flat"]
    height: Size = Field(description="slab to the roof")


class Gable(Model):
    kind: Literal["gable"]
    eaves_height: Size
    ridge: Literal["along", "across"] = "along"


class Door(Model):
    name: str
    closed: bool = False
    width: Size


class Room(Model):
    length: Size
    width: Size
    roof: Annotated[Flat | Gable, Field(discriminator="kind")]
    back: Literal["wall", "open"] = "wall"
    turf_height: Distance = 0.0
    openings: tuple[Door, ...] = ()

    @model_validator(mode="after")
    def _long_enough(self) -> Room:
        if self.length < 1.0:
            raise ValueError("nobody can swing in there")
        return self


class Screen(Model):
    name: str = "screen"
    gap_behind: Distance
    width: Size | Literal["full"] = "full"


class Canopy(Model):
    name: str = "canopy"
    depth: Size
    slope: Angle = 0.0
    layers: int = Field(1, ge=1, le=5)
    weight: float = Field(1.0, gt=0.0)


class Pipe(Model):
    name: str
    start: Distance | None = Field(None, alias="from")


SECTIONS = (
    Section("room", Room, "The room", "room", required=True, order=10, room=True),
    Section("pipes", Pipe, "Pipes", "pipes", several=True, order=30),
    Section("screen", Screen, "Screens", "screen", several=True, order=40),
    Section("canopy", Canopy, "Canopies", "canopy", several=True, order=50),
)

GOOD = """\
name: Shed
units: metric
room:
  length: 6.2 m
  width: 3.4 m
  roof: {kind: flat, height: 2.55 m}
tee:
  from_end_wall: 3.7 m
  from_left_wall: 1.65 m
screen:
  gap_behind: 300 mm
canopy:
  - {depth: 1.4 m}
  - {name: front, depth: 800 mm}
"""


def load(folder: Path, text: str | bytes, *sets: str) -> Scenario:
    """Load a scenario of this text with the sample sections."""
    path = folder / "bay.yaml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return load_scenario(path, SECTIONS, sets, CHOICES)


def problems(folder: Path, text: str | bytes, *sets: str) -> list[tuple[int | None, str, str, str, str]]:
    """Line, key, found, allowed and fix of every problem; none when it loads."""
    try:
        load(folder, text, *sets)
    except ScenarioError as error:
        return [(p.line, p.key, p.found, p.allowed, p.fix) for p in error.problems]
    return []


def changed(old: str, new: str) -> str:
    """The good scenario with one piece of text changed."""
    assert GOOD.count(old) == 1, old
    return GOOD.replace(old, new)
