"""How the swift referee's ball moves, compiled: fourth-order Runge-Kutta steps in the air, exact steps as it rolls.

The equations are those of docs/physics.md, written a third time. `m` is the ball's motion: POINT, V, spin W, air path S
and time T; between two of them a cubic (Hermite) says where the ball was. Steps are short enough that its error, of the
fourth order, is far below a micrometre.
"""

from __future__ import annotations

import numpy as np
from numba import njit

POINT, V, W, S, T = 0, 3, 6, 9, 10
SIZE = 11
# of world
DRAG, DECAY, GRAVITY, PER_SPEED, RADIUS, MASS, INERTIA, HARM, HARMLESS, TO_REST = range(10)
WIND, LOWER, UPPER, MODEL, WINDY, STRIKES = 10, 13, 16, 19, 20, 21
WORLD = 22
NARUO, NO_LOW, REVERSED, FERGUSON = 0.0, 1.0, 2.0, 3.0
MODELS = {
    "naruo2004": NARUO, "naruo2004_no_low_lift": NO_LOW, "naruo2004_reversed_low_lift": REVERSED,
    "ferguson2022": FERGUSON,
}  # fmt: skip
SLIPS, STILL, PIECE, LIFT, OFF = 0.01, 1e-6, 0.25, 5e-7, 1e-3


@njit(cache=True)
def _ramp(x):
    x = min(max(x, 0.0), 1.0)
    return x * x * (3.0 - 2.0 * x)


@njit(cache=True)
def coefficients(model, s, re):
    """CD and CL, by spin ratio and Reynolds number."""
    if model == FERGUSON:
        cd = 0.3915 if s > 0.5622 else 0.1304 + s * (0.9287 - 0.8259 * s)
        held = max(s, 0.05)
        cl = 0.3653 if s > 0.5235 else 0.0504 + held * (1.2031 - 1.1490 * held)
        return cd, cl * min(s / 0.05, 1.0)
    h = min(s, 1.13)
    cd = 0.2049 + h * (0.2148 + h * (1.098 + h * (-1.760 + h * 0.7510)))
    h = max(h, 0.03)
    cl = (0.0616 + h * (1.250 + h * (-1.644 + h * (1.006 - 0.2158 * h)))) * min(s / 0.03, 1.0)
    cd += _ramp((7.5e4 - re) / 2.5e4) * max(0.50 - cd, 0.0)
    if model != NARUO:
        low = 0.0 if model == NO_LOW else -0.5
        bump = _ramp((re - 4.0e4) / 1.0e4) * (1.0 - _ramp((re - 6.5e4) / 1.0e4))
        cl *= 1.0 - (1.0 - low) * bump * (1.0 - _ramp((s - 0.15) / 0.20))
    return cd, cl


@njit(cache=True)
def _pull(world, spin, vx, vy, vz, path, out):
    """Acceleration and air speed into out `(4,)`, of a ball with this velocity that has come so far through the air."""
    ax, ay, az = vx - world[WIND], vy - world[WIND + 1], vz - world[WIND + 2]
    fade = np.exp(-world[DECAY] * path)
    wx, wy, wz = spin[0] * fade, spin[1] * fade, spin[2] * fade
    cx, cy, cz = wy * az - wz * ay, wz * ax - wx * az, wx * ay - wy * ax
    speed, cross = np.sqrt(ax * ax + ay * ay + az * az), np.sqrt(cx * cx + cy * cy + cz * cz)
    out[0], out[1], out[2], out[3] = 0.0, 0.0, -world[GRAVITY], speed
    if speed == 0.0:
        return
    cd, cl = coefficients(world[MODEL], world[RADIUS] * cross / (speed * speed), speed * world[PER_SPEED])
    drag = -world[DRAG] * cd * speed
    lift = world[DRAG] * cl * speed * speed / cross if cross > 0.0 else 0.0
    out[0] += drag * ax + lift * cx
    out[1] += drag * ay + lift * cy
    out[2] += drag * az + lift * cz


@njit(cache=True)
def fly_step(world, spin0, m, dt, new, k):
    """One Runge-Kutta step of dt, s, from m to new. spin0 `(3,)`: as the flight began; k `(4, 4)`: to work in."""
    for stage in range(4):
        h = 0.0 if stage == 0 else dt if stage == 3 else 0.5 * dt
        last = max(stage - 1, 0)
        vx, vy, vz = m[V] + h * k[last, 0], m[V + 1] + h * k[last, 1], m[V + 2] + h * k[last, 2]
        _pull(world, spin0, vx, vy, vz, m[S] + h * k[last, 3], k[stage])
    for i in range(3):
        a = (k[0, i] + k[1, i] + k[2, i]) / 6.0
        new[POINT + i] = m[POINT + i] + dt * m[V + i] + dt * dt * a
        new[V + i] = m[V + i] + dt * (k[0, i] + 2.0 * k[1, i] + 2.0 * k[2, i] + k[3, i]) / 6.0
    new[S] = m[S] + dt * (k[0, 3] + 2.0 * k[1, 3] + 2.0 * k[2, 3] + k[3, 3]) / 6.0
    new[T] = m[T] + dt
    fade = np.exp(-world[DECAY] * new[S])
    for i in range(3):
        new[W + i] = spin0[i] * fade


@njit(cache=True)
def between(m, new, share, probe):
    """The ball at a share of the way from m to new in time, into the probe."""
    dt, s = new[T] - m[T], share
    h00, h10 = (1.0 + 2.0 * s) * (1.0 - s) * (1.0 - s), s * (1.0 - s) * (1.0 - s)
    h01, h11 = s * s * (3.0 - 2.0 * s), s * s * (s - 1.0)
    for i in range(3):
        a, b, va, vb = m[POINT + i], new[POINT + i], m[V + i], new[V + i]
        probe[POINT + i] = h00 * a + h01 * b + dt * (h10 * va + h11 * vb)
        slope = 6.0 * s * (1.0 - s) * (b - a) / dt
        probe[V + i] = slope + (1.0 - s) * (1.0 - 3.0 * s) * va + s * (3.0 * s - 2.0) * vb
        probe[W + i] = m[W + i] + s * (new[W + i] - m[W + i])
    probe[S], probe[T] = m[S] + s * (new[S] - m[S]), m[T] + s * dt


@njit(cache=True)
def roll_piece(world, level, friction, rolling, m, piece):
    """A piece of steady acceleration of a ball on a face, from m: acceleration, turning of the spin, how long it lasts,
    s, into piece `(7,)`; returns whether it rests at its end. A ball that rolls has its spin set in m.
    """
    n, g, radius, inertia = level, world[GRAVITY], world[RADIUS], world[INERTIA]
    press = g * abs(n[2])
    along = np.array([g * n[2] * n[0], g * n[2] * n[1], -g + g * n[2] * n[2]])
    v, w = m[V : V + 3], m[W : W + 3]
    slip = v - radius * np.cross(w, n)
    slip = slip - n * np.dot(slip, n)
    slide, speed, grip = np.sqrt(np.dot(slip, slip)), np.sqrt(np.dot(v, v)), rolling * press
    rests = False
    drag, draws = friction * press, np.sqrt(np.dot(along, along))
    most = (1.0 + 1.0 / inertia) * drag
    if friction > 0.0 and (slide > SLIPS or draws > most):  # steeper than that, nothing makes it roll
        toward = slip / slide if slide > SLIPS else along / draws
        a = along - toward * drag
        turn = np.cross(n, toward) * (drag / (inertia * radius))
        parts = most - max(np.dot(along, toward), 0.0) if draws > most else most
        lasts = min(slide / parts, PIECE) if parts > 0.0 else PIECE
    else:
        pull = along / (1.0 + inertia)
        size = np.sqrt(np.dot(pull, pull))
        turned = np.cross(n, v) / radius
        for i in range(3):
            m[W + i] = turned[i]
        held = size <= grip
        way = pull / max(size, 1e-300) if speed < STILL else v / speed
        a = np.zeros(3) if speed < STILL and held else pull - way * grip
        slows = -np.dot(a, way)
        stops = 0.0 if speed < STILL and held else speed / slows if slows > 0.0 else np.inf
        lasts, rests = min(stops, PIECE), held and stops <= PIECE
        turn = np.cross(n, a) / radius
    piece[0:3], piece[3:6], piece[6] = a, turn, max(lasts, 1e-6)
    return rests


@njit(cache=True)
def roll_step(piece, m, dt, new):
    """Along a piece for dt, s: steady acceleration."""
    for i in range(3):
        new[POINT + i] = m[POINT + i] + dt * m[V + i] + 0.5 * dt * dt * piece[i]
        new[V + i] = m[V + i] + dt * piece[i]
        new[W + i] = m[W + i] + dt * piece[3 + i]
    new[S], new[T] = m[S], m[T] + dt
