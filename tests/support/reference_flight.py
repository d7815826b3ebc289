"""An outside reference for free flight: one ball at a time with scipy's DOP853, sharing no code with flightsim.

The equations are written again here from the papers, in plain Python floats: naruo2004 and ferguson2022 with the
blends outside their ranges, lift scaled at low Reynolds number, spin decay by air path, and wind. Beside it, the few
lines that join flightsim's arcs up to a given time.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, pi, sqrt

import numpy as np
from scipy.integrate import solve_ivp

from flightsim.flight.integrator import Physics, fly_arcs

RPM = 2.0 * pi / 60.0
MPH = 0.44704
YARD = 0.9144


def step(x: float) -> float:
    x = min(max(x, 0.0), 1.0)
    return x * x * (3.0 - 2.0 * x)


def naruo(s: float, re: float, k_low: float = 1.0) -> tuple[float, float]:
    """Naruo, Mizota & Shimozono 2004, Trans. JSME B 70(697):2371; the blends are flightsim's own."""
    a = min(s, 1.13)
    cd = 0.7510 * a**4 - 1.760 * a**3 + 1.098 * a**2 + 0.2148 * a + 0.2049
    a = min(max(s, 0.03), 1.13)
    cl = -0.2158 * a**4 + 1.006 * a**3 - 1.644 * a**2 + 1.250 * a + 0.0616
    cl *= min(s / 0.03, 1.0)
    cd += step((7.5e4 - re) / 2.5e4) * max(0.0, 0.50 - cd)
    b = step((re - 4.0e4) / 1.0e4) * (1.0 - step((re - 6.5e4) / 1.0e4))
    q = 1.0 - step((s - 0.15) / 0.20)
    return cd, cl * (1.0 - (1.0 - k_low) * b * q)


def ferguson(s: float, re: float) -> tuple[float, float]:
    """Ferguson, McNally & McPhee 2022, ISEA 14, doi 10.5703/1288284317493."""
    cd = 0.3915 if s > 0.5622 else 0.1304 + 0.9287 * s - 0.8259 * s * s
    s_held = min(max(s, 0.05), 0.5235)
    cl = 0.3653 if s > 0.5235 else 0.0504 + 1.2031 * s_held - 1.1490 * s_held * s_held
    return cd, cl * min(s / 0.05, 1.0)


REFERENCE_MODELS: dict[str, Callable[[float, float], tuple[float, float]]] = {
    "naruo2004": naruo,
    "naruo2004_no_low_lift": lambda s, re: naruo(s, re, 0.0),
    "naruo2004_reversed_low_lift": lambda s, re: naruo(s, re, -0.5),
    "ferguson2022": ferguson,
}


@dataclass(frozen=True)
class Setting:
    """What the reference needs, as plain numbers: kg, m, kg/m3, Pa s, m/s2, m/s."""

    model: str = "naruo2004"
    density: float = 1.2
    viscosity: float = 1.458e-6 * 293.15**1.5 / (293.15 + 110.4)
    mass: float = 0.04593
    diameter: float = 0.04267
    gravity: float = 9.80665
    wind: tuple[float, float, float] = (0.0, 0.0, 0.0)
    spin_decay: float = 2.0e-5


def reference_states(setting: Setting, velocity, spin, times) -> np.ndarray:
    """x, y, z, vx, vy, vz and the air path, `(7, len(times))`, of a ball from the origin."""
    coefficients = REFERENCE_MODELS[setting.model]
    radius, area = setting.diameter / 2.0, pi * setting.diameter**2 / 4.0
    half = 0.5 * setting.density * area / setting.mass
    wx0, wy0, wz0 = (float(w) for w in spin)
    ax, ay, az = setting.wind

    def right_side(_: float, state: np.ndarray) -> tuple[float, ...]:
        vx, vy, vz, path = state.tolist()[3:]
        ux, uy, uz = vx - ax, vy - ay, vz - az
        speed = sqrt(ux * ux + uy * uy + uz * uz)
        if speed == 0.0:
            return vx, vy, vz, 0.0, 0.0, -setting.gravity, 0.0
        left = exp(-setting.spin_decay * path / radius * setting.density / 1.2)
        wx, wy, wz = wx0 * left, wy0 * left, wz0 * left
        cx, cy, cz = wy * uz - wz * uy, wz * ux - wx * uz, wx * uy - wy * ux
        cross = sqrt(cx * cx + cy * cy + cz * cz)
        across = cross / speed  # the spin component perpendicular to the way through the air
        cd, cl = coefficients(radius * across / speed, setting.density * speed * setting.diameter / setting.viscosity)
        drag = half * cd * speed
        lift = half * cl * speed * speed / cross if cross > 0.0 else 0.0
        return (
            vx,
            vy,
            vz,
            lift * cx - drag * ux,
            lift * cy - drag * uy,
            lift * cz - drag * uz - setting.gravity,
            speed,
        )

    end = float(times[-1])
    solved = solve_ivp(
        right_side,
        (0.0, end),
        [0.0, 0.0, 0.0, *(float(v) for v in velocity), 0.0],
        method="DOP853",
        rtol=1e-12,
        atol=1e-13,
        max_step=end / 8.0,
        t_eval=times,
    )
    assert solved.success
    return solved.y


def fly_until(physics: Physics, velocity, spin, time: float, tolerance: float = 1e-11):
    """Position, velocity, spin `(3,)` and air path of one ball from the origin, by flightsim's arcs joined."""
    start, speed = np.zeros((3, 1)), np.reshape(np.asarray(velocity, dtype=float), (3, 1))
    turn, now, path = np.reshape(np.asarray(spin, dtype=float), (3, 1)), np.zeros(1), 0.0
    longest = 0.3
    while now[0] < time * (1.0 - 1e-15):
        asked = np.array([min(longest, time - now[0])])
        arc = fly_arcs(physics, start, speed, turn, now, asked, tolerance)
        assert np.isfinite(arc.error).all()
        start, speed, turn = arc.path.sum(axis=0), arc.end_velocity, arc.end_spin
        path += float(arc.air_path.sum())
        longest, now = 2.0 * float(arc.duration[0]), now + arc.duration
    return start[:, 0], speed[:, 0], turn[:, 0], path
