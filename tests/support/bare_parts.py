"""Parts and people in a bay without walls, for balls whose way is known in closed form."""

from __future__ import annotations

from bays import part, vector

from flightsim.bay.parts import Bay, Role
from flightsim.bay.people import Zone
from flightsim.bay.shapes import block, rectangle

LOW, HIGH = vector(-3, -3, -3), vector(3, 3, 3)


def box_of(*parts, zones=(), openings=(), low=LOW, high=HIGH) -> Bay:
    """A bay without walls."""
    return Bay(tuple(parts), tuple(openings), low, high, tuple(zones))


def wall(name="wall", x=2.0, role=Role.UNPROTECTED, facing="test"):
    return part(name, rectangle(vector(x, -3, -3), vector(0, 6, 0), vector(0, 0, 6)), role, facing)


def floor(facing="concrete", name="floor", x=(-3, 3), z=0.0, role=Role.FLOOR):
    sheet = rectangle(vector(x[0], -3, z), vector(x[1] - x[0], 0, 0), vector(0, 6, 0))
    return part(name, sheet, role, facing)


def bench(x=(0.5, 1.0), name="bench", person="bench", **own) -> Zone:
    return Zone(name, person, block(vector(x[0], -0.5, -0.5), vector(x[1], 0.5, 0.5)), "test", **own)
