"""What a change may not spoil: the swing, the picture, headroom, doors, and what `check` does not warn of yet.

What is worse already in the bay as found may stay so, and may not become worse.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flightsim.bay.parts import Bay, Opening, Part, PartKind, Role
from flightsim.bay.shapes import block
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.targets_section import LENGTH_TARGETS, SPARE
from flightsim.study.run.open_bay import OpenBay

HEADROOM = 2.0  # m: what hangs over where people walk; well above eyes, 1.65 m for a man of 1.76 m (judgement)
STANDS = 0.3  # m: what reaches so far down stands on the floor, and nobody walks under it
WALK = 0.9  # m: half the width of the way from the back to the screen
DOOR = 0.9  # m: before an opening that is to be left clear, as far as a door leaf is wide (common practice, no source)
SILL = 0.3  # m: nobody walks through an opening that begins higher
WHOLE_SIDE = 3.0  # m: across an opening as wide hangs a curtain, which people draw aside (judgement)
FELT = 0.05  # m of a length missed counts as much as a rate e times too high: the swing comes first (judgement)
SLACK = 1.0e-6


@dataclass(frozen=True)
class Keeps:
    """How the bay was found: what every change is held against."""

    swing: dict[str, float]
    pictures: dict[str, tuple[float, float]]
    headroom: float
    blocked: frozenset[str]
    warned: frozenset[str]

    @classmethod
    def of(cls, opened: OpenBay) -> Keeps:
        """Of a bay as found."""
        return cls(
            swing_of(opened), _pictures(opened.bay), _headroom(opened), _blocked(opened.bay),
            frozenset(problem.key for problem in opened.warnings),
        )  # fmt: skip

    def broken(self, opened: OpenBay, swing: dict[str, float]) -> str:
        """What a changed bay spoils, in words; empty where it keeps all. swing: what is measured of it."""
        show = Display(opened.scenario.units).length
        for name, value in swing.items():
            least = min(SPARE, self.swing.get(name, SPARE))
            if value < least - SLACK:
                return f"the swing would be {show(value)} clear"
        pictures = _pictures(opened.bay)
        for name, sizes in self.pictures.items():
            now = pictures.get(name, (0.0, 0.0))
            if any(a < b - SLACK for a, b in zip(now, sizes, strict=True)):
                return f"the {name} would be smaller"
        if (height := _headroom(opened)) < min(HEADROOM, self.headroom) - SLACK:
            return f"something would hang {show(height)} above the floor, where people walk"
        if shut := _blocked(opened.bay) - self.blocked:
            return f"it would stand before the {min(shut)}"
        if new := {problem.key for problem in opened.warnings} - self.warned:
            return next(problem.found for problem in opened.warnings if problem.key in new)
        return ""


def swing_of(opened: OpenBay) -> dict[str, float]:
    """What plugins measure of the lengths that are targets, m: `swing_room` of the target `swing`."""
    measured = opened.plugins.measures(opened.scenario, opened.bay, opened.physics.ball, opened.facings)
    return {
        name: value
        for name, value in measured.items()
        if "." not in name and name.startswith(LENGTH_TARGETS)
    }  # fmt: skip


def lengths_short(opened: OpenBay, swing: dict[str, float]) -> float:
    """By how much the lengths that are targets are missed, in parts of FELT; nought where they are met."""
    short = 0.0
    for key in LENGTH_TARGETS:
        limit = getattr(opened.scenario.targets, key)
        values = [value for name, value in swing.items() if name.startswith(key)]
        if not isinstance(limit, str) and values:
            short += max(0.0, limit - min(values)) / FELT
    return short


def _pictures(bay: Bay) -> dict[str, tuple[float, float]]:
    """Width and height of each screen, m."""
    found = {}
    for part in bay.guards_of(PartKind.SCREEN):
        lower, upper = part.shape.bounds()
        found[part.label] = float(upper[1] - lower[1]), float(upper[2] - lower[2])
    return found


def _headroom(opened: OpenBay) -> float:
    """How high the lowest foot hangs of all that hangs over the way from the back to the screen, m above the slab."""
    feet = [
        float(lower[2])
        for part in opened.bay.parts
        if part.role is Role.GUARD and part.kind not in (PartKind.SCREEN, PartKind.SIDE)
        for lower, upper in [part.shape.bounds()]
        if lower[2] > STANDS and lower[1] < WALK and upper[1] > -WALK and not _at_the_screen(opened.bay, part)
    ]
    return min(feet, default=np.inf)


def _at_the_screen(bay: Bay, part: Part) -> bool:
    """Whether something hangs at a screen, where nobody walks: a cover, a flap."""
    near = float(part.shape.bounds()[0][0])
    return any(near > float(screen.shape.bounds()[0][0]) - STANDS for screen in bay.guards_of(PartKind.SCREEN))


def _blocked(bay: Bay) -> frozenset[str]:
    """The doorways that a guard stands before."""
    guards = [part for part in bay.parts if part.role is Role.GUARD]
    ways = [one for one in bay.openings if _doorway(bay, one)]
    return frozenset(one.name for one in ways if any(_before(one, part) for part in guards))


def _doorway(bay: Bay, opening: Opening) -> bool:
    """Whether people go in and out by it: not through a hatch; where a whole side is open, past a curtain."""
    lower, upper = opening.corners.min(axis=0), opening.corners.max(axis=0)
    return bool(lower[2] - bay.lower[2] < SILL and np.linalg.norm((upper - lower)[:2]) < WHOLE_SIDE)


def _before(opening: Opening, part: Part) -> bool:
    """Whether a part's box reaches into the room before an opening."""
    corners = np.concatenate([opening.corners, opening.corners - DOOR * opening.normal])
    way = block(corners.min(axis=0), corners.max(axis=0)).bounds()
    lower, upper = part.shape.bounds()
    return bool((lower < way[1] - SLACK).all() and (upper > way[0] + SLACK).all())
