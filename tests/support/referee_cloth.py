"""What hung cloth does to one ball, written again in plain Python from docs/cloth.md: depth, return, opened edges.

Only data are shared with flightsim: the numbers of a cloth, and the lattice's table of depths, returns and edges, which
is read here with an interpolation of its own.
"""

from __future__ import annotations

from dataclasses import replace
from math import exp, floor, isnan, log, sqrt

import numpy as np
from referee_shapes import distance_to
from scipy.optimize import brentq

from flightsim.cloth.table import depth_table  # the lattice's numbers: data

FAR = 1.6  # of the depth: the far end of its band
SEAM, WITHIN = 2e-3, 0.10  # m: what hangs together at an edge, and does not lie over it so far in, continues it
HEM, UNDER = 0.30, 0.5  # a foot that is loose lets balls under so far up, m, with this share of their speed
SINKS = 1.0  # m/s: slower hits sink nothing
OFF = 1e-3 + 5e-7  # m off a face, it carries a ball no longer
ROUNDED = 0.1  # m
SIDES = ("left", "right", "foot", "top")
CARRIES, FLATTEST, STAYS = 1.2, 1.2, 0.037  # docs/cloth.md: the way along cloth


class ClothOf:
    """One cloth of a bay. law: the numbers of it."""

    def __init__(self, law, mass: float) -> None:
        self.law, self.mass, frame = law, mass, law.frame
        self.corner, self.right, self.up, self.out = frame.corner, frame.right, frame.up, frame.out
        self.width, self.height = frame.width, frame.height
        sides = (max(0.3, ROUNDED * floor(side / ROUNDED + 1e-9)) for side in (law.cloth.width, law.cloth.height))
        self.small = replace(law.cloth, **{n: round(s, 6) for n, s in zip(("width", "height"), sides, strict=True)})
        same_owner = [part for part in law.others if part.owner == law.part.owner and part.name != law.part.name]
        self.same_owner = [distance_to(part.shape) for part in same_owner]

    def place(self, point: np.ndarray) -> tuple[float, float]:
        """Across from the left edge and up from the foot, m."""
        local = point - self.corner
        return float(local @ self.right), float(local @ self.up)

    def table(self, slack: bool = False):
        """The lattice's hits for this cloth, or without shear stiffness."""
        cloth = replace(self.small, shear_ratio=0.0) if slack else self.small
        return depth_table(cloth, self.mass, slack or (self.law.net and not self.law.edges_open))

    def read(self, values, table, speed: float, across: float, up: float, within: bool = False) -> float:
        """Between the table's hits: linear in log speed and in place, held at the outermost places."""
        across, up = across * self.small.width / self.width, up * self.small.height / self.height
        speeds = table.speeds
        if within:
            speed = min(max(speed, speeds[0]), speeds[-1])
        i, s = cell([log(v) for v in speeds], log(speed))
        j, a = cell(table.across, min(max(across, table.across[0]), table.across[-1]))
        k, b = cell(table.up, min(max(up, table.up[0]), table.up[-1]))
        found = 0.0
        for di, wi in ((0, 1 - s), (1, s)):
            for dj, wj in ((0, 1 - a), (1, a)):
                for dk, wk in ((0, 1 - b), (1, b)):
                    found += wi * wj * wk * float(values[i + di, j + dj, k + dk])
        return found

    def returned(self, speed: float, across: float, up: float) -> float:
        """Restitution of a square hit."""
        speed = max(speed, SINKS)
        if self.law.net:  # reference: .10 in the middle, .30 at a side, .37 in a corner, by distance
            sides = sorted((min(across, self.width - across), min(up, self.height - up)))
            return self.law.damping * net_return(*sides)
        table = self.table()
        return self.law.damping * min(max(self.read(table.restitutions, table, speed, across, up, True), 0.0), 1.0)

    def sinks(self, speed: float, across: float, up: float) -> float:
        """How far it goes, m: the middle of what is known, or the far end of deep cloth."""
        table = self.table()
        if not self.law.deep:
            return exp(self.read(np.log(table.depths), table, speed, across, up))
        deep = self.law.far * exp(self.read(np.log(table.depths), table, speed, across, up))
        if self.law.shear_known or self.law.cloth.shear_ratio == 0.0:
            return deep
        table = self.table(slack=True)
        return max(deep, exp(self.read(np.log(table.depths), table, speed, across, up)))

    def comes_in(self, speed: float, across: float, up: float) -> float:
        """How far the edge nearest to the hit comes in, m."""
        if not any(self._opens(side) for side in SIDES):
            return 0.0
        table = self.table()
        edges = np.log(np.maximum(table.edges, 1e-6))
        return (FAR if self.law.deep else 1.0) * exp(self.read(edges, table, speed, across, up))

    def _opens(self, side: str) -> bool:
        return self.law.edges_open and side in self.law.cloth.corded and not self._seam(side)

    def _from(self, side: str, across: float, up: float) -> float:
        return {"left": across, "right": self.width - across, "foot": up, "top": self.height - up}[side]

    def gets_past(self, speed: float, across: float, up: float, to_across: float, to_up: float) -> float:
        """Share of its speed that the ball keeps as it gets past an edge while it sinks, 0 where it does not.

        It is at the first place as it hits, and at the second when it has sunk.
        """
        share = UNDER if self.law.loose_foot and min(up, to_up) <= HEM else 0.0
        moved = self.comes_in(speed, across, up)
        for side in SIDES:
            nearest = min(self._from(side, across, up), self._from(side, to_across, to_up))
            needed = max(nearest, 0.0) + self.law.ball_radius
            if self._opens(side) and needed <= moved:
                share = max(share, 1.0 - min(needed / max(moved, 1e-9), 1.0) ** 1.5)
        return share

    def stays(self, speed: float, across: float, up: float) -> float:
        """How long the ball is in the cloth, s."""
        table = self.table()
        found = self.read(np.log(table.stays), table, speed, across, up, True)
        return STAYS if isnan(found) else exp(found)

    def turned(self, speed: float, across: float, up: float) -> float:
        """How much of its way along the cloth, at most, lies behind the ball when it is deepest, as a share.

        docs/cloth.md: what is left of its time it goes at least as fast along as it leaves, and its way is 1.2 times
        that speed in all its time.
        """
        table, stay = self.table(), self.stays(speed, across, up)
        deepest = exp(self.read(np.log(table.turns), table, speed, across, up, True))
        return 1.0 if isnan(deepest) else 1.0 - max(stay - deepest, 0.0) / (CARRIES * stay)

    def carried(self, v_out, n, speed: float, across: float, up: float) -> tuple[np.ndarray, float, str]:
        """How far along the cloth the ball goes, m, for how long, s, and whether that takes it past an edge: `crossed`,
        `reached` where the edge comes in to it, or neither.

        Only before it is deepest: later it is on its way back, and what it comes to an edge with is a rebound.
        """
        stay, along = self.stays(speed, across, up), v_out - n * float(v_out @ n)
        fast = float(np.linalg.norm(along))
        way = along * (CARRIES * stay * min(1.0, FLATTEST * speed / max(fast, 1e-9)))
        to_across, to_up = across + float(way @ self.right), up + float(way @ self.up)
        reach, turns = self.comes_in(speed, across, up) - self.law.ball_radius, self.turned(speed, across, up)
        ends = [(1.0, 0, "")]
        for side in SIDES:
            begin, end = max(self._from(side, across, up), 0.0), self._from(side, to_across, to_up)
            if end >= begin:
                continue
            if self._opens(side) and end < reach and (share_at := max(begin - reach, 0.0) / (begin - end)) <= turns:
                ends.append((share_at, 1, "reached"))
            if end < 0.0:
                share_at = begin / (begin - end)
                ends.append((share_at, 2, "" if self._seam(side) or share_at > turns else "crossed"))
        share, _, how = min(ends)
        return way * share, stay * share, how

    def _seam(self, side: str) -> bool:
        """Whether a part of the same owner goes on from this side."""
        far = self.corner + self.width * self.right + self.height * self.up
        begin, way, inward, length = {
            "left": (self.corner, self.up, self.right, self.height),
            "right": (far - self.height * self.up, self.up, -self.right, self.height),
            "foot": (self.corner, self.right, self.up, self.width),
            "top": (far - self.width * self.right, self.right, -self.up, self.width),
        }[side]
        return self._continued(begin + 0.5 * length * way + WITHIN * inward, begin, begin + length * way)

    def _continued(self, within: np.ndarray, *ends: np.ndarray) -> bool:
        """Whether a part of the same owner goes on from this side, and is not there inside it too."""
        return any(
            all(abs(surface(end[:, None])) < SEAM for end in ends) and surface(within[:, None]) > SEAM
            for surface in self.same_owner
        )


def cell(axis, x: float) -> tuple[int, float]:
    """Which step of a rising axis, and how far along it; beyond the ends the outermost step goes on."""
    i = min(max(int(np.searchsorted(axis, x, side="right")) - 1, 0), len(axis) - 2)
    return i, (x - axis[i]) / (axis[i + 1] - axis[i])


def net_return(near: float, other: float) -> float:
    """Reference: by the distance of the nearest side, m, and of the nearest across it."""
    sides = np.interp(near, (0.15, 0.45, 1.3), (0.30, 0.16, 0.10))
    corners = np.interp(other, (0.15, 0.45, 1.3), (0.37, 0.16, 0.10))
    return float(max(sides, corners))


def speed_left(speed: float, share: float, kept: float = 0.0) -> float:
    """V (1 - (z/d)^1.5), of a way at whose end a share of the speed is kept."""
    return speed * (1.0 - (1.0 - kept) * min(max(share, 0.0), 1.0) * sqrt(min(max(share, 0.0), 1.0)))


def way_on_face(surface, point, v_out, n, speed: float, radius: float) -> tuple[np.ndarray, float]:
    """How far cloth without a lattice takes the ball along, m, at most to where its face ends, and for how long, s."""
    along = v_out - n * float(v_out @ n)
    way = along * (CARRIES * STAYS * min(1.0, FLATTEST * speed / max(float(np.linalg.norm(along)), 1e-9)))
    shares = np.linspace(0.0, 1.0, 17)
    off = surface(point[:, None] + way[:, None] * shares) - radius - OFF
    if not (off[1:] > 0.0).any():
        return way, STAYS
    j = int(np.argmax(off[1:] > 0.0)) + 1
    ends = brentq(lambda s: float(surface((point + way * s)[:, None])[0]) - radius - OFF, shares[j - 1], shares[j])
    return way * ends, STAYS * ends
