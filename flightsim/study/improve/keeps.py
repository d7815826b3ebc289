"""What a change may not spoil: frame, swing, picture, headroom, doors, and what `check` does not warn of yet.

What is worse already in the bay as found may stay so, and may not become worse.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import OF_THE_ROOM, Bay, Part, PartKind, Role
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.names import one_word
from flightsim.scenario.reading.targets_section import LENGTH_TARGETS, SPARE
from flightsim.study.improve.kept_strength import loose_joints
from flightsim.study.run.open_bay import OpenBay

Box = tuple[NDArray[np.float64], NDArray[np.float64]]
HEADROOM = 2.0  # m: what hangs over where people walk; well above eyes, 1.65 m for a man of 1.76 m (judgement)
STANDS = 0.3  # m: what reaches so far down stands on the floor, and nobody walks under it
WALK = 0.9  # m: half the width of the way from the back to the screen
DOOR = 0.9  # m: before an opening that is to be left clear, as far as a door leaf is wide (common practice, no source)
LEAF = 0.01  # m: a sheet in a wall is a door or window that is shut
SILL = 0.3  # m: nobody walks through an opening that begins higher
WHOLE_SIDE = 3.0  # m: across an opening as wide hangs a curtain, which people draw aside (judgement)
FELT = 0.05  # m of a length missed counts as much as a rate e times too high: the swing comes first (judgement)
SLACK = 1.0e-6
PICTURE = ".picture"  # measures with this in their names are by how much a picture has room: nought is enough


@dataclass(frozen=True)
class Keeps:
    """How the bay was found: what every change is held against.

    near: how near a swing comes to each thing, m, by its measure; spare: by how much each picture has room, m;
    feet: how high each thing hangs over where people walk, m; loose: ends of bars that meet nothing.
    """

    swing: dict[str, float]
    pictures: dict[str, tuple[float, float]]
    blocked: frozenset[str]
    warned: frozenset[str]
    near: dict[str, float] = field(default_factory=dict)
    spare: dict[str, float] = field(default_factory=dict)
    feet: dict[str, float] = field(default_factory=dict)
    loose: frozenset[str] = frozenset()

    @classmethod
    def of(cls, opened: OpenBay) -> Keeps:
        """Of a bay as found."""
        measured = measures_of(opened)
        return cls(
            swing_of(opened, measured), _pictures(opened.bay), _blocked(opened.bay),
            frozenset(problem.key for problem in opened.warnings), _near(opened.bay, measured), _spare(measured),
            _feet(opened.bay), frozenset(loose_joints(opened)),
        )  # fmt: skip

    def broken(self, opened: OpenBay, measured: dict[str, float]) -> str:
        """What a changed bay spoils, in words; empty where it keeps all. measured: as `measures_of` it."""
        return next(self._spoilt(opened, measured), "")

    def loosened(self, opened: OpenBay) -> str:
        """Which end of a bar meets nothing that met something, in words; empty where all hold."""
        new = sorted(set(loose_joints(opened)) - self.loose)
        return f"the frame would not meet any more: {new[0]}" if new else ""

    def _spoilt(self, opened: OpenBay, measured: dict[str, float]) -> Iterator[str]:
        show = Display(opened.scenario.units).length
        for name, value in swing_of(opened, measured).items():
            if value < min(SPARE, self.swing.get(name, SPARE)) - SLACK:
                yield f"the swing would be {show(value)} clear"
        for name, value in _near(opened.bay, measured).items():
            if value < min(SPARE, self.near.get(name, SPARE)) - SLACK:
                yield f"the swing would be {show(value)} clear of the {name.partition('.')[2].replace('_', ' ')}"
        pictures = _pictures(opened.bay)
        for name, sizes in self.pictures.items():
            now = pictures.get(name, (0.0, 0.0))
            if any(a < b - SLACK for a, b in zip(now, sizes, strict=True)):
                yield f"the {name} would be smaller"
        for name, value in _spare(measured).items():
            if value < min(0.0, self.spare.get(name, 0.0)) - SLACK:
                yield f"the picture on the {name.partition(PICTURE)[2].strip('_')} would lack {show(-value)}"
        for name, value in _feet(opened.bay).items():
            if value < min(HEADROOM, self.feet.get(name, HEADROOM)) - SLACK:
                yield f"the {name} would hang {show(value)} above the floor, where people walk"
        if shut := _blocked(opened.bay) - self.blocked:
            yield f"it would stand before the {min(shut)}"
        if new := {problem.key for problem in opened.warnings} - self.warned:
            yield next(problem.found for problem in opened.warnings if problem.key in new)


def measures_of(opened: OpenBay) -> dict[str, float]:
    """What plugins measure of the finished bay, m, by name: `swing_room`, `swing_room.canopy`."""
    return opened.plugins.measures(opened.scenario, opened.bay, opened.physics.ball, opened.facings)


def swing_of(opened: OpenBay, measured: dict[str, float] | None = None) -> dict[str, float]:
    """What plugins measure of the lengths that are targets, m: `swing_room` of the target `swing`."""
    known = measures_of(opened) if measured is None else measured
    return {
        name: value
        for name, value in known.items()
        if "." not in name and name.startswith(LENGTH_TARGETS)
    }  # fmt: skip


def lengths_short(opened: OpenBay, swing: dict[str, float], beyond: Collection[str] = ()) -> float:
    """How far the lengths that are targets are missed, in parts of FELT; nought where they are met.

    beyond: those that no change can meet, which are not looked for.
    """
    short = 0.0
    for key in (key for key in LENGTH_TARGETS if key not in beyond):
        limit = getattr(opened.scenario.targets, key)
        values = [value for name, value in swing.items() if name.startswith(key)]
        if not isinstance(limit, str) and values:
            short += max(0.0, limit - min(values)) / FELT
    return short


def not_judged(opened: OpenBay) -> tuple[str, ...]:
    """What cannot be kept since nothing says how it is, a sentence each."""
    sentences = []
    if not opened.plugins.structures(opened.scenario):
        sentences.append("The scenario has no frame: see yourself that what carries the protection still fits it.")
    if not _spare(measures_of(opened)) and opened.bay.guards_of(PartKind.SCREEN):
        sentences.append(
            "No picture is said (picture_width, picture_height of the screen): the cloth becomes no smaller, but "
            "strips may cover its edges, and what hangs before it may hide its top."
        )
    return tuple(sentences)


def _near(bay: Bay, measured: dict[str, float]) -> dict[str, float]:
    """How near a swing comes to each thing that hangs or stands for the protection, m, by its measure."""
    things = {one_word(part.label) for part in bay.parts if part.kind not in (*OF_THE_ROOM, PartKind.THING)}
    return {
        name: value
        for name, value in measured.items()
        if name.startswith(LENGTH_TARGETS) and name.partition(".")[2] in things
    }  # fmt: skip


def _spare(measured: dict[str, float]) -> dict[str, float]:
    """How much room each picture has, m; less than nought where it has none."""
    return {name: value for name, value in measured.items() if PICTURE in name}


def _pictures(bay: Bay) -> dict[str, tuple[float, float]]:
    """Width and height of each screen, m."""
    found = {}
    for part in bay.guards_of(PartKind.SCREEN):
        lower, upper = part.shape.bounds()
        found[part.label] = float(upper[1] - lower[1]), float(upper[2] - lower[2])
    return found


def _feet(bay: Bay) -> dict[str, float]:
    """How high the foot hangs of each thing that hangs over the way from the back to the screen, m above the slab."""
    found: dict[str, float] = {}
    for part in bay.parts:
        lower, upper = part.shape.bounds()
        over = lower[2] > STANDS and lower[1] < WALK and upper[1] > -WALK
        hangs = part.role is Role.GUARD and part.kind not in (PartKind.SCREEN, PartKind.SIDE)
        if hangs and over and not _at_the_screen(bay, part):
            found[part.label] = min(float(lower[2]), found.get(part.label, np.inf))
    return found


def _at_the_screen(bay: Bay, part: Part) -> bool:
    """Whether something hangs at a screen, where nobody walks: a cover, a flap."""
    near = float(part.shape.bounds()[0][0])
    return any(near > float(screen.shape.bounds()[0][0]) - STANDS for screen in bay.guards_of(PartKind.SCREEN))


def _blocked(bay: Bay) -> frozenset[str]:
    """The doorways that a guard stands before."""
    guards = [part for part in bay.parts if part.role is Role.GUARD]
    return frozenset(name for name, way in _doorways(bay) if any(_in_the_way(way, part) for part in guards))


def _doorways(bay: Bay) -> Iterator[tuple[str, Box]]:
    """What people go in and out by, open or shut, with the box before it that is to be left clear.

    Not a hatch; where a whole side is open a curtain may hang, which people draw aside.
    """
    for opening in bay.openings:
        lower, upper = opening.corners.min(axis=0), opening.corners.max(axis=0)
        if lower[2] - bay.lower[2] < SILL and np.linalg.norm((upper - lower)[:2]) < WHOLE_SIDE:
            yield opening.name, _before(bay, (lower, upper))
    for part in bay.parts:
        lower, upper = part.shape.bounds()
        is_leaf = part.kind is PartKind.ROOM and (upper - lower)[:2].min() < LEAF and upper[2] - lower[2] > STANDS
        if is_leaf and lower[2] - bay.lower[2] < SILL:
            yield part.label, _before(bay, (lower, upper))


def _before(bay: Bay, way: Box) -> Box:
    """The box inside the room before a doorway in one of its walls."""
    lower, upper = way[0].copy(), way[1].copy()
    across = int((upper - lower)[:2].argmin())
    if lower[across] - bay.lower[across] < bay.upper[across] - upper[across]:
        upper[across] += DOOR
    else:
        lower[across] -= DOOR
    return lower, upper


def _in_the_way(way: Box, part: Part) -> bool:
    """Whether a part's box reaches into another."""
    lower, upper = part.shape.bounds()
    return bool((lower < way[1] - SLACK).all() and (upper > way[0] + SLACK).all())
