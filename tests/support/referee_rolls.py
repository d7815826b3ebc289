"""A ball that slides and rolls on one face, for the referee: pieces of steady acceleration (docs/physics.md).

While it slips it is slowed by mu g cos against u, until u/((1 + 1/k) mu g cos); then it gathers g sin/(1 + k) down a
slope, less mu_r g cos against its way. On a slope steeper than tan = (1 + 1/k) mu it never rolls. No piece lasts longer
than .25 s, and slip below 1 cm/s is none.
"""

from __future__ import annotations

import numpy as np
from referee_flight import Flight
from scipy.optimize import brentq

SLIPS, STILL, OFF, LIFT = 0.01, 1e-6, 1e-3, 5e-7  # m/s, m/s, m, m
PIECE, MOST = 0.25, 120  # s; pieces


def roll(physics, ball, surface, face) -> Flight:
    """From where the ball lies on the face until it rests or the face no longer carries it."""
    n, g, radius, k = ball.level, physics.gravity, physics.ball.radius, physics.ball.inertia_factor
    down = np.array([0.0, 0.0, -g])
    along, press = down - n * (down @ n), g * abs(n[2])
    point, v, w = ball.point.copy(), ball.v.copy(), ball.w.copy()
    pieces, now = [], 0.0
    for _ in range(MOST):
        u = v - radius * np.cross(w, n)
        u -= n * (u @ n)
        slide, speed, grip = float(np.linalg.norm(u)), float(np.linalg.norm(v)), face["rolling"] * press
        rests = False
        drag, draws = face["friction"] * press, float(np.linalg.norm(along))
        steep = draws > (1 + 1 / k) * drag
        if drag > 0.0 and (slide > SLIPS or steep):
            t = u / slide if slide > SLIPS else along / draws
            a, turn = along - t * drag, np.cross(n, t) * (drag / (k * radius))
            ends = (1 + 1 / k) * drag - (max(float(along @ t), 0.0) if steep else 0.0)
            lasts = min(slide / ends, PIECE) if ends > 0.0 else PIECE
        else:
            pull, w = along / (1 + k), np.cross(n, v) / radius
            held = float(np.linalg.norm(pull)) <= grip
            if speed < STILL:
                way = pull / max(float(np.linalg.norm(pull)), 1e-300)
                a = np.zeros(3) if held else pull - way * grip
            else:
                way = v / speed
                a = pull - way * grip
            slows = -float(a @ way)
            stops = 0.0 if speed < STILL and held else speed / slows if slows > 0.0 else np.inf
            lasts, rests = min(stops, PIECE), held and stops <= PIECE
            turn = np.cross(n, a) / radius
        lasts = max(lasts, 1e-6)
        pieces.append((now, point, v, a, w, turn))
        end = _carried_until(surface, pieces[-1], lasts, radius)
        if end is not None:
            return _joined(pieces, now + end, rests=False)
        now += lasts
        point, v, w = point + v * lasts + a * lasts**2 / 2, v + a * lasts, w + turn * lasts
        if rests:
            return _joined(pieces, now, rests=True)
    return _joined(pieces, now, rests=False)


def _carried_until(surface, piece, lasts: float, radius: float) -> float | None:
    """When the face carries the ball no longer; None where it does to the end."""
    _, point, v, a, _, _ = piece

    def beyond(t: float) -> float:
        return float(surface((point + v * t + a * t * t / 2)[:, None])[0]) - (radius + LIFT + OFF)

    times = np.linspace(0.0, lasts, 65)
    off = next((i for i, t in enumerate(times) if i and beyond(t) > 0.0), None)
    return None if off is None else float(brentq(beyond, times[off - 1], times[off], xtol=1e-12))


def _joined(pieces, end: float, rests: bool) -> Flight:
    """The pieces as one way."""
    starts = np.array([piece[0] for piece in pieces])

    def state(t):
        if np.ndim(t):
            return np.stack([state(one) for one in t], axis=1)
        begin, point, v, a, w, turn = pieces[max(int(np.searchsorted(starts, t, side="right")) - 1, 0)]
        s = t - begin
        return np.concatenate([point + v * s + a * s * s / 2, v + a * s, w + turn * s])

    ways = state(np.linspace(0.0, end, 60))[:3]
    length = float(np.sqrt((np.diff(ways, axis=1) ** 2).sum(axis=0)).sum())
    return Flight(state, end, lambda t: state(t)[6:9].copy(), length, rests)
