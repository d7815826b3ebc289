"""People: the hitter's own place, others who stand or sit, and doors that may open. Balls are counted, not stopped.

A person is a capsule as wide as a body of that stature, and one as wide as its head, each with how far it sways. Shares
of stature: [stature], [swing-room], and Drillis & Contini 1966 [drillis-1966]. How far somebody sways is a judgement.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Literal, Self, TypeAlias

import numpy as np
from pydantic import Field, model_validator

from flightsim.bay.parts import Role
from flightsim.bay.people import Zone
from flightsim.bay.shapes import Box, block, rounded_block
from flightsim.plugin.hookspecs import BayPieces, BaySetup, BayView, hookimpl
from flightsim.plugin.places import TAPE, in_axes
from flightsim.scenario.reading.declared import WhoPlays
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.models import Model, Scenario, Section
from flightsim.scenario.reading.names import Called
from flightsim.scenario.reading.problems import Problem, Severity
from flightsim.scenario.reading.quantities import Distance, Size, quantity
from flightsim_plugins.people_questions import ask_people

if TYPE_CHECKING:
    Stature: TypeAlias = float
    FromBall: TypeAlias = float
    ZoneSize: TypeAlias = float
    Sway: TypeAlias = float
else:
    Stature = quantity("length", least=0.5, most=2.5)
    FromBall = quantity("length", least=0.1, most=2.0)
    ZoneSize = quantity("length", least=0.1, most=20.0)
    Sway = quantity("length", least=0.0, most=1.0)

SHORTEST = 0.75  # m: a child that just walks (growth charts, memory); whoever comes through a door may be so tall
SMALL = 1.30  # m: up to here a person counts as a small child, whom a ball harms anywhere (judgement: 8 years)
MAN = 1.76  # m: the middle man, 1.759 [stature]
CHILD = 1.15  # m: six years old
SHOULDERS = 0.818  # of stature, standing (Drillis & Contini 1966, memory): what is above counts as the head
HUB = 0.737  # of stature: the shoulders of a player bent over the ball [swing-room]
SEATED_SHOULDERS, SEATED_TOP = 0.34, 0.52  # of stature, above the seat (memory)
BODY, HEAD = 0.129, 0.065  # of stature: half the shoulders (Drillis & Contini 1966, memory); half a head, hair and all
AGES = (1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0)  # years
HEIGHTS = (0.75, 0.86, 1.02, 1.15, 1.28, 1.38, 1.50, 1.62, 1.68, 1.70)  # m, the middle child (growth charts, memory)
HANDS: tuple[tuple[str, float], ...] = (("right", -1.0), ("left", 1.0))  # which way from the ball, by the tape


class Hitter(Model):
    """Who hits: as tall as the tallest who will. There is one for each hand at every tee spot, on the mat's top."""

    height: Annotated[Stature, WhoPlays((1.60, 1.90), "a hitter {} tall")] = Field(
        MAN, description="stature of the tallest; default 1.76 m"
    )
    shortest: Stature | None = Field(
        None, description="of the shortest who will: heads are from there on; default height"
    )
    from_ball: FromBall = Field(0.35, description="ball to the nearest that body, arms or head come; default 350 mm")
    depth: ZoneSize = Field(0.85, description="of the zone, away from the ball; default 850 mm")
    width: ZoneSize | None = Field(
        None, description="of the zone, along the target line; default the shoulders and twice the sway"
    )
    sway: Sway = Field(0.15, description="how far body and head move along the target line; default 150 mm")


class Onlooker(Model):
    """Somebody who watches or waits, or a bench full of them."""

    name: Called = Field(min_length=1, description="what people call them: bench")
    from_end_wall: Distance = Field(description="to the middle of where they are")
    from_left_wall: Distance = Field(description="to the middle of where they are")
    posture: Literal["standing", "seated", "child"] = Field("standing", description="child: a standing one")
    height: Stature | None = Field(None, description="stature of the tallest; default 1.76 m, a child's 1.15 m")
    shortest: Stature | None = Field(None, description="of the shortest who may be there; default height")
    age: float | None = Field(None, ge=1.0, le=18.0, description="of a child, in years: gives its height")
    seat: Size = Field(0.45, description="of somebody seated: floor to the seat; default 450 mm")
    width: ZoneSize | None = Field(
        None, description="of the zone, across the room; a bench is wider; default the shoulders and twice the sway"
    )
    depth: ZoneSize | None = Field(None, description="of the zone, along the room; default its width, seated 900 mm")
    sway: Sway = Field(0.07, description="how far they move where they stand or sit; default 70 mm")

    @model_validator(mode="after")
    def _one_height(self) -> Self:
        if self.height is not None and self.age is not None:
            raise ValueError("give a height or an age, not both")
        return self

    def stature(self) -> float:
        """How tall, m."""
        if self.age is not None:
            return float(np.interp(self.age, AGES, HEIGHTS))
        return self.height or (CHILD if self.posture == "child" else MAN)

    def least(self) -> float:
        """How tall the shortest is, m."""
        return min(self.shortest or self.stature(), self.stature())

    def levels(self) -> tuple[float, float]:
        """The shoulders of the shortest and the top of the tallest above the floor, m: heads are between."""
        if self.posture == "seated":
            return self.seat + SEATED_SHOULDERS * self.least(), self.seat + SEATED_TOP * self.stature()
        return SHOULDERS * self.least(), self.stature()


class Door(Model):
    """A door that somebody may open and step through while balls are hit: one of the room's openings, or a place."""

    opening: str | None = Field(None, description="one of the room's openings, by name")
    name: Called | None = Field(None, min_length=1, description="instead of opening: what people call it")
    from_end_wall: Distance | None = Field(None, description="instead of opening: to the middle of the zone")
    from_left_wall: Distance | None = Field(None, description="instead of opening: to the middle of the zone")
    width: ZoneSize | None = Field(None, description="of the zone, along the wall; default the opening's, or 900 mm")
    depth: ZoneSize | None = Field(None, description="of the zone, into the room; default its width: the door's swing")
    height: Stature | None = Field(None, description="of who comes in; without it anybody from 0.75 m to 1.76 m tall")

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        place = (self.name, self.from_end_wall, self.from_left_wall)
        if self.opening is None and None in place:
            raise ValueError("a door needs its opening, or name, from_end_wall and from_left_wall")
        if self.opening is not None and place != (None, None, None):
            raise ValueError("give the door's opening, or its name and place, not both")
        return self


class People(Model):
    """Where people are. Without this section there is the hitter, and nobody else."""

    hitter: Hitter = Field(Hitter(), description="who hits")
    onlookers: tuple[Onlooker, ...] = Field((), description="who watches or waits")
    doors: tuple[Door, ...] = Field((), description="doors that may open into the bay")


@dataclass(frozen=True)
class _Stand:
    """A person's place by the tape: nearest and farthest corner (s, t), and foot, shoulders and top, m."""

    name: str
    near: tuple[float, float]
    far: tuple[float, float]
    levels: tuple[float, float, float]
    small: bool = False  # a small child may be there
    slim: float | None = None  # m by which a head is narrower than the body, half of each; None: anywhere in a doorway

    def zones(self, scenario: Scenario, spot: str = "", hand: str = "") -> list[Zone]:
        """The body, and apart from it the head. Whoever is in a doorway may be anywhere in it."""
        foot, shoulders, top = self.levels
        middle, half = np.add(self.near, self.far) / 2.0, np.subtract(self.far, self.near) / 2.0
        slim = self.slim or 0.0
        head = half - np.minimum((slim, 0.0 if hand else slim), half - TAPE)  # a hitter's is as near the ball as arms
        zones = []
        for name, reach, low, high in (
            (self.name, half, foot, shoulders),
            (f"{self.name}, head", head, shoulders, top),
        ):
            corners = in_axes(scenario, [(*(middle - reach), low), (*(middle + reach), high)])
            drawn = block(corners.min(axis=0), corners.max(axis=0))
            shape = drawn if self.slim is None else _capsule(drawn, name == self.name)
            zones.append(Zone(name, self.name, shape, "people", name != self.name, spot, hand, self.small, drawn))
        return zones

    def meets(self, near: Sequence[float], far: Sequence[float]) -> bool:
        """Whether it covers any of a rectangle of floor."""
        return all(self.near[k] < far[k] - TAPE and self.far[k] > near[k] + TAPE for k in range(2))


def _capsule(drawn: Box, body: bool) -> Box:
    """A block with round edges. The round ends of a body are below the floor and beside the neck: between them it is as
    wide as it is.
    """
    dome = np.array([0.0, 0.0, float(drawn.half[:2].min()) if body else 0.0])
    low, high = drawn.bounds()
    return rounded_block(low - dome, high + dome)


@hookimpl
def flightsim_section() -> Section:
    """The section `people`."""
    return Section("people", People, "Where people are", owner="people", order=80, ask=ask_people)


@hookimpl
def flightsim_parts(context: BaySetup) -> BayPieces:
    """The hitter's zones at every tee spot, for both hands, and everybody else's."""
    scenario = context.scenario
    people: People = next(iter(context.entries), None) or People()
    zones: list[Zone] = []
    problems: list[Problem] = []
    hitters = list(_hitters(scenario, people.hitter))
    for spot, hand, stand in hitters:
        zones += stand.zones(scenario, spot, hand)
    if context.entries:
        problems += _too_tall(scenario, [stand for _, _, stand in hitters])
    names: set[str] = {zone.person for zone in zones}
    for key, field, name, other in _others(scenario, people):
        if isinstance(other, Problem):
            problems.append(other)
        elif name in names:
            found = f"'{name}' is already somebody's name"
            problems.append(scenario.problem(f"{key}.{field}", found, "names that differ", f"{name} 2"))
        else:
            names.add(name)
            zones += other.zones(scenario)
            problems += _misplaced(scenario, key, other, [stand for _, _, stand in hitters])
    return BayPieces((), (), tuple(problems), None, tuple(zones))


@hookimpl
def flightsim_checks(context: BayView) -> Sequence[Problem]:
    """Warnings for somebody inside a thing, whom no ball can reach: a slip of the tape, and it would look safe."""
    people: People = next(iter(context.entries), None) or People()
    things = [part for part in context.bay.parts if part.role is not Role.FLOOR and part.owner != "room"]
    found = []
    for key, _, name, _ in _others(context.scenario, people):
        boxes = [zone.seen.bounds() for zone in context.bay.zones if zone.person == name]
        if not boxes:
            continue
        corners = np.concatenate(
            [np.stack(np.meshgrid(*zip(*box, strict=True), indexing="ij")).reshape(3, -1) for box in boxes], axis=1
        )
        inside = next((part.label for part in things if not np.any(part.shape.distance(corners)[0] > TAPE)), None)
        if inside is not None:
            words = f"{name} is inside the {inside}: no ball can come there"
            allowed, fix = "a place that nothing fills", "measure again where they are"
            found.append(context.scenario.problem(key, words, allowed, fix, Severity.WARNING))
    return found


def _hitters(scenario: Scenario, hitter: Hitter) -> Iterator[tuple[str, str, _Stand]]:
    """Spot, hand and place. A right-hander stands to the left of the ball, seen toward the screen."""
    tee = scenario.tee
    spots = [(spot.name, spot.from_end_wall, spot.from_left_wall) for spot in tee.spots]
    foot = scenario.ground_height
    least = min(hitter.shortest or hitter.height, hitter.height)
    levels = (foot, foot + HUB * least, foot + hitter.height)
    for spot, s, t in spots or [("tee", tee.from_end_wall, tee.from_left_wall)]:
        for hand, way in HANDS:
            sides = sorted((t + way * hitter.from_ball, t + way * (hitter.from_ball + hitter.depth)))
            half = (hitter.width or 2.0 * (BODY * hitter.height + hitter.sway)) / 2.0
            slim = (BODY - HEAD) * hitter.height
            near, far = (s - half, sides[0]), (s + half, sides[1])
            yield spot, hand, _Stand(f"{hand}-hander at {spot}", near, far, levels, least <= SMALL, slim)


def _others(scenario: Scenario, people: People) -> Iterator[tuple[str, str, str, _Stand | Problem]]:
    """Key, the key in it that names the person, name, and place of everybody but the hitter."""
    floor = float(scenario.room.turf_height)
    for k, onlooker in enumerate(people.onlookers):
        width = onlooker.width or 2.0 * (BODY * onlooker.stature() + onlooker.sway)
        half = ((onlooker.depth or (0.9 if onlooker.posture == "seated" else width)) / 2.0, width / 2.0)
        shoulders, top = onlooker.levels()
        levels = (floor, floor + shoulders, floor + top)
        small = onlooker.posture == "child" or onlooker.least() <= SMALL
        slim = (BODY - HEAD) * onlooker.stature()
        stand = _around(onlooker.name, (onlooker.from_end_wall, onlooker.from_left_wall), half, levels, small, slim)
        yield f"people.onlookers.{k}", "name", onlooker.name, stand
    for k, door in enumerate(people.doors):
        key, name = f"people.doors.{k}", f"somebody at the {door.opening or door.name}"
        levels = (floor, floor + SHOULDERS * (door.height or SHORTEST), floor + (door.height or MAN))
        yield key, "opening" if door.opening else "name", name, _doorway(scenario, key, door, name, levels)


def _around(
    name: str,
    middle: tuple[float, float],
    half: tuple[float, float],
    levels: tuple[float, float, float],
    small: bool,
    slim: float | None = None,
) -> _Stand:
    (s, t), (ds, dt) = middle, half
    return _Stand(name, (s - ds, t - dt), (s + ds, t + dt), levels, small, slim)


def _doorway(
    scenario: Scenario, key: str, door: Door, name: str, levels: tuple[float, float, float]
) -> _Stand | Problem:
    """The floor that the door sweeps, and whoever comes in stands on."""
    small = (door.height or SHORTEST) <= SMALL
    if door.opening is None:
        width = door.width or 0.9
        half = ((door.depth or width) / 2.0, width / 2.0)
        return _around(name, (door.from_end_wall or 0.0, door.from_left_wall or 0.0), half, levels, small)
    room = scenario.room
    known = {opening.name: opening for opening in room.openings}
    if door.opening not in known:
        allowed = ", ".join(known) or "the room has no openings"
        fix = "a name of room.openings, or the door's name, from_end_wall and from_left_wall"
        return scenario.problem(f"{key}.opening", f"the room has no opening called '{door.opening}'", allowed, fix)
    hole = known[door.opening]
    start = hole.from_left_wall if hole.wall in ("end", "back") else hole.from_end_wall
    width = door.width or hole.width
    along = (start + (hole.width - width) / 2.0, start + (hole.width + width) / 2.0)
    depth = door.depth or width
    size = room.length if hole.wall in ("end", "back") else room.width
    into = (0.0, depth) if hole.wall in ("end", "left") else (size - depth, size)
    (s, t) = (into, along) if hole.wall in ("end", "back") else (along, into)
    return _Stand(name, (s[0], t[0]), (s[1], t[1]), levels, small)


def _misplaced(scenario: Scenario, key: str, stand: _Stand, hitters: Sequence[_Stand]) -> list[Problem]:
    """Errors for somebody in a wall, the roof or a screen, or behind one; warnings for somebody in the way."""
    return [
        *_through_walls(scenario, key, stand),
        *_through_roof(scenario, f"{key}.height", stand),
        *_at_screens(scenario, key, stand),
        *_in_the_way(scenario, key, stand, hitters),
    ]


def _through_walls(scenario: Scenario, key: str, stand: _Stand) -> Iterator[Problem]:
    show, room = Display(scenario.units).length, scenario.room
    for axis, tape, size, walls in (
        (0, "from_end_wall", room.length, ("end wall", "back")),
        (1, "from_left_wall", room.width, ("left wall", "right wall")),
    ):
        half = (stand.far[axis] - stand.near[axis]) / 2.0
        for past, wall in zip((-stand.near[axis], stand.far[axis] - size), walls, strict=True):
            if past > TAPE:
                found = f"{stand.name} reaches {show(past)} into or past the {wall}"
                allowed = f"{tape} from {show(half)} to {show(size - half)} for a zone of {show(2.0 * half)}"
                fix = "move it into the room, or make it narrower"
                yield scenario.problem(f"{key}.{tape}", found, allowed, fix)


def _through_roof(scenario: Scenario, key: str, stand: _Stand) -> Iterator[Problem]:
    show = Display(scenario.units).length
    s, t = zip(*((s, t) for s in (stand.near[0], stand.far[0]) for t in (stand.near[1], stand.far[1])), strict=True)
    room = float(scenario.room.roof_shape().height(np.array(s), np.array(t)).min())
    if stand.levels[2] > room + TAPE:
        found = f"{stand.name} reaches {show(stand.levels[2] - room)} into the roof"
        allowed = f"at most {show(room - stand.levels[0])} tall there"
        yield scenario.problem(key, found, allowed, "move it under a higher roof, or make it less tall")


def _too_tall(scenario: Scenario, hitters: Sequence[_Stand]) -> list[Problem]:
    """Where the roof slopes, only one hand may fit: an error is what fits nowhere."""
    found = [list(_through_roof(scenario, "people.hitter.height", stand)) for stand in hitters]
    return found[0] if found and all(found) else []


def _at_screens(scenario: Scenario, key: str, stand: _Stand) -> Iterator[Problem]:
    show = Display(scenario.units).length
    middle, half = (stand.near[0] + stand.far[0]) / 2.0, (stand.far[0] - stand.near[0]) / 2.0
    for screen in scenario.entries("screen"):
        left, right = screen.edges(scenario)
        allowed = f"more than {show(screen.gap_behind + half)} from the end wall"
        if stand.meets((0.0, left), (screen.gap_behind, right)):
            where = "behind" if middle <= screen.gap_behind else "in"
            found, fix = f"{stand.name} is {where} the {screen.name}, which balls strike", "move it toward the back"
            yield scenario.problem(key, found, allowed, fix)
        elif middle <= screen.gap_behind:
            found, fix = f"{stand.name} is beyond the {screen.name}, beside it", "move it toward the back"
            yield scenario.problem(key, found, allowed, fix, Severity.WARNING)


def _in_the_way(scenario: Scenario, key: str, stand: _Stand, hitters: Sequence[_Stand]) -> Iterator[Problem]:
    """Somebody on the mat is hit by the club before any ball is."""
    tee, mat = scenario.tee, scenario.tee.mat
    places = [(hitter.name, hitter.near, hitter.far) for hitter in hitters]
    if mat is not None:
        half = np.array([mat.length, mat.width]) / 2.0
        middle = np.array([tee.from_end_wall, tee.from_left_wall])
        places.insert(0, ("mat", tuple(middle - half), tuple(middle + half)))
    for name, near, far in places:
        if stand.meets(near, far):
            found = f"{stand.name} is on the {name}" if name == "mat" else f"{stand.name} is where the {name} stands"
            fix = "move it back, or keep the door locked while balls are hit"
            yield scenario.problem(key, found, "a place clear of whoever hits", fix, Severity.WARNING)
            return
