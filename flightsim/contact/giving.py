"""How a ball leaves cloth that gives: what comes back, how far it sinks, where it gets past an edge that it opens."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import floor

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Part
from flightsim.cloth.closed_form import FAR_FACTOR, LIKELY_RETURN, NEAR_FACTOR, return_restitution
from flightsim.cloth.fabric import Cloth
from flightsim.cloth.table import DepthTable, depth_table, slack_weave, stiff_weave
from flightsim.contact.fates import EDGES
from flightsim.contact.rebound import Hits, Rebounds

Array = NDArray[np.float64]

EDGE_BAND = 0.20  # m: the outer band of a corded cloth where a ball may get past [cloth-edge]; in words only
SEAM = 2.0e-3  # m: parts this near at both ends of an edge hang together
CONTINUES_WITHIN = 0.10  # m inside the edge: what lies there too is a second cloth, and no continuation
SLOW = 1.0  # m/s: slower hits sink a few millimetres, and no table is asked
COARSE = 0.1  # m: sizes are rounded down to this, so that like cloths share one table; smaller ones sink deeper
SMALLEST = 0.3  # m: narrower strips are no hung cloths
LEVEL = 0.5  # of the upright: flatter sheets have their top at the screen's end


@dataclass(frozen=True)
class Hung:
    """A rectangle of cloth as one faces it from the tee: its lower left corner `(3,)`, unit vectors right, up and out
    (away from the tee) `(3,)`, width and height, m.
    """

    corner: Array
    right: Array
    up: Array
    out: Array
    width: float
    height: float

    def places(self, points: Array) -> tuple[Array, Array]:
        """Points `(3, n)` as distances across from the left edge and up from the foot, m `(n,)`."""
        local = points - self.corner[:, None]
        across = (local * self.right[:, None]).sum(axis=0)
        return across, (local * self.up[:, None]).sum(axis=0)

    def edge(self, side: str) -> tuple[Array, Array, Array, float]:
        """Where a side begins `(3,)`, its direction and the one inward `(3,)`, and its length, m."""
        far = self.corner + self.width * self.right + self.height * self.up
        if side in ("left", "right"):
            start, inward = (self.corner, self.right) if side == "left" else (far - self.height * self.up, -self.right)
            return start, self.up, inward, self.height
        start, inward = (self.corner, self.up) if side == "foot" else (far - self.width * self.right, -self.up)
        return start, self.right, inward, self.width


def hung(part: Part) -> Hung | None:
    """The part as a hung cloth; None where it is no flat four-cornered sheet, or a narrow strip. The tee is at 0, 0."""
    outlines = part.shape.outlines()
    if len(outlines) != 1 or len(outlines[0]) != 4:
        return None
    corners = outlines[0]
    sides = [corners[1] - corners[0], corners[3] - corners[0]]
    lengths = [float(np.linalg.norm(side)) for side in sides]
    if min(lengths) < SMALLEST:
        return None
    first, second = (side / length for side, length in zip(sides, lengths, strict=True))
    first_is_up = abs(first[2]) > abs(second[2])
    up, right = (first, second) if first_is_up else (second, first)
    if abs(up[2]) < LEVEL:  # it lies level
        up, right = (first, second) if abs(first[0]) > abs(second[0]) else (second, first)
        up, right = up * np.copysign(1.0, up[0]), right * np.copysign(1.0, -right[1])
        out = np.cross(up, right) * np.copysign(1.0, np.cross(up, right)[2])
    else:
        up = up * np.copysign(1.0, up[2])
        middle = corners.mean(axis=0)
        out = np.cross(up, right)
        out = out * np.copysign(1.0, float(out @ (middle - np.array([0.0, 0.0, middle[2]]))))
        right = np.cross(out, up)
    across, along = (corners @ right, corners @ up)
    corner = corners.mean(axis=0) - 0.5 * np.ptp(across) * right - 0.5 * np.ptp(along) * up
    return Hung(corner, right, up, out, float(np.ptp(across)), float(np.ptp(along)))


# A ball this near to a foot that nothing holds lifts it and goes under, and keeps this share of its speed: judgements,
# on the careful side; a hem that is weighted, tied or lies on the floor is none.
HEM_BAND = 0.30  # m
HEM_KEEPS = 0.5


# How far along itself cloth carries a ball: so many times the way that it would go with the speed along with which it
# leaves, in its time in the cloth. Fitted to the rows of [cloth-oblique], .21 to 1.06 m, which it meets to 4 %.
CARRIES = 1.2
# Beyond 60 deg nothing is known: the speed along counts at most as so many times the speed into the cloth, as it does
# there; so a ball that runs along a net is carried the less the flatter it comes.
FLATTEST = 1.2
STAYS = 0.037  # s: where no lattice says how long, as the lattice has it for the cloth of [cloth-oblique]


# What answers when a Give is asked with hits: `flightsim.engine.one_cloth` puts itself here as it is loaded. This room
# knows no engine.
answers: list[Callable[[Give, Hits], Rebounds]] = []


@dataclass(frozen=True, eq=False)
class Give:
    """The rebound law of one hung cloth: its numbers. What they do to a ball stands in `flightsim.engine.cloth`.

    part, and others in the bay; shear_known: the G/E of the cloth was measured. near and far: of the depth over its
    centre value. edges_open: hits can pull its edges in. harm_speed, m/s: a ball that gets past slower than this counts
    as stopped. net: it is a net. loose_foot: nothing holds its foot, which a ball lifts. damping: what real cloth
    leaves of the lattice's return. deep: it sinks, and its edges come in, as far as the far end of what is known of it;
    else as far as the middle.
    """

    part: Part
    others: Sequence[Part]
    frame: Hung
    cloth: Cloth
    shear_known: bool
    ball_radius: float
    harm_speed: float
    near: float = NEAR_FACTOR
    far: float = FAR_FACTOR
    net: bool = False
    edges_open: bool = True
    loose_foot: bool = False
    damping: float = LIKELY_RETURN
    deep: bool = False

    def __call__(self, hits: Hits) -> Rebounds:
        """The balls just after, as the engine has it."""
        if not answers:
            raise TypeError("nothing answers hits on a cloth yet: import flightsim.engine.one_cloth")
        return answers[0](self, hits)

    def returned(self, speed: Array, across: Array, up: Array, ball_mass: float) -> Array:
        """Speed back over speed in `(n,)`, with the cloth's own damping.

        A net is no trampoline: without damping in its knots its lattice would send back .3 to .4. It is taken to
        give what [cloth-form] gives for a corded cloth at that place (judgement).
        """
        if self.net:
            width, height = self.frame.width, self.frame.height
            return self.damping * return_restitution(np.minimum(across, width - across), np.minimum(up, height - up))
        return self.damping * self.table(ball_mass).restitution(speed, *self._in_table(across, up))

    def depth(self, speed: Array, across: Array, up: Array, ball_mass: float) -> Array:
        """Depth, m `(n,)`, at the middle of its band."""
        return self.table(ball_mass).depth(speed, *self._in_table(across, up))

    def far_depth(self, speed: Array, across: Array, up: Array, ball_mass: float) -> Array:
        """Depth, m `(n,)`, at the far end: also that of a cloth without shear stiffness, if that is not known."""
        deep = self.far * self.depth(speed, across, up, ball_mass)
        if self.shear_known or self.cloth.shear_ratio == 0.0:
            return deep
        slack = depth_table(slack_weave(self.rounded), ball_mass, True)
        return np.maximum(deep, slack.depth(speed, *self._in_table(across, up)))

    def reach(self, speed: Array, across: Array, up: Array, ball_mass: float) -> Array:
        """How far it goes with a ball, m `(n,)`: the middle of its band, or the far end where it is deep."""
        return (self.far_depth if self.deep else self.depth)(speed, across, up, ball_mass)

    def near_depth(self, speed: Array, across: Array, up: Array, ball_mass: float) -> Array:
        """Depth, m `(n,)`, at the near end."""
        near = self.near if self.shear_known else min(self.near, stiff_weave(self.cloth))
        return near * self.depth(speed, across, up, ball_mass)

    def table(self, ball_mass: float) -> DepthTable:
        """Depths, returns and edges of this cloth; worked out once a process. A net whose edges are no matter needs
        depths alone.
        """
        return depth_table(self.rounded, ball_mass, self.net and not self.edges_open)

    @property
    def edge_factor(self) -> float:
        """How far an edge comes in, times what the lattice gives."""
        return FAR_FACTOR if self.deep else 1.0

    @cached_property
    def open_at(self) -> tuple[str, ...]:
        """The sides that a hit can open."""
        return tuple(side for side in sorted(self.cloth.corded) if side not in self.seams) if self.edges_open else ()

    @cached_property
    def seams(self) -> tuple[str, ...]:
        """The sides that another part of the same owner continues."""
        return continued_sides(self.frame, self.part, self.others)

    @cached_property
    def rounded(self) -> Cloth:
        """The cloth whose table stands for this one: sizes rounded down, so that like cloths share it."""
        width, height = (
            max(SMALLEST, COARSE * floor(side / COARSE + 1e-9)) for side in (self.cloth.width, self.cloth.height)
        )
        return replace(self.cloth, width=round(width, 6), height=round(height, 6))

    def _in_table(self, across: Array, up: Array) -> tuple[Array, Array]:
        """Places as the rounded cloth has them: the same share of each side."""
        cloth = self.rounded
        return across * (cloth.width / self.frame.width), up * (cloth.height / self.frame.height)


def continued_sides(frame: Hung, part: Part, others: Sequence[Part]) -> tuple[str, ...]:
    """The sides that another part of the same owner continues: no hit opens them.

    A flap continues the foot of its screen. A second cloth in the same place, or over the edge, continues nothing.
    """
    same_owner = [other for other in others if other.owner == part.owner and other.name != part.name]
    found = []
    for side in EDGES:
        start, along, inward, length = frame.edge(side)
        ends = np.stack([start, start + length * along], axis=1)
        within = (start + 0.5 * length * along + CONTINUES_WITHIN * inward)[:, None]
        if any(
            np.all(np.abs(other.shape.distance(ends)[0]) < SEAM) and other.shape.distance(within)[0][0] > SEAM
            for other in same_owner
        ):
            found.append(side)
    return tuple(found)
