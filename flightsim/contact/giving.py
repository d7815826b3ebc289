"""How a ball leaves cloth that gives: what comes back, how far it sinks, where it gets past an edge that it opens."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import floor

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Part, Role
from flightsim.cloth.closed_form import FAR_FACTOR, NEAR_FACTOR, REAL_CLOTH, return_restitution
from flightsim.cloth.closed_form import speed_left as left_at_depth
from flightsim.cloth.fabric import Cloth
from flightsim.cloth.table import DepthTable, depth_table, slack_weave, stiff_weave
from flightsim.contact.rebound import Hits, Rebounds, bounce

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

EDGE_BAND = 0.20  # m: the outer band of a corded cloth where a ball may get past (project reference)
STEP = 0.02  # m, between the places of a gap that are looked at: less than a ball
ALONG_STEP = 0.10  # m, along an edge
IN_FRONT, BEHIND = 0.30, 1.0  # m: where another guard may stand to cover an opened edge (judgement)
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
    as stopped. net: it is a net. loose_foot: nothing holds its foot, which a ball lifts.
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

    def __call__(self, hits: Hits) -> Rebounds:
        """The balls just after: what an elastic cloth gives back, with the least damping of a real one."""
        restitution = self.restitution(hits)
        back = bounce(hits, restitution, hits.facing.friction, hits.facing.tangential, hits.facing.hold)
        sink = np.zeros(restitution.size)
        fast = np.flatnonzero(hits.normal_speed > SLOW)
        if fast.size == 0:
            return back
        across, up = self.frame.places(hits.point[:, fast])
        speed = hits.normal_speed[fast]
        sink[fast] = self.far_depth(speed, across, up, hits.ball.mass)
        left = self.speed_past(speed, across, up, hits.ball.mass)
        if self.loose_foot:
            left = np.maximum(left, np.where(up <= HEM_BAND, HEM_KEEPS, 0.0))
        past = np.zeros(restitution.size, dtype=bool)
        whole = np.sqrt((hits.velocity[:, fast] ** 2).sum(axis=0))
        past[fast] = left * whole >= self.harm_speed
        velocity, spin = back.velocity.copy(), back.spin.copy()
        through = np.flatnonzero(past[fast])
        at = fast[through]
        velocity[:, at], spin[:, at] = hits.velocity[:, at] * left[through], hits.spin[:, at]
        return Rebounds(velocity, spin, back.held & ~past, sink, past)

    def restitution(self, hits: Hits) -> Array:
        """Normal restitution `(k,)`."""
        across, up = self.frame.places(hits.point)
        return self.returned(np.maximum(hits.normal_speed, SLOW), across, up, hits.ball.mass)

    def returned(self, speed: Array, across: Array, up: Array, ball_mass: float) -> Array:
        """Speed back over speed in `(n,)`, at the lively end of what real cloths give.

        A net is no trampoline: without damping in its knots its lattice would send back .3 to .4. It is taken to
        give what the project reference gives for a corded cloth at that place (judgement).
        """
        if self.net:
            width, height = self.frame.width, self.frame.height
            return REAL_CLOTH[1] * return_restitution(np.minimum(across, width - across), np.minimum(up, height - up))
        return REAL_CLOTH[1] * self.table(ball_mass).restitution(speed, *self._in_table(across, up))

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

    def near_depth(self, speed: Array, across: Array, up: Array, ball_mass: float) -> Array:
        """Depth, m `(n,)`, at the near end."""
        near = self.near if self.shear_known else min(self.near, stiff_weave(self.cloth))
        return near * self.depth(speed, across, up, ball_mass)

    def speed_past(self, speed: Array, across: Array, up: Array, ball_mass: float) -> Array:
        """Share of its speed `(n,)` that a ball keeps as it gets past an edge that it has opened; 0: it does not.

        In the outer band the edge is pulled inward; what guards leave open of it lets a ball past when it is as wide
        as the ball. The edge comes in as the cloth sinks.
        """
        share = np.zeros(speed.size)
        if not self.open_at:
            return share
        moved = FAR_FACTOR * self.table(ball_mass).edge_moved(speed, *self._in_table(across, up))
        for side, open_at in self.open_at.items():
            from_edge, along = _from_side(side, across, up, self.frame)
            row = np.clip(np.rint(along / ALONG_STEP).astype(np.intp), 0, open_at.shape[0] - 1)
            centres = self.ball_radius + STEP * np.arange(open_at.shape[1])
            fits = open_at[row] & (centres <= (moved - self.ball_radius)[:, None])
            first = np.where(fits, centres, np.inf).min(axis=1)
            lets = (from_edge <= EDGE_BAND) & np.isfinite(first)
            needed = np.where(lets, first + self.ball_radius, 0.0)
            share = np.where(lets, np.maximum(share, left_at_depth(1.0, needed, np.maximum(moved, 1e-9))), share)
        return share

    def table(self, ball_mass: float) -> DepthTable:
        """Depths and returns of this cloth; worked out once a process."""
        return depth_table(self.rounded, ball_mass, self.net)

    @cached_property
    def open_at(self) -> dict[str, Mask]:
        """For each corded side that nothing continues, where no guard covers what a hit opens `(along, inward)`."""
        if not self.edges_open:
            return {}
        return opened_edges(self.frame, self.cloth, self.part, self.others, self.ball_radius)

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


def _from_side(side: str, across: Array, up: Array, frame: Hung) -> tuple[Array, Array]:
    """Distance from a side, and along it from where it begins, m `(n,)`."""
    if side in ("left", "right"):
        return (across if side == "left" else frame.width - across), up
    return (up if side == "foot" else frame.height - up), across


def opened_edges(frame: Hung, cloth: Cloth, part: Part, others: Sequence[Part], radius: float) -> dict[str, Mask]:
    """Where a hit can open a corded side, by side `(along, inward)`: True where no other guard would stop the ball.

    A side that another part of the same owner continues, as a flap does a screen, is none. Looked at are balls that go
    straight through the gap: guards from 0.3 m in front to 1 m behind count.
    """
    mine = [other for other in others if other.owner == part.owner and other.name != part.name]
    guards = [other for other in others if other.role is Role.GUARD and other.name != part.name]
    found: dict[str, Mask] = {}
    for side in sorted(cloth.corded):
        start, along, inward, length = frame.edge(side)
        ends = np.stack([start, start + length * along], axis=1)
        if any(np.all(np.abs(other.shape.distance(ends)[0]) < 2e-3) for other in mine):
            continue
        found[side] = ~_covered(frame, (start, along, inward, length), guards, radius)
    return found


def _covered(frame: Hung, edge: tuple[Array, Array, Array, float], guards: Sequence[Part], radius: float) -> Mask:
    """Whether a guard is in the way of balls that go straight through the opened edge `(along, inward)`."""
    start, along, inward, length = edge
    t = np.arange(int(length / ALONG_STEP) + 2) * ALONG_STEP
    c = radius + STEP * np.arange(int(2.5 * EDGE_BAND / STEP))
    d = np.arange(-IN_FRONT, BEHIND, 2.0 * STEP)
    t = np.minimum(t, length)
    steps = np.stack(np.meshgrid(t, c, d, indexing="ij")).reshape(3, -1)
    ways = np.stack([along, inward, frame.out], axis=1)
    points = start[:, None] + (ways[:, :, None] * steps[None]).sum(axis=1)
    stopped = np.zeros(points.shape[1], dtype=bool)
    lower, upper = points.min(axis=1) - radius, points.max(axis=1) + radius
    for guard in guards:
        low, high = guard.shape.bounds()
        if np.all(low <= upper) and np.all(high >= lower):
            stopped |= guard.shape.distance(points)[0] <= radius
    return np.asarray(stopped.reshape(t.size, c.size, d.size).any(axis=2))
