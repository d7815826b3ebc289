"""What the bundled plugins make of a scenario's text: pieces, their places, and what is told of them."""

from __future__ import annotations

from flightsim.bay.parts import Part
from flightsim.plugin.hookspecs import BayPieces
from flightsim.plugin.testing import scenario_of, with_plugins
from flightsim.scenario.reading.problems import Severity

PLUGINS = with_plugins()

ROOM = """\
name: Test
units: metric
room: {length: 6 m, width: 3.4 m, roof: {kind: flat, height: 2.7 m}}
tee: {from_end_wall: 3.6 m, from_left_wall: 1.5 m}
"""
SCREEN = "screen: {width: 2.8 m, height: 2.2 m, gap_behind: 350 mm, above_floor: 50 mm}\n"


def pieces_of(text: str) -> BayPieces:
    return PLUGINS.parts(scenario_of(text, PLUGINS))


def named(pieces: BayPieces, name: str) -> Part:
    (part,) = [part for part in pieces.parts if part.name == name]
    return part


def bounds(pieces: BayPieces, name: str) -> list[float]:
    lower, upper = named(pieces, name).shape.bounds()
    return [*lower, *upper]


def errors(pieces: BayPieces) -> list[str]:
    return [f"{p.key}: {p.found}" for p in pieces.problems if p.severity is Severity.ERROR]


def warnings(pieces: BayPieces) -> list[str]:
    return [f"{p.key}: {p.found}" for p in pieces.problems if p.severity is Severity.WARNING]
