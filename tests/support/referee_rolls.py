"""A ball that slides and rolls on one face, for the referee: the mechanics of a solid sphere as an ODE, with events."""

from __future__ import annotations

import numpy as np
from referee_flight import Flight
from scipy.integrate import solve_ivp

SLIPS, STILL, OFF, LIFT = 0.01, 1e-6, 1e-3, 5e-7  # m/s, m/s, m, m
LONGEST = 30.0  # s


def roll(physics, ball, surface, face) -> Flight:
    """From where the ball lies on the face until it rests or the face no longer carries it."""
    n, g, radius, k = ball.level, physics.gravity, physics.ball.radius, physics.ball.inertia_factor
    down = np.array([0.0, 0.0, -g])
    along, press = down - n * (down @ n), g * abs(n[2])

    def slip(v, w):
        u = v - radius * np.cross(w, n)
        return u - n * (u @ n)

    def sliding(t, y):
        u = slip(y[3:6], y[6:9])
        way = u / max(np.linalg.norm(u), 1e-300)
        turn = np.cross(n, way) * (face["friction"] * press / (k * radius))
        return np.concatenate([y[3:6], along - way * face["friction"] * press, turn])

    def rolling(t, y):
        v = y[3:6]
        a = along / (1 + k) - v / max(np.linalg.norm(v), 1e-300) * face["rolling"] * press
        return np.concatenate([v, a, np.cross(n, a) / radius])

    def carried(t, y):
        return float(surface(y[:3, None])[0]) - (radius + LIFT + OFF)

    def grips(t, y):
        return float(slip(y[3:6], y[6:9]) @ slip(ball.v, ball.w)) / max(slide, 1e-300) - 1e-7

    def stops(t, y):
        return float(np.linalg.norm(y[3:6])) - 1e-4

    carried.terminal = grips.terminal = stops.terminal = True
    carried.direction, grips.direction, stops.direction = 1, -1, -1
    slide = float(np.linalg.norm(slip(ball.v, ball.w)))
    state, now, legs = np.concatenate([ball.point, ball.v, ball.w]), 0.0, []
    left = LONGEST - ball.time
    if slide > SLIPS and face["friction"] > 0.0:
        done = _solve(sliding, state, left, [carried, grips])
        legs.append((now, done))
        now, state = now + done.t[-1], done.y[:, -1]
        if done.t_events[0].size or not done.t_events[1].size:
            return _joined(legs, now, rests=False)
    state[6:9] = np.cross(n, state[3:6]) / radius
    if np.linalg.norm(along) / (1 + k) <= face["rolling"] * press and np.linalg.norm(state[3:6]) <= 1e-4:
        legs.append((now, _solve(rolling, state, 1e-6, [])))
        return _joined(legs, now + 1e-6, rests=True)
    done = _solve(rolling, state, max(left - now, 1e-3), [carried, stops])
    legs.append((now, done))
    return _joined(legs, now + done.t[-1], rests=bool(done.t_events[1].size))


def _solve(f, state, longest, events):
    return solve_ivp(f, (0.0, longest), state, "DOP853", rtol=1e-9, atol=1e-11, events=events or None,
                     dense_output=True, max_step=0.1)  # fmt: skip


def _joined(legs, end: float, rests: bool) -> Flight:
    """The legs as one."""
    starts = np.array([start for start, _ in legs])

    def state(t):
        if np.ndim(t) == 0:
            i = max(int(np.searchsorted(starts, t, side="right")) - 1, 0)
            return legs[i][1].sol(t - starts[i])
        return np.stack([state(one) for one in t], axis=1)

    ways = state(np.linspace(0.0, end, 60))[:3]
    length = float(np.sqrt((np.diff(ways, axis=1) ** 2).sum(axis=0)).sum())
    return Flight(state, end, lambda t: state(t)[6:9].copy(), length, rests)
