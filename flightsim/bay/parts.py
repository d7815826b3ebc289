"""Parts, openings and the bay that they make."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.people import Zone
from flightsim.bay.shapes import ConvexPolygon, Shape

Array = NDArray[np.float64]


IN_CODE = "code"  # the owner of parts that no plugin gives: Python code put them into the bay
UNNAMED_GAP = "gap in the room"  # what a ball left through where no opening is known


class Role(StrEnum):
    """What a part is there for."""

    GUARD = "guard"  # put there to stop a ball: protection
    UNPROTECTED = "unprotected"  # walls, roof, lamps: what must not be hit
    FLOOR = "floor"  # slab, turf, mat


class PartKind(StrEnum):
    """What a part is to whoever draws, checks or changes the bay. It decides nothing of what a ball does."""

    OTHER = "other"
    WALL = "wall"  # a wall or the roof: a surface of the room itself
    FLOOR = "floor"  # the room's own floor
    ROOM = "room"  # more of the room: a mat, doors and windows that are shut, beams
    THING = "thing"  # what stands or hangs in the room and is no protection
    SCREEN = "screen"  # a sheet across the line that shots are aimed at
    OVERHEAD = "overhead"  # from the screen toward the tee, over the way of the balls
    SIDE = "side"  # beside it


OF_THE_ROOM = (PartKind.WALL, PartKind.FLOOR, PartKind.ROOM)


@dataclass(frozen=True)
class Part:
    """Anything a ball can touch.

    name is unique in the bay; facing names what its face is made of; owner is the plugin that gave it; group
    gathers the pieces of one thing for people (the four pieces of a wall with a door are one wall); fragile
    marks glass, lamps and the like; kind: what it is to whoever draws and checks.
    """

    name: str
    shape: Shape
    role: Role
    facing: str
    owner: str
    group: str = ""
    fragile: bool = False
    kind: PartKind = PartKind.OTHER

    @property
    def label(self) -> str:
        """The name of the thing that the part belongs to."""
        return self.group or self.name


@dataclass(frozen=True)
class Opening:
    """Where nothing stops a ball: a flat convex outline, corners `(k, 3)`, m. `normal` `(3,)` points out."""

    name: str
    corners: Array
    normal: Array
    owner: str

    @property
    def shape(self) -> ConvexPolygon:
        """The outline as a sheet."""
        return ConvexPolygon(self.corners)


@dataclass(frozen=True)
class Bay:
    """The room, everything hung in it, and where people are. lower and upper `(3,)`, m: the box that holds the room."""

    parts: tuple[Part, ...]
    openings: tuple[Opening, ...]
    lower: Array
    upper: Array
    zones: tuple[Zone, ...] = ()

    def __post_init__(self) -> None:
        """Names must be unique: ties go by name. Raises ValueError."""
        named: list[Part | Opening | Zone] = [*self.parts, *self.openings, *self.zones]
        twice = sorted(name for name, count in Counter(item.name for item in named).items() if count > 1)
        if twice:
            raise ValueError(f"two parts share a name: {', '.join(twice)}")

    @property
    def ways_out(self) -> list[str]:
        """The names of what a ball can leave the room through: its openings, and last a gap that has no name."""
        return [*(opening.name for opening in self.openings), UNNAMED_GAP]

    def guard_labels(self) -> tuple[str, ...]:
        """The names of what stops balls, each once, sorted."""
        return tuple(sorted({part.label for part in self.parts if part.role is Role.GUARD}))

    def guards_of(self, kind: PartKind) -> tuple[Part, ...]:
        """The guards of one kind."""
        return tuple(part for part in self.parts if part.kind is kind and part.role is Role.GUARD)

    def owned_by(self, owner: str) -> tuple[Part, ...]:
        """The parts that one plugin gave."""
        return tuple(part for part in self.parts if part.owner == owner)
