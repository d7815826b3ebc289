"""The room: slab or turf, walls with their doorways and windows, the roof, and the hitting mat."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Annotated, Literal, Self

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from flightsim.bay.build import sheet
from flightsim.bay.facing_words import Facing
from flightsim.bay.parts import Opening, Part, PartKind, Role
from flightsim.bay.roof import Roof, flat_roof, gable_roof, sloping_roof
from flightsim.bay.shapes import Shape, block
from flightsim.bay.walls import Hole, area, cut, inside
from flightsim.making.pieces import FloorPiece, Pieces
from flightsim.plugin.hookspecs import BayPieces, BaySetup, hookimpl
from flightsim.plugin.places import in_axes
from flightsim.scenario.reading.declared import MayBeShut
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Model, Scenario, Section, Starter
from flightsim.scenario.reading.names import Called
from flightsim.scenario.reading.problems import Problem
from flightsim.scenario.reading.quantities import Distance, Size
from flightsim_plugins.room_questions import ask_room

Array = NDArray[np.float64]
WallName = Literal["left", "right", "end", "back"]


class FlatRoof(Model):
    """A roof at one height."""

    kind: Literal["flat"]
    height: Size = Field(description="slab to the lowest covering of the roof")
    facing: Facing = Field("gypsum", description="what its underside is made of")


class SingleSlopeRoof(Model):
    """A roof that falls one way: give left_height and right_height, or end_height and back_height."""

    kind: Literal["single_slope"]
    left_height: Size | None = Field(None, description="at the left wall")
    right_height: Size | None = Field(None, description="at the right wall")
    end_height: Size | None = Field(None, description="at the end wall")
    back_height: Size | None = Field(None, description="at the back")
    facing: Facing = Field("gypsum", description="what its underside is made of")

    @model_validator(mode="after")
    def _one_pair(self) -> Self:
        across, along = (self.left_height, self.right_height), (self.end_height, self.back_height)
        if sorted((across.count(None), along.count(None))) != [0, 2]:
            raise ValueError("a single-slope roof needs left_height and right_height, or end_height and back_height")
        return self


class TieBeams(Model):
    """Beams from eaves to eaves: across the room when the ridge lies along it, else along the room."""

    height: Size = Field(description="slab to the underside of the beams")
    width: Size = Field(description="of one beam, seen from below")
    depth: Size = Field(description="of one beam, from its underside up")
    from_end_wall: tuple[Distance, ...] = Field((), description="to each beam's middle (ridge along the room)")
    from_left_wall: tuple[Distance, ...] = Field((), description="to each beam's middle (ridge across the room)")
    facing: Facing = Field("timber", description="what they are made of")


class GableRoof(Model):
    """Two slopes and a ridge in the middle, along the room (toward the screen) or across it."""

    kind: Literal["gable"]
    ridge: Literal["along", "across"] = Field(description="along the room, toward the screen, or across it")
    eaves_height: Size = Field(description="slab to the roof's underside at the eaves")
    ridge_height: Size = Field(description="slab to the roof's underside at the ridge")
    tie_beams: TieBeams | None = None
    facing: Facing = Field("timber", description="what its underside is made of")

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if self.ridge_height <= self.eaves_height:
            raise ValueError("a gable's ridge_height must be more than its eaves_height")
        right, wrong = "from_end_wall", "from_left_wall"
        if self.ridge == "across":
            right, wrong = wrong, right
        if self.tie_beams is None:
            return self
        if getattr(self.tie_beams, wrong) or not getattr(self.tie_beams, right):
            raise ValueError(f"tie beams under a ridge that lies {self.ridge} the room are placed by {right}: [1.2 m]")
        if self.tie_beams.height >= self.ridge_height:
            raise ValueError("the tie beams' height must be less than the ridge_height")
        return self


class RoomOpening(Model):
    """A doorway or window: a hole that balls fly out of, or, when closed, a part of the wall."""

    name: Called = Field(min_length=1, description="what people call it: side door")
    wall: WallName = Field(description="which wall it is in, as the player faces the screen")
    from_end_wall: Distance | None = Field(None, description="to its nearer edge, in the left or right wall")
    from_left_wall: Distance | None = Field(None, description="to its nearer edge, in the end or back wall")
    width: Size = Field(description="along the wall")
    height: Size = Field(description="lower edge to upper edge")
    sill: Distance = Field(0.0, description="slab to its lower edge; default 0 m")
    closed: Annotated[bool, MayBeShut()] = Field(
        False, description="true: shut or glazed, and stays so while balls are hit"
    )
    facing: Facing = Field("timber", description="what it is made of, when closed")
    fragile: bool = Field(False, description="breaks when hit; glass always does")

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        wanted, other = "from_end_wall", "from_left_wall"
        if self.wall in ("end", "back"):
            wanted, other = other, wanted
        if getattr(self, wanted) is None or getattr(self, other) is not None:
            raise ValueError(f"an opening in the {self.wall} wall needs {wanted}, and no {other}")
        return self

    def hole(self) -> Hole:
        """The rectangle in the wall's own plane: along the wall by the tape, and up."""
        start = float(self.from_end_wall if self.from_end_wall is not None else self.from_left_wall or 0.0)
        return Hole(self.name, (start, self.sill), (start + self.width, self.sill + self.height))


class Room(Model):
    """The room, measured inside: walls, floor and roof as the ball meets them."""

    length: Size = Field(description="end wall (behind the screen) to the back")
    width: Size = Field(description="left wall to right wall")
    roof: FlatRoof | SingleSlopeRoof | GableRoof = Field(
        discriminator="kind", description="flat, single_slope or gable, with the heights of its kind"
    )
    back: Literal["wall", "open"] = Field("wall", description="what is behind the player")
    turf_height: Distance = Field(0.0, description="slab to the top of the turf all over the floor; default none")
    openings: tuple[RoomOpening, ...] = Field((), description="doorways and windows")
    wall_facing: Facing = Field("brick", description="what the walls are made of")
    floor_facing: Facing = Field("concrete", description="what the slab is made of; turf is turf")

    def roof_shape(self) -> Roof:
        """The underside of the roof."""
        roof = self.roof
        if isinstance(roof, FlatRoof):
            return flat_roof(roof.height)
        if isinstance(roof, GableRoof):
            axis = 0 if roof.ridge == "along" else 1
            return gable_roof((self.width, self.length)[axis], roof.eaves_height, roof.ridge_height, axis)
        if roof.left_height is not None and roof.right_height is not None:
            return sloping_roof(self.width, roof.left_height, roof.right_height, 1)
        return sloping_roof(self.length, roof.end_height or 0.0, roof.back_height or 0.0, 0)

    def in_words(self, show: Callable[[float], str]) -> str:
        """`6.40 m long, 3.20 m wide, flat roof at 2.55 m, closed at the back`."""
        roof = self.roof
        heights = {
            name.removesuffix("height").strip("_"): show(value)
            for name, value in vars(roof).items()
            if name.endswith("height") and value is not None
        }
        kind = f"{roof.kind.replace('_', '-')} roof"
        roof_words = (
            f"{kind} at {heights['']}"
            if list(heights) == [""]
            else ", ".join([kind, *(f"{name} {height}" for name, height in heights.items())])
        )
        back = "open at the back" if self.back == "open" else "closed at the back"
        return f"{show(self.length)} long, {show(self.width)} wide, {roof_words}, {back}"

    def walls(self) -> dict[WallName, tuple[tuple[float, float], tuple[float, float]]]:
        """Start and end (s, t) of each wall, as the tape runs along it."""
        length, width = self.length, self.width
        return {
            "left": ((0.0, 0.0), (length, 0.0)),
            "right": ((0.0, width), (length, width)),
            "end": ((0.0, 0.0), (0.0, width)),
            "back": ((length, 0.0), (length, width)),
        }


_OUTWARD: dict[WallName, tuple[float, float, float]] = {
    "left": (0.0, 1.0, 0.0),
    "right": (0.0, -1.0, 0.0),
    "end": (1.0, 0.0, 0.0),
    "back": (-1.0, 0.0, 0.0),
}

SOFT_FLOORS = ("turf", "rubber", "foam", "carpet")  # what a ball does not come off as off a slab
TURF = 0.02  # m: of turf on its backing (common practice, no source)
LEAST_TURF = 0.01  # m

SURFACES = {
    **dict.fromkeys(("end wall", "left wall", "right wall", "back wall", "roof"), PartKind.WALL),
    **dict.fromkeys(("slab", "turf"), PartKind.FLOOR),
}


@hookimpl
def flightsim_section() -> Section:
    """The section `room`."""
    return Section(
        "room", Room, "The room, measured inside", owner="room", required=True, order=10, ask=ask_room, room=True,
        starters=_starters,
    )  # fmt: skip


def _starters(scenario: Scenario) -> list[Starter]:
    """Turf on a hard floor that has none; no higher than the mat, which is let into it."""
    room: Room = scenario.entries("room")[0]
    if room.turf_height > 0.0 or room.floor_facing in SOFT_FLOORS:
        return []
    height = TURF if scenario.tee.mat is None else min(TURF, scenario.tee.mat.height // LEAST_TURF * LEAST_TURF)
    return [Starter("turf all over the floor", "room.turf_height", height)] if height >= LEAST_TURF else []


@hookimpl
def flightsim_parts(context: BaySetup) -> BayPieces:
    """Floor, walls, roof, beams and mat; doorways, windows and the open back."""
    scenario, room = context.scenario, context.entries[0]
    parts, openings = list(_floor(scenario, room)), []
    for wall in room.walls():
        pieces, holes = _wall(scenario, room, wall)
        parts += pieces
        openings += holes
    parts += [*_roof(scenario, room), *_tie_beams(scenario, room)]
    corners = in_axes(scenario, [(0.0, 0.0, 0.0), (room.length, room.width, 0.0)])
    highest = max(float(face[:, 2].max()) for face in room.roof_shape().faces((0.0, 0.0), (room.length, room.width)))
    bounds = np.array([*corners[1, :2], 0.0]), np.array([*corners[0, :2], highest])
    problems = [*_mat_problems(scenario, room), *_opening_problems(scenario, room), *_beam_problems(scenario, room)]
    return BayPieces(tuple(parts), tuple(openings), tuple(problems), bounds)


@hookimpl
def flightsim_pieces(context: BaySetup) -> Pieces:
    """What is laid on the slab: turf all over, and the mat, let into it."""
    scenario, room = context.scenario, context.entries[0]
    laid = []
    if room.turf_height > 0.0:
        x, y, _ = in_axes(scenario, (room.length, room.width, 0.0))
        laid.append(FloorPiece("turf", "turf", float(x), float(y), room.length, room.width, room.turf_height))
    for part in _floor(scenario, room):
        if part.name == "mat":
            (x, y, _), (far, left, top) = part.shape.bounds()
            laid.append(FloorPiece("mat", "mat", float(x), float(y), float(far - x), float(left - y), float(top)))
    return Pieces(floor=tuple(laid))


def _part(name: str, shape: Shape, role: Role, facing: str, group: str = "", fragile: bool = False) -> Part:
    kind = SURFACES.get(group or name, PartKind.ROOM)
    return Part(name, shape, role, facing, "room", group or name, fragile or facing == "glass", kind)


def _floor(scenario: Scenario, room: Room) -> Iterator[Part]:
    corners = [(0.0, 0.0), (room.length, 0.0), (room.length, room.width), (0.0, room.width)]
    name, facing = ("turf", "turf") if room.turf_height > 0.0 else ("slab", room.floor_facing)
    places = [(s, t, room.turf_height) for s, t in corners]
    yield _part(name, sheet(in_axes(scenario, places)), Role.FLOOR, facing)
    mat = scenario.tee.mat
    if mat is not None and mat.height > 0.0:
        corner = np.array([mat.length / 2.0, mat.width / 2.0, mat.height])
        yield _part("mat", block(corner * (-1.0, -1.0, 0.0), corner), Role.FLOOR, "turf")


def _wall(scenario: Scenario, room: Room, wall: WallName) -> tuple[list[Part], list[Opening]]:
    start, end = room.walls()[wall]
    outline = room.roof_shape().wall(start, end)
    outward = np.array(_OUTWARD[wall])

    def placed(flat: Array) -> Array:
        share = flat[:, :1] / np.hypot(*np.subtract(end, start))
        return in_axes(scenario, np.column_stack([start + share * np.subtract(end, start), flat[:, 1]]))

    if wall == "back" and room.back == "open":
        return [], [Opening("open back", placed(outline), outward, "room")]
    openings = [opening for opening in room.openings if opening.wall == wall]
    parts, holes, name = [], [], f"{wall} wall"
    for piece in cut(outline, [opening.hole() for opening in openings]):
        shape = sheet(placed(piece.outline))
        parts.append(_part(f"{name} {piece.where}".rstrip(), shape, Role.UNPROTECTED, room.wall_facing, name))
    for opening in openings:
        hole = inside(outline, opening.hole())
        if len(hole) and opening.closed:
            shape = sheet(placed(hole))
            parts.append(_part(opening.name, shape, Role.UNPROTECTED, opening.facing, "", opening.fragile))
        elif len(hole):
            holes.append(Opening(opening.name, placed(hole), outward, "room"))
    return parts, holes


def _roof(scenario: Scenario, room: Room) -> Iterator[Part]:
    faces = room.roof_shape().faces((0.0, 0.0), (room.length, room.width))
    names = ["roof"]
    if isinstance(room.roof, GableRoof):
        names = ["roof left", "roof right"] if room.roof.ridge == "along" else ["roof screen side", "roof back side"]
    for name, face in zip(names, faces, strict=True):
        yield _part(name, sheet(in_axes(scenario, face)), Role.UNPROTECTED, room.roof.facing, "roof")


def _tie_beams(scenario: Scenario, room: Room) -> Iterator[Part]:
    beams = room.roof.tie_beams if isinstance(room.roof, GableRoof) else None
    if beams is None or not isinstance(room.roof, GableRoof):
        return
    along = room.roof.ridge == "along"
    span = room.width if along else room.length
    # Above the eaves a beam ends where the roof comes down to its underside.
    rise = max(0.0, beams.height - room.roof.eaves_height)
    start = rise * (span / 2.0) / (room.roof.ridge_height - room.roof.eaves_height)
    for k, middle in enumerate(beams.from_end_wall if along else beams.from_left_wall, start=1):
        near, far = (middle - beams.width / 2.0, start), (middle + beams.width / 2.0, span - start)
        heights = (beams.height, beams.height + beams.depth)
        corners = [(*(p if along else p[::-1]), z) for p, z in zip((near, far), heights, strict=True)]
        lower, upper = np.sort(in_axes(scenario, corners), axis=0)
        yield _part(f"tie beam {k}", block(lower, upper), Role.UNPROTECTED, beams.facing, "tie beams")


def _mat_problems(scenario: Scenario, room: Room) -> Iterator[Problem]:
    mat, show = scenario.tee.mat, Display(scenario.units).length
    if mat is not None and mat.height < room.turf_height:
        found = f"the mat's top ({show(mat.height)}) lies below the turf's ({show(room.turf_height)})"
        yield scenario.problem("tee.mat.height", found, "measured from the slab, like turf_height")


def _beam_problems(scenario: Scenario, room: Room) -> Iterator[Problem]:
    beams = room.roof.tie_beams if isinstance(room.roof, GableRoof) else None
    if beams is None:
        return
    show = Display(scenario.units).length
    for places, tape, size in (
        (beams.from_end_wall, "from_end_wall", room.length),
        (beams.from_left_wall, "from_left_wall", room.width),
    ):
        for k, middle in enumerate(places):
            if middle > size:
                key = f"room.roof.tie_beams.{tape}.{k}"
                yield scenario.problem(key, f"a tie beam {show(middle)} off, outside the room", f"at most {show(size)}")


def _opening_problems(scenario: Scenario, room: Room) -> Iterator[Problem]:
    show = Display(scenario.units).length
    for k, opening in enumerate(room.openings):
        key, hole = f"room.openings.{k}", opening.hole()
        if opening.wall == "back" and room.back == "open":
            yield scenario.problem(f"{key}.wall", "the back is open: there is no back wall", "left, right, end")
            continue
        outline = room.roof_shape().wall(*room.walls()[opening.wall])
        full = opening.width * opening.height
        seen = inside(outline, hole)
        if not len(seen) or area(seen) < full * (1.0 - 1e-6):
            found = f"{opening.name} reaches past the {opening.wall} wall or its top"
            allowed = f"inside {show(outline[:, 0].max())} by {show(outline[:, 1].max())}"
            yield scenario.problem(key, found, allowed)
        for other in room.openings[:k]:
            if other.wall == opening.wall and _overlap(hole, other.hole()):
                yield scenario.problem(key, f"{opening.name} and {other.name} overlap", "openings beside one another")


def _overlap(a: Hole, b: Hole) -> bool:
    return all(min(a.upper[k], b.upper[k]) - max(a.lower[k], b.lower[k]) > 1e-9 for k in range(2))
