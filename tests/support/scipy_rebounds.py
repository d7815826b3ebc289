"""An outside reference for whole paths: one ball at a time from touch to touch, sharing no code with flightsim.

Flights and distances are those of scipy_loop (DOP853, distances in plain numpy); normals are numerical gradients of
the distances; the bounce and the restitution of facings are written again here from the reference, in plain Python.
Only data are shared: the bay's shapes and the numbers of its facings. Screen give, laws of plugins and rolling are left
out: a ball that would roll is followed no further.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, replace
from math import exp, pi, sqrt

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, minimize_scalar
from scipy_loop import Facts, Surfaces, _root, right_side

SEPARATE = 0.02  # m/s: what touches leaves so fast, out of its speed along if need be, or as fast as it is at most
ROLLS = 0.35  # m/s: what would leave a nearly level face slower rolls on it
LEVEL = 0.5
GRAZES = 1e-3  # m/s: slower into what is not nearly level, it is parted by its speed along
TOUCHING, ONE_TOUCH, CLOSE = 1e-7, 1e-6, 1e-3  # m
UNIT = np.eye(3)


class Faces(Surfaces):
    """Distances to all parts, or to one of them."""

    def of(self, part: int, points: np.ndarray) -> np.ndarray:
        """Distances `(n,)` of one part alone."""
        if part >= len(self.axes):
            return self._other(*self.others[part - len(self.axes)], points)
        q = np.abs(self.axes[part] @ (points - self.centre[part])) - self.half[part]
        return np.sqrt((np.maximum(q, 0.0) ** 2).sum(axis=0)) + np.minimum(q.max(axis=0), 0.0) - self.round[part]


@dataclass
class Touched:
    """One contact: where and when, velocity and spin after it, energies per mass before and after, J/kg.

    rolls: it would only hop from here on something nearly level.
    """

    part: str
    time: float
    point: np.ndarray
    velocity: np.ndarray
    spin: np.ndarray
    energy_before: float
    energy_after: float
    rolls: bool
    flight: Flight


@dataclass
class Followed:
    """A ball's contacts, and why it was followed no further: dead, rolls, out, broke, many, lost."""

    contacts: list[Touched] = field(default_factory=list)
    end: str = "many"


@dataclass
class Flight:
    """One flight from touch to touch: state by time, and when and on which part it ended."""

    state: object
    part: int
    left: int
    end: float


def numbers_of(facing) -> dict:
    """The numbers of a facing, less those that it does not have."""
    return {key: value for key, value in asdict(facing).items() if value is not None and value is not False}


def plate(numbers: dict, mass: float) -> float:
    """Zener: loss factor of a ball on a wide plate, contact time .45 ms."""
    h, nu = numbers["thickness"], numbers["poisson"]
    d = numbers["stiffness"] * h**3 / 12 / (1 - nu * nu)
    z = pi * mass / (2 * 0.45e-3) / (8 * sqrt(d * numbers["density"] * h))
    return 0.0 if z >= 1 else exp(-pi * z / sqrt(1 - z * z))


def restitution(face: dict, v: float, mass: float, radius: float) -> float:
    """Of this face at this normal speed."""
    own = min(max(0.88 - 0.0023 * v, 0.60), 0.90)
    if face.get("turf"):
        board = 0.25 if v > 15 else 0.510 - 0.0375 * v + 0.000903 * v**2
    elif "fixed" in face:
        board = face["fixed"]
    elif face["table"]:
        board = float(np.interp(v, *zip(*face["table"], strict=True)))
    elif "plate" in face:
        board = own * plate(face["plate"], mass)
    else:
        board = own * face["own"]
    if "foam" not in face:
        return board
    takes = face["foam"]["crush_stress"] * pi * radius**2 * 0.7 * face["foam"]["thickness"]
    brings = mass * v * v / 2
    if brings <= takes:
        return 0.35
    return sqrt((0.35**2 * takes + board**2 * (brings - takes)) / brings)


def bounce(v: np.ndarray, w: np.ndarray, n: np.ndarray, face: dict, facts: Facts, k: float):
    """Velocity and spin after; in the plane of the slip, by the scalars of the reference."""
    after, turning = _bounced(v, w, n, face, facts, k)
    return (after if -float(v @ n) >= GRAZES or n[2] > LEVEL else apart(after, n)), turning


def apart(v: np.ndarray, n: np.ndarray) -> np.ndarray:
    """A touch at a crawl: as fast as before, turned off the face until it leaves at SEPARATE, as far as it can."""
    speed, back = float(np.linalg.norm(v)), float(v @ n)
    along = v - back * n
    if back >= SEPARATE or not along.any():
        return v
    rises = min(1.0, SEPARATE / speed)
    return speed * (rises * n + sqrt(1.0 - rises**2) * along / float(np.linalg.norm(along)))


def _bounced(v: np.ndarray, w: np.ndarray, n: np.ndarray, face: dict, facts: Facts, k: float):
    radius = facts.diameter / 2
    inward = -float(v @ n)
    if inward <= 0.0:
        return v, w
    e = restitution(face, inward, facts.mass, radius)
    out = e * inward
    if out < SEPARATE:
        out = min(SEPARATE, inward)
        e = out / inward
    speed = float(np.linalg.norm(v))
    unknown = face.get("lively") and (speed < 20.0 or speed > 2**0.5 * inward)  # then plain friction
    if face.get("soft") and inward >= ROLLS and not unknown:
        more = 1.25 if face.get("lively") else 1.0
        return held_or(*off_cloth(v, w, n, e, radius, k, more), n, face, inward)
    at_contact = v + np.cross(w, -radius * n)
    slip = at_contact - n * (at_contact @ n)
    size = float(np.linalg.norm(slip))
    if size == 0.0:
        return held_or(v + n * (inward + out), w, n, face, inward)
    t = slip / size
    rolls_about = np.cross(n, t)
    v_t, w_t = float(v @ t), float(w @ rolls_about)
    push = -(1 + face["tangential"]) * (v_t - radius * w_t) / (1 + 1 / k)
    limit = face["friction"] * (1 + e) * inward
    push = max(push, -limit)
    v_after, w_after = v_t + push, w_t - push / (k * radius)
    after = v + t * (v_after - v_t) + n * (inward + out), w + rolls_about * (w_after - w_t)
    return held_or(*after, n, face, inward)


def off_cloth(v: np.ndarray, w: np.ndarray, n: np.ndarray, e: float, radius: float, k: float, more: float = 1.0):
    """Hung cloth: .46 v_t + .2 R (w x n), times `more`, changed by .5 (1 + e) v_n at most; then it rolls, or nearly."""
    inward = -float(v @ n)
    across = v + inward * n
    surface = radius * np.cross(w, n)
    wanted = more * (0.46 * across + 0.2 * surface)
    change = float(np.linalg.norm(wanted - across))
    limit = 0.5 * (1 + e) * inward
    cut = limit / change if change > limit else 1.0
    left = across + cut * (wanted - across)
    missing = left - surface
    size = float(np.linalg.norm(missing))
    turns = 1.0 if cut == 1.0 or size == 0.0 else min(max(cut, cut * change / (k * size)), 1.0)
    return left + e * inward * n, w + turns * np.cross(n, missing) / radius


def held_or(v: np.ndarray, w: np.ndarray, n: np.ndarray, face: dict, inward: float):
    """What would leave slower than the face's hold, along it included, stays."""
    if float(np.linalg.norm(v)) < face["hold"] and inward > 2 * SEPARATE:
        return n * SEPARATE, np.zeros(3)
    return v, w


def rigid_faces(facings: dict) -> dict:
    """All faces as they would be if nothing carried a ball along: what this loop and the bench's other one know."""
    return {name: replace(face, soft=False) for name, face in facings.items()}


class Follower:
    """Follows balls in one bay."""

    def __init__(self, facts: Facts, bay, facings, inertia=0.4, rtol=1e-10, harm=5.0) -> None:
        self.facts, self.bay, self.inertia, self.rtol = facts, bay, inertia, rtol
        self.radius = facts.diameter / 2
        self.surfaces = Faces(bay)
        parts = {part.name: part for part in bay.parts}
        self.parts = [parts[name] for name in self.surfaces.names]
        self.faces = [numbers_of(facings[part.facing]) for part in self.parts]
        self.harmless = harm**2 / 2

    def follow(self, start, velocity, spin, most: int = 60) -> Followed:
        """One ball until it is dead, rolls, is out, breaks something, or has touched so many times."""
        ball, point, v, w, now, left = Followed(), start, velocity, spin, 0.0, -1
        for _ in range(most):
            state, part, t = self._fly(point, v, w, left)
            if part is None:
                ball.end = "lost" if t is None else "out"
                return ball
            y = state(t)
            point, now, flight = y[:3], now + t, Flight(state, part, left, t)
            arriving, turning = y[3:6], w * exp(-self._fade() * y[6])
            n = self.normal(part, point)
            face = self.faces[part]
            v, w = bounce(arriving, turning, n, face, self.facts, self.inertia)
            left = part
            energies = self.energy(point, arriving, turning), self.energy(point, v, w)
            rolls = n[2] > LEVEL and v @ n < ROLLS
            ball.contacts.append(Touched(self.parts[part].name, now, point, v, w, *energies, rolls, flight))
            if self.facts.mass * min(float(arriving @ n), 0.0) ** 2 / 2 >= face["broken"]:
                ball.end = "broke"
            elif energies[1] < self.harmless:
                ball.end = "dead"
            elif rolls:
                ball.end = "rolls"
            else:
                continue
            return ball
        return ball

    def energy(self, point, v, w) -> float:
        """Of flight, spin and height above the lowest floor, per mass, J/kg."""
        height = max(float(point[2] - self.bay.lower[2]) - self.radius, 0.0)
        return float(v @ v) / 2 + self.inertia * self.radius**2 * float(w @ w) / 2 + self.facts.gravity * height

    def normal(self, part: int, point: np.ndarray, h: float = 2e-6) -> np.ndarray:
        """From the part toward the ball: the gradient of its distance."""
        around = np.hstack([point[:, None] + h * UNIT, point[:, None] - h * UNIT])
        d = self.surfaces.of(part, around)
        n = d[:3] - d[3:]
        return n / np.linalg.norm(n)

    def _fade(self) -> float:
        return self.facts.spin_decay * self.facts.density / 1.2 / self.radius

    def _fly(self, start, velocity, spin, left):
        """State by time, and the part that ends this flight and when; None, 0.0 for out, None, None for lost."""
        low, high = self.bay.lower - 0.05, self.bay.upper + 0.05

        def leave(t: float, y: np.ndarray) -> float:
            return min(*(y[:3] - low), *(high - y[:3]))

        leave.terminal = True
        state = np.concatenate([start, velocity, [0.0]])
        solved = solve_ivp(
            right_side(self.facts, spin), (0.0, 20.0), state, "DOP853", rtol=self.rtol, atol=self.rtol * 1e-2,
            events=leave, dense_output=True,
        )  # fmt: skip
        end, path = solved.t[-1], solved.y[6, -1]
        even = np.linspace(0.0, end, int(path / self.radius) + 40)
        times = np.concatenate([[0.0], np.geomspace(1e-7, even[1], 24)[:-1], even[1:]])  # hops may be short
        where = solved.sol(times)[:3]
        gaps = self.surfaces(where) - self.radius
        found = []
        for part in np.flatnonzero(gaps.min(axis=1) < 0.25 * self.radius):
            time = self._touch(solved.sol, times, gaps[part], part, start, velocity)
            if time is not None:
                found.append((time, part))
        soonest = min((time for time, _ in found), default=np.inf)
        out = min((time for o in self.bay.openings if (time := self._through(o, solved.sol, times, where)) is not None),
                  default=np.inf)  # fmt: skip
        if out < soonest or not found:
            return solved.sol, None, 0.0 if out < np.inf or solved.status == 1 else None
        tie = soonest + ONE_TOUCH / float(np.linalg.norm(solved.sol(soonest)[3:6]))
        first = min((f for f in found if f[0] <= tie), key=lambda f: self._rank(f[1]))
        return solved.sol, first[1], first[0]

    def _rank(self, part: int) -> tuple[bool, str]:
        """Of touches at once, what is no guard counts, then the name that comes first."""
        return self.parts[part].role.value == "guard", self.parts[part].name

    def _touch(self, state, times, row, part: int, start, velocity) -> float | None:
        first = 0
        if row[0] <= TOUCHING:  # it touches already: at once, or once it has come off
            if velocity @ self.normal(part, start) < 0.0:
                return 0.0
            off = np.flatnonzero(row[1:] > max(row[0], 0.0) + 1e-10)
            if off.size == 0:
                return None
            first = off[0] + 1
        return _root(row, times, first, lambda t: float(self.surfaces.of(part, state(t)[:3, None])[0]) - self.radius)

    def _through(self, opening, state, times, where) -> float | None:
        """When the centre goes out through an opening."""
        out = opening.normal @ (where - opening.corners[0][:, None])
        for i in np.flatnonzero((out[:-1] < 0) & (out[1:] >= 0)):
            time = brentq(lambda t: float(opening.normal @ (state(t)[:3] - opening.corners[0])), times[i], times[i + 1])
            if self.surfaces._other("Sheet", opening, state(time)[:3, None])[0] < 1e-6:
                return time
        return None

    def touchy(self, flight: Flight) -> str:
        """Why a hair's breadth decides at the end of this flight, in words; empty where it does not."""
        point = flight.state(flight.end)[:3]
        n = self.normal(flight.part, point)
        a = np.cross(n, UNIT[int(np.argmin(np.abs(n)))])
        a /= np.linalg.norm(a)
        for way in (a, -a, np.cross(n, a), -np.cross(n, a)):
            if np.abs(self.normal(flight.part, point + CLOSE * way) - n).max() > 1e-6:
                return f"met {self.parts[flight.part].name} on an edge or a round"
        for part in range(len(self.parts)):
            if part not in (flight.part, flight.left) and self._nearest(flight, part) < CLOSE:
                return f"passed {self.parts[part].name} within 1 mm"
        return ""

    def _nearest(self, flight: Flight, part: int) -> float:
        """How close the ball comes to this part before the flight ends, m."""
        times = np.linspace(0.0, flight.end, 400)
        row = np.abs(self.surfaces.of(part, flight.state(times)[:3]) - self.radius)
        i = int(row.argmin())
        if row[i] > 0.02:
            return float(row[i])
        between = times[max(i - 1, 0)], times[min(i + 1, 399)]
        low = minimize_scalar(
            lambda t: abs(float(self.surfaces.of(part, flight.state(t)[:3, None])[0]) - self.radius),
            bounds=between, method="bounded",
        )  # fmt: skip
        return float(min(low.fun, row[i]))
