"""How a ball leaves cloth that gives: what comes back, how far it sinks, where it gets past an edge that it opens."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import floor

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Part
from flightsim.cloth.closed_form import FAR_FACTOR, LIKELY_RETURN, NEAR_FACTOR, return_restitution
from flightsim.cloth.closed_form import speed_left as left_at_depth
from flightsim.cloth.fabric import Cloth
from flightsim.cloth.table import DepthTable, depth_table, slack_weave, stiff_weave
from flightsim.contact.fates import EDGES
from flightsim.contact.limits import SLOWING
from flightsim.contact.rebound import Hits, Rebounds, off_cloth

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


@dataclass(frozen=True, eq=False)
class Give:
    """The rebound law of one hung cloth.

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
        """The balls just after: what an elastic cloth gives back, with its damping."""
        restitution = self.restitution(hits)
        unknown = np.isnan(restitution)
        restitution = np.where(unknown, 0.0, restitution)
        back = off_cloth(hits, restitution)
        sink, kept = np.zeros(restitution.size), np.zeros(restitution.size)
        edge = np.full(restitution.size, -1)
        fast = np.flatnonzero(hits.normal_speed > SLOW)
        if fast.size:
            across, up = self.frame.places(hits.point[:, fast])
            sink[fast] = self.reach(hits.normal_speed[fast], across, up, hits.ball.mass)
            kept[fast], edge[fast] = self.speed_past(hits.normal_speed[fast], across, up, hits.ball.mass)
        unknown |= np.isnan(sink) | np.isnan(kept)
        whole = np.sqrt((hits.velocity**2).sum(axis=0))
        past = ~unknown & (kept > 0.0) & (kept * whole >= self.harm_speed)
        velocity, spin = np.where(past, hits.velocity * kept, back.velocity), np.where(past, hits.spin, back.spin)
        sink = np.where(past, sink * depth_at(kept), sink)
        sink, edge = np.where(unknown, 0.0, sink), np.where(past, edge, -1)
        return Rebounds(velocity, spin, back.held & ~past, sink, past, unknown, edge)

    def restitution(self, hits: Hits) -> Array:
        """Normal restitution `(k,)`."""
        across, up = self.frame.places(hits.point)
        return self.returned(np.maximum(hits.normal_speed, SLOW), across, up, hits.ball.mass)

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

    def speed_past(self, speed: Array, across: Array, up: Array, ball_mass: float) -> tuple[Array, NDArray[np.intp]]:
        """Share of its speed `(n,)` that a ball keeps as it gets past an edge that it has opened, 0: it does not; and
        which edge that is `(n,)`, as a place in EDGES.

        The edge comes in as the cloth sinks. It has to come as far as the ball's far side: by the ball's distance from
        it and a radius. What guards are beyond is no matter here: the ball flies on, and meets them.
        """
        share, edge = np.zeros(speed.size), np.full(speed.size, -1)
        if self.loose_foot:
            share, edge = np.where(up <= HEM_BAND, HEM_KEEPS, 0.0), np.where(up <= HEM_BAND, EDGES.index("foot"), -1)
        if self.open_at:
            moved = self.edge_factor * self.table(ball_mass).edge_moved(speed, *self._in_table(across, up))
            for k, side in enumerate(EDGES):
                if side in self.open_at:
                    kept = past_edge_share(_from_side(side, across, up, self.frame), moved, self.ball_radius)
                    edge = np.where(kept > share, k, edge)
                    share = np.maximum(share, kept)  # NaN stays
        return share, edge

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
        return opened_edges(self.frame, self.cloth, self.part, self.others) if self.edges_open else ()

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


def past_edge_share(from_edge: Array, moved: Array, ball_radius: float) -> Array:
    """Share of its speed `(n,)` that a ball keeps when a pulled edge has come in past it; 0: it is not reached.

    moved `(n,)`, m: how far the edge comes in at most. It needs from_edge `(n,)`, m, and a radius [cloth-edge]:
    then the cloth has sunk by that share of its depth. NaN where the movement is.
    """
    needed = np.maximum(from_edge, 0.0) + ball_radius
    left = left_at_depth(1.0, needed, np.maximum(moved, 1e-9))
    return np.asarray(np.where(needed > moved, 0.0, left))


def depth_at(kept: Array) -> Array:
    """Share of its depth `(n,)` that the cloth has sunk by when a share of the speed is left: z/d of 1 - (z/d)^1.5."""
    return np.asarray(np.clip(1.0 - kept, 0.0, 1.0) ** (1.0 / SLOWING))


def _from_side(side: str, across: Array, up: Array, frame: Hung) -> Array:
    """Distance from a side, m `(n,)`."""
    if side in ("left", "right"):
        return across if side == "left" else frame.width - across
    return up if side == "foot" else frame.height - up


def opened_edges(frame: Hung, cloth: Cloth, part: Part, others: Sequence[Part]) -> tuple[str, ...]:
    """The corded sides that a hit can open: all but those that another part of the same owner continues.

    A flap continues the foot of its screen. A second cloth in the same place, or over the edge, continues nothing.
    """
    mine = [other for other in others if other.owner == part.owner and other.name != part.name]
    found = []
    for side in sorted(cloth.corded):
        start, along, inward, length = frame.edge(side)
        ends = np.stack([start, start + length * along], axis=1)
        within = (start + 0.5 * length * along + CONTINUES_WITHIN * inward)[:, None]
        if not any(
            np.all(np.abs(other.shape.distance(ends)[0]) < SEAM) and other.shape.distance(within)[0][0] > SEAM
            for other in mine
        ):
            found.append(side)
    return tuple(found)
