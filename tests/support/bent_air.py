"""Drag and lift of one's own with bends as sharp as their table takes; such a table read, and flown by, with scipy."""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline

from flightsim.engine.aero_table import MOST_RE, MOST_SPUN, PLACES_RE, PLACES_S

RE, SPUN = np.linspace(0.0, MOST_RE, PLACES_RE), np.linspace(0.0, MOST_SPUN, PLACES_S)
CELL_RE, CELL_SPUN = RE[1], SPUN[1]


def spun(S):
    return S / (1.0 + S)


def crisis(S, Re):
    """Drag falls by .18 over 8,000 of Re, from corner to corner."""
    return 0.5 - 0.09 * np.clip(Re / CELL_RE - 20.0, 0.0, 2.0) + 0.0 * S, 0.2 * spun(S)


def steep_lift(S, Re):
    """Lift rises from nothing to its all over .025 of spin ratio."""
    return 0.3 + 0.0 * S, 0.09 * np.clip(spun(S) / CELL_SPUN - 12.0, 0.0, 2.0) + 0.0 * Re


def waves(S, Re):
    """Drag and lift go up and down every six cells, from corner to corner."""
    up_down = [0.03 * np.abs(np.mod(each, 6.0) - 3.0) for each in (Re / CELL_RE, spun(S) / CELL_SPUN)]
    return 0.3 + up_down[0], 0.1 + up_down[1]


BENT = (crisis, steep_lift, waves)


def by_scipy(model):
    """The table of a model, read by scipy's natural cubic splines along both axes: CD and CL at one moment."""
    S, Re = np.meshgrid(SPUN / (1.0 - SPUN), np.maximum(RE, 1.0))
    along_spin = CubicSpline(SPUN, np.stack(model(S, Re), axis=-1), axis=1, bc_type="natural")

    def read(S: float, Re: float) -> np.ndarray:
        values = along_spin(min(spun(S), MOST_SPUN))
        return CubicSpline(RE, values, bc_type="natural")(min(Re, MOST_RE))

    return read


def where(physics, read, launch, time: float) -> np.ndarray:
    """Where a ball is at a time, m: DOP853. read: CD and CL by S and Re; launch: its start, velocity and spin."""
    ball, air = physics.ball, physics.air
    decay = physics.spin_decay * air.density / 1.2 / ball.radius  # Smits & Smith 1994, as docs/physics.md has it
    w = np.array(launch[6:9])

    def moves(_, y):
        v, fade = y[3:6], np.exp(-decay * y[6])
        speed, out = np.linalg.norm(v), np.cross(w, v)
        turning = np.linalg.norm(out)
        S = fade * ball.radius * turning / speed**2
        CD, CL = read(S, air.density * speed * ball.diameter / air.viscosity)
        force = 0.5 * air.density * np.pi * ball.radius**2 / ball.mass
        lift = CL * speed**2 * out / max(turning, 1e-300)
        return np.concatenate([v, force * (lift - CD * speed * v) - [0.0, 0.0, physics.gravity], [speed]])

    y = np.append(launch[:6], 0.0)
    return solve_ivp(moves, (0.0, time), y, method="DOP853", rtol=1e-11, atol=1e-12).y[:3, -1]
