"""An outside reference for first contacts: one shot at a time with scipy's DOP853, sharing no code with flightsim.

The equations are written again here from the papers (naruo2004 with its blends, spin decay by air path), in plain
Python floats, and the distances to boxes, polygons and tubes in plain numpy. A terminal event ends the flight where
the ball leaves the bay's box; the first contact is sought on the dense output, closer than a ball radius, and
refined with brentq.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, minimize_scalar


@dataclass
class Facts:
    """What the reference needs, as plain numbers: kg, m, kg/m3, Pa s, m/s2."""

    mass: float
    diameter: float
    density: float
    viscosity: float
    gravity: float = 9.80665
    spin_decay: float = 2.0e-5


def step(x: float) -> float:
    x = min(max(x, 0.0), 1.0)
    return x * x * (3.0 - 2.0 * x)


def naruo(s: float, re: float) -> tuple[float, float]:
    h = min(s, 1.13)
    cd = 0.7510 * h**4 - 1.760 * h**3 + 1.098 * h**2 + 0.2148 * h + 0.2049
    h = min(max(s, 0.03), 1.13)
    cl = -0.2158 * h**4 + 1.006 * h**3 - 1.644 * h**2 + 1.250 * h + 0.0616
    if s < 0.03:
        cl *= s / 0.03
    return cd + step((7.5e4 - re) / 2.5e4) * max(0.0, 0.50 - cd), cl


def right_side(facts: Facts, spin: np.ndarray):
    """State x, y, z, vx, vy, vz, air path."""
    radius = facts.diameter / 2
    k = 0.5 * facts.density * np.pi * radius**2 / facts.mass
    decay = facts.spin_decay * facts.density / 1.2 / radius
    w0x, w0y, w0z = (float(w) for w in spin)

    def f(t: float, state: np.ndarray) -> tuple[float, ...]:
        _, _, _, vx, vy, vz, path = state.tolist()
        fade = exp(-decay * path)
        wx, wy, wz = w0x * fade, w0y * fade, w0z * fade
        cx, cy, cz = wy * vz - wz * vy, wz * vx - wx * vz, wx * vy - wy * vx
        v = sqrt(vx * vx + vy * vy + vz * vz)
        c = sqrt(cx * cx + cy * cy + cz * cz)
        cd, cl = naruo(radius * c / (v * v), v * facts.density * facts.diameter / facts.viscosity)
        drag = -k * cd * v
        lift = k * cl * v * v / c if c > 0.0 else 0.0
        return (
            vx,
            vy,
            vz,
            drag * vx + lift * cx,
            drag * vy + lift * cy,
            drag * vz + lift * cz - facts.gravity,
            v,
        )

    return f


class Surfaces:
    """Distances from points to every part of a bay, `(parts, n)`."""

    def __init__(self, bay) -> None:
        self.names = []
        boxes, self.others = [], []
        for part in bay.parts:
            kind = type(part.shape).__name__
            if kind == "Box":
                boxes.append(part)
            else:
                self.others.append((kind, part.shape))
                self.names.append(part.name)
        self.names = [part.name for part in boxes] + self.names
        self.centre = np.array([b.shape.centre for b in boxes])[:, :, None]
        self.axes = np.array([b.shape.axes for b in boxes])
        self.straight = all(np.array_equal(a, np.eye(3)) for a in self.axes)
        self.round = np.array([b.shape.corner_radius for b in boxes])[:, None]
        self.half = np.array([b.shape.half for b in boxes])[:, :, None] - self.round[:, :, None]

    def __call__(self, points: np.ndarray) -> np.ndarray:
        local = points[None] - self.centre
        if not self.straight:
            local = self.axes @ local
        q = np.abs(local) - self.half
        away = np.sqrt((np.maximum(q, 0.0) ** 2).sum(axis=1)) + np.minimum(q.max(axis=1), 0.0) - self.round
        return np.vstack([away, *(self._other(kind, shape, points) for kind, shape in self.others)])

    @staticmethod
    def _other(kind: str, shape, points: np.ndarray) -> np.ndarray:
        if kind == "RoundTube":
            axis = shape.end - shape.start
            length = np.linalg.norm(axis)
            axis = axis / length
            h = axis @ (points - shape.start[:, None])
            rho = np.linalg.norm(points - shape.start[:, None] - axis[:, None] * h, axis=0) - shape.radius
            end = np.abs(h - length / 2) - length / 2
            return np.hypot(np.maximum(rho, 0), np.maximum(end, 0)) + np.minimum(np.maximum(rho, end), 0)
        corners = np.asarray(shape.corners)
        normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        normal /= np.linalg.norm(normal)
        height = normal @ (points - corners[0][:, None])
        flat = points - normal[:, None] * height
        inside, square = np.ones(points.shape[1], bool), np.full(points.shape[1], np.inf)
        for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            edge = b - a
            inside &= normal @ np.cross(edge, (flat - a[:, None]).T).T >= 0
            along = np.clip(edge @ (flat - a[:, None]) / (edge @ edge), 0, 1)
            square = np.minimum(square, ((flat - a[:, None] - edge[:, None] * along) ** 2).sum(axis=0))
        return np.sqrt(height**2 + np.where(inside, 0.0, square))


def first_contact(facts: Facts, bay, surfaces: Surfaces, start, velocity, spin, rtol: float, openings: bool = True):
    """(name of the first part, or of the opening as "> name"; time; ball centre). None where it only flies on."""
    low, high = bay.lower - 0.05, bay.upper + 0.05

    def leave(t: float, y: np.ndarray) -> float:
        x, yy, z = y[0], y[1], y[2]
        return min(x - low[0], high[0] - x, yy - low[1], high[1] - yy, z - low[2], high[2] - z)

    leave.terminal = True
    state = np.concatenate([start, velocity, [0.0]])
    solved = solve_ivp(
        right_side(facts, spin),
        (0.0, 20.0),
        state,
        "DOP853",
        rtol=rtol,
        atol=rtol * 1e-2,
        events=leave,
        dense_output=True,
    )
    end = solved.t[-1]
    radius = facts.diameter / 2
    count = int(np.linalg.norm(velocity) * end / (0.5 * radius)) + 20
    times = np.linspace(0.0, end, count)
    where = solved.sol(times)[:3]
    gaps = surfaces(where) - radius

    def gap(t: float, part: int) -> float:
        return float(surfaces(solved.sol(t)[:3, None])[part, 0] - radius)

    found = []
    for part in np.flatnonzero(gaps.min(axis=1) < 0.25 * radius):
        row = gaps[part]
        k = 1 if row[0] <= 1e-7 else 0
        if k and gap(times[0] + 1e-7, part) < row[0]:
            time = 0.0
        else:
            time = _root(row, times, k, lambda t, part=part: gap(t, part))
        if time is not None:
            found.append((time, surfaces.names[part]))
    # Touches within a micrometre of path are one, and go to the part whose name comes first.
    soonest = min((time for time, _ in found), default=np.inf)
    tie = 1e-6 / float(np.linalg.norm(velocity))
    best, name = min(
        ((time, name) for time, name in found if time <= soonest + tie), key=lambda f: f[1], default=(np.inf, None)
    )
    for opening in bay.openings if openings else ():
        out = opening.normal @ (where - opening.corners[0][:, None])
        crossed = np.flatnonzero((out[:-1] < 0) & (out[1:] >= 0))
        if crossed.size:
            i = crossed[0]
            time = brentq(
                lambda t, o=opening: float(o.normal @ (solved.sol(t)[:3] - o.corners[0])),
                times[i],
                times[i + 1],
                xtol=1e-13,
            )
            if time < best and surfaces._other("Sheet", opening, solved.sol(time)[:3, None])[0] < 1e-6:
                best, name = time, "> " + opening.name
    return None if name is None else (name, best, solved.sol(best)[:3])


def _root(row: np.ndarray, times: np.ndarray, first: int, gap) -> float | None:
    """First root of a sampled gap, grazes between samples included."""
    for i in range(first, len(row) - 1):
        if row[i] > 0 >= row[i + 1]:
            return brentq(gap, times[i], times[i + 1], xtol=1e-14)
        if i > first and row[i - 1] > row[i] < row[i + 1]:
            low = minimize_scalar(gap, bounds=(times[i - 1], times[i + 1]), method="bounded", options={"xatol": 1e-12})
            if low.fun < 0:
                return brentq(gap, times[i - 1], low.x, xtol=1e-14)
    return None
