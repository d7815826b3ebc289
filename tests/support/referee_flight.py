"""One free flight for the referee: DOP853 with wind, until the ball has left the room's box for good."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from scipy.integrate import solve_ivp
from scipy_loop import naruo, step

LONGEST = 30.0  # s


@dataclass
class Flight:
    """A flight, or a roll: state `(6 or more, n)` by time since it began, its end, s, and spin by time.

    rests: the ball lies still at its end.
    """

    state: object
    end: float
    spin: object
    length: float
    rests: bool = False

    def ball_at(self, t: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Point, velocity and spin then."""
        y = self.state(t)
        return y[:3].copy(), y[3:6].copy(), self.spin(t)

    def looks(self, radius: float) -> np.ndarray:
        """Times closer than the ball's radius of path, and close together at first: hops may be short."""
        if not hasattr(self, "_looks"):
            even = np.linspace(0.0, self.end, int(self.length / radius) + 40)
            self._looks = np.concatenate([[0.0], np.geomspace(1e-7, even[1], 24)[:-1], even[1:]])
        return self._looks


def coefficients(model: str, s: float, re: float) -> tuple[float, float]:
    """CD and CL of the models, from their papers."""
    if model == "ferguson2022":
        cd = 0.3915 if s > 0.5622 else 0.1304 + 0.9287 * s - 0.8259 * s * s
        h = max(s, 0.05)
        cl = 0.3653 if s > 0.5235 else 0.0504 + 1.2031 * h - 1.1490 * h * h
        return cd, cl * min(s / 0.05, 1.0)
    cd, cl = naruo(s, re)
    if model == "naruo2004":
        return cd, cl
    k = {"naruo2004_no_low_lift": 0.0, "naruo2004_reversed_low_lift": -0.5}[model]
    b = step((re - 4.0e4) / 1.0e4) * (1.0 - step((re - 6.5e4) / 1.0e4))
    return cd, cl * (1.0 - (1.0 - k) * b * (1.0 - step((s - 0.15) / 0.20)))


def model_name(aero) -> str:
    """Which of the shipped models a function is."""
    from flightsim.flight.aerodynamics import AERO_MODELS

    return next(name for name, known in AERO_MODELS.items() if known is aero)


def fly(facts, physics, bay, ball, rtol: float) -> Flight:
    """From where the ball is until its centre is 5 cm outside the box, or 30 s after the strike."""
    radius, model = facts.diameter / 2, model_name(physics.aero)
    k = 0.5 * facts.density * np.pi * radius**2 / facts.mass
    decay = facts.spin_decay * facts.density / 1.2 / radius
    w0x, w0y, w0z = (float(w) for w in ball.w)
    ax, ay, az = physics.wind
    low, high = bay.lower - 0.05, bay.upper + 0.05

    def f(t: float, state: np.ndarray) -> tuple[float, ...]:
        _, _, _, gx, gy, gz, path = state.tolist()
        vx, vy, vz = gx - ax, gy - ay, gz - az
        fade = exp(-decay * path)
        wx, wy, wz = w0x * fade, w0y * fade, w0z * fade
        cx, cy, cz = wy * vz - wz * vy, wz * vx - wx * vz, wx * vy - wy * vx
        v, c = sqrt(vx * vx + vy * vy + vz * vz), sqrt(cx * cx + cy * cy + cz * cz)
        if v == 0.0:
            return gx, gy, gz, 0.0, 0.0, -facts.gravity, 0.0
        cd, cl = coefficients(model, radius * c / (v * v), v * facts.density * facts.diameter / facts.viscosity)
        drag, lift = -k * cd * v, k * cl * v * v / c if c > 0.0 else 0.0
        return gx, gy, gz, drag * vx + lift * cx, drag * vy + lift * cy, drag * vz + lift * cz - facts.gravity, v

    def leave(t: float, y: np.ndarray) -> float:
        return min(*(y[:3] - low), *(high - y[:3]))

    leave.terminal = True
    state = np.concatenate([ball.point, ball.v, [0.0]])
    longest = max(LONGEST - ball.time, 1e-3)
    solved = solve_ivp(f, (0.0, longest), state, "DOP853", rtol=rtol, atol=rtol * 1e-2, events=leave, dense_output=True)
    end = float(solved.t[-1])
    length = float(np.sqrt((np.diff(solved.sol(np.linspace(0.0, end, 60))[:3], axis=1) ** 2).sum(axis=0)).sum())
    spin = ball.w.copy()
    return Flight(solved.sol, end, lambda t: spin * exp(-decay * float(solved.sol(t)[6])), length)
