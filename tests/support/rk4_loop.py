"""A fair opponent for the benches: classical Runge-Kutta steps in a compiled loop, one ball at a time.

What a careful programmer writes who has numba and no engine: fixed steps, a cubic through the ends of each, boxes to
pass most parts over, and steps to lower bounds of the gap that never jump over a part. Same physics (naruo2004, spin
decay), same shapes, same facings' rebounds as scipy_rebounds: a ball that would roll is followed no further. Its step
is chosen by the bench so that its true error meets the bound that the engine is held to.
"""

from __future__ import annotations

from math import exp, sqrt

import numpy as np
from numba import njit
from scipy_rebounds import numbers_of, plate

BOX, TURNED, TUBE, POLYGON = range(4)
OWN, FIXED, TURF = range(3)
CORNERS = 8
DEAD, BROKE, ROLLS, OUT, MANY, LOST = range(6)


def as_arrays(bay, facings, ball) -> tuple[np.ndarray, ...]:
    """The bay for the loop: kind `(p,)`, geometry `(p, 16)`, corners `(p, 8, 3)`, boxes `(p, 6)`, face `(p, 7)`."""
    n = len(bay.parts)
    kind, shape, corners = np.zeros(n, np.int64), np.zeros((n, 16)), np.zeros((n, CORNERS, 3))
    box, face = np.zeros((n, 6)), np.zeros((n, 7))
    # A tie goes to what is no guard, then to the name that comes first: in that order the first found wins.
    parts = sorted(bay.parts, key=lambda part: (part.role.value == "guard", part.name))
    for p, part in enumerate(parts):
        s, f = part.shape, numbers_of(facings[part.facing])
        box[p] = np.concatenate(s.bounds())
        name = type(s).__name__
        if name == "Box":
            kind[p] = BOX if np.array_equal(s.axes, np.eye(3)) else TURNED
            shape[p] = np.concatenate([s.centre, s.half - s.corner_radius, [s.corner_radius], s.axes.ravel()])
        elif name == "RoundTube":
            kind[p], axis = TUBE, s.end - s.start
            length = float(np.linalg.norm(axis))
            shape[p, :8] = *((s.start + s.end) / 2), *(axis / length), length / 2, s.radius
        else:
            kind[p], c = POLYGON, np.asarray(s.corners)
            corners[p, : len(c)] = c
            normal = np.cross(c[1] - c[0], c[2] - c[0])
            shape[p, :4] = *(normal / np.linalg.norm(normal)), len(c)
        way, e = (TURF, 0.0) if f.get("turf") else (FIXED, f.get("fixed", 0.0))
        if "own" in f or "plate" in f:
            way, e = OWN, f["own"] if "own" in f else plate(f["plate"], ball.mass)
        foam = f["foam"]["crush_stress"] * np.pi * ball.radius**2 * 0.7 * f["foam"]["thickness"] if "foam" in f else 0.0
        face[p] = way, e, foam, f["friction"], f["tangential"], f["hold"], f["broken"]
    limits = np.concatenate([bay.lower, bay.upper])
    return kind, shape, corners, box, face, limits


def facts_of(physics) -> np.ndarray:
    """Mass, radius, inertia, drag factor, Reynolds factor, spin decay, gravity, harm."""
    ball, air = physics.ball, physics.air
    area = np.pi * ball.radius**2
    return np.array([
        ball.mass, ball.radius, ball.inertia_factor, 0.5 * air.density * area / ball.mass,
        air.density * ball.diameter / air.viscosity, physics.spin_decay * air.density / 1.2 / ball.radius,
        physics.gravity, 5.0**2 / 2,
    ])  # fmt: skip


@njit
def pull(v0, v1, v2, w0, w1, w2, path, facts):
    """Acceleration and air speed."""
    fade = exp(-facts[5] * path)
    w0, w1, w2 = w0 * fade, w1 * fade, w2 * fade
    c0, c1, c2 = w1 * v2 - w2 * v1, w2 * v0 - w0 * v2, w0 * v1 - w1 * v0
    square = v0 * v0 + v1 * v1 + v2 * v2
    v, c = sqrt(square), sqrt(c0 * c0 + c1 * c1 + c2 * c2)
    if v < 1e-12:
        return 0.0, 0.0, -facts[6], v
    s, re = facts[1] * c / square, v * facts[4]
    h = min(s, 1.13)
    cd = (((0.7510 * h - 1.760) * h + 1.098) * h + 0.2148) * h + 0.2049
    h = max(h, 0.03)
    cl = (((-0.2158 * h + 1.006) * h - 1.644) * h + 1.250) * h + 0.0616
    if s < 0.03:
        cl *= s / 0.03
    x = (7.5e4 - re) / 2.5e4
    if x > 0.0 and cd < 0.5:
        x = min(x, 1.0)
        cd += x * x * (3.0 - 2.0 * x) * (0.5 - cd)
    drag = -facts[3] * cd * v
    lift = facts[3] * cl * square / c if c > 0.0 else 0.0
    return drag * v0 + lift * c0, drag * v1 + lift * c1, drag * v2 + lift * c2 - facts[6], v


@njit
def step(y, w, h, facts, out):
    """One classical Runge-Kutta step of x, v, path `(7,)`."""
    a0, a1, a2, s1 = pull(y[3], y[4], y[5], w[0], w[1], w[2], y[6], facts)
    k = 0.5 * h
    u0, u1, u2 = y[3] + k * a0, y[4] + k * a1, y[5] + k * a2
    b0, b1, b2, s2 = pull(u0, u1, u2, w[0], w[1], w[2], y[6] + k * s1, facts)
    p0, p1, p2 = y[3] + k * b0, y[4] + k * b1, y[5] + k * b2
    c0, c1, c2, s3 = pull(p0, p1, p2, w[0], w[1], w[2], y[6] + k * s2, facts)
    q0, q1, q2 = y[3] + h * c0, y[4] + h * c1, y[5] + h * c2
    d0, d1, d2, s4 = pull(q0, q1, q2, w[0], w[1], w[2], y[6] + h * s3, facts)
    g = h / 6.0
    out[0] = y[0] + g * (y[3] + 2.0 * (u0 + p0) + q0)
    out[1] = y[1] + g * (y[4] + 2.0 * (u1 + p1) + q1)
    out[2] = y[2] + g * (y[5] + 2.0 * (u2 + p2) + q2)
    out[3] = y[3] + g * (a0 + 2.0 * (b0 + c0) + d0)
    out[4] = y[4] + g * (a1 + 2.0 * (b1 + c1) + d1)
    out[5] = y[5] + g * (a2 + 2.0 * (b2 + c2) + d2)
    out[6] = y[6] + g * (s1 + 2.0 * (s2 + s3) + s4)


@njit
def box_gap(x, y, z, h0, h1, h2, r):
    """Distance to a box about the origin and its direction."""
    a, b, c = abs(x) - h0, abs(y) - h1, abs(z) - h2
    p, q, s = max(a, 0.0), max(b, 0.0), max(c, 0.0)
    d = sqrt(p * p + q * q + s * s)
    if d > 0.0:
        return d - r, np.copysign(p / d, x), np.copysign(q / d, y), np.copysign(s / d, z)
    if a >= b and a >= c:
        return a - r, np.copysign(1.0, x), 0.0, 0.0
    if b >= c:
        return b - r, 0.0, np.copysign(1.0, y), 0.0
    return c - r, 0.0, 0.0, np.copysign(1.0, z)


@njit
def distance(kind, g, corners, x, y, z):
    """Distance to one part, and the direction from it."""
    if kind == BOX:
        return box_gap(x - g[0], y - g[1], z - g[2], g[3], g[4], g[5], g[6])
    if kind == TURNED:
        x, y, z = x - g[0], y - g[1], z - g[2]
        a = g[7] * x + g[8] * y + g[9] * z
        b = g[10] * x + g[11] * y + g[12] * z
        c = g[13] * x + g[14] * y + g[15] * z
        d, p, q, s = box_gap(a, b, c, g[3], g[4], g[5], g[6])
        return d, g[7] * p + g[10] * q + g[13] * s, g[8] * p + g[11] * q + g[14] * s, g[9] * p + g[12] * q + g[15] * s
    if kind == TUBE:
        x, y, z = x - g[0], y - g[1], z - g[2]
        along = x * g[3] + y * g[4] + z * g[5]
        ox, oy, oz = x - along * g[3], y - along * g[4], z - along * g[5]
        rho = max(sqrt(ox * ox + oy * oy + oz * oz), 1e-300)
        side, end = rho - g[7], abs(along) - g[6]
        p, q = max(side, 0.0), max(end, 0.0)
        d = sqrt(p * p + q * q)
        if d > 0.0:
            p, q = p / d, np.copysign(q / d, along)
        else:
            d, p, q = max(side, end), 1.0 if side >= end else 0.0, np.copysign(0.0 if side >= end else 1.0, along)
        return d, p * ox / rho + q * g[3], p * oy / rho + q * g[4], p * oz / rho + q * g[5]
    return polygon_gap(g, corners, x, y, z)


@njit
def polygon_gap(g, corners, x, y, z):
    """Distance to a flat polygon, and the direction from it."""
    n = int(g[3])
    up = (x - corners[0, 0]) * g[0] + (y - corners[0, 1]) * g[1] + (z - corners[0, 2]) * g[2]
    best, fx, fy, fz, inside = np.inf, x - up * g[0], y - up * g[1], z - up * g[2], True
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        ex, ey, ez = corners[j, 0] - corners[i, 0], corners[j, 1] - corners[i, 1], corners[j, 2] - corners[i, 2]
        px, py, pz = x - corners[i, 0], y - corners[i, 1], z - corners[i, 2]
        if g[0] * (ey * pz - ez * py) + g[1] * (ez * px - ex * pz) + g[2] * (ex * py - ey * px) < 0.0:
            inside = False
        t = min(max((ex * px + ey * py + ez * pz) / (ex * ex + ey * ey + ez * ez), 0.0), 1.0)
        dx, dy, dz = px - t * ex, py - t * ey, pz - t * ez
        square = dx * dx + dy * dy + dz * dz
        if square < best:
            best, fx, fy, fz = square, corners[i, 0] + t * ex, corners[i, 1] + t * ey, corners[i, 2] + t * ez
    if inside:
        return abs(up), np.copysign(g[0], up * g[0]), np.copysign(g[1], up * g[1]), np.copysign(g[2], up * g[2])
    d = max(sqrt(best), 1e-300)
    return d, (x - fx) / d, (y - fy) / d, (z - fz) / d


@njit
def touch(kind, g, corners, c, low, until, radius):
    """When within a cubic `(4, 3)` the ball first touches a part, from low to until; 2 for not."""
    bend = 0.0
    for axis in range(3):
        bend += (2.0 * abs(c[2, axis]) + 6.0 * abs(c[3, axis])) ** 2
    bend, t = sqrt(bend), low
    for _ in range(400):
        x = c[0, 0] + t * (c[1, 0] + t * (c[2, 0] + t * c[3, 0]))
        y = c[0, 1] + t * (c[1, 1] + t * (c[2, 1] + t * c[3, 1]))
        z = c[0, 2] + t * (c[1, 2] + t * (c[2, 2] + t * c[3, 2]))
        d, nx, ny, nz = distance(kind, g, corners, x, y, z)
        rate = nx * (c[1, 0] + t * (2.0 * c[2, 0] + 3.0 * t * c[3, 0]))
        rate += ny * (c[1, 1] + t * (2.0 * c[2, 1] + 3.0 * t * c[3, 1]))
        rate += nz * (c[1, 2] + t * (2.0 * c[2, 2] + 3.0 * t * c[3, 2]))
        gap = d - radius
        if gap <= 1e-7 and rate < 0.0:
            return t
        gap = max(gap, 1e-10)
        root = sqrt(rate * rate + 2.0 * bend * gap)
        if rate < 0.0:
            t += 2.0 * gap / (root - rate)
        elif bend > 1e-300:
            t += (root + rate) / bend
        else:
            return 2.0
        if t > until:
            return 2.0
    return t


@njit
def segment(y, z, h, c):
    """The cubic through both ends of a step and their velocities, in 0..1."""
    for a in range(3):
        d = z[a] - y[a]
        c[0, a], c[1, a] = y[a], h * y[3 + a]
        c[2, a] = 3.0 * d - h * (2.0 * y[3 + a] + z[3 + a])
        c[3, a] = -2.0 * d + h * (y[3 + a] + z[3 + a])


@njit
def first(bay, facts, h, y, w, z, c):
    """Fly y `(7,)` in place to its first touch: part (-1: left the room, -2: never); c is the last cubic."""
    kind, shape, corners, box, _, limits = bay
    radius = facts[1]
    low, high = np.empty(3), np.empty(3)
    for _ in range(int(30.0 / h)):
        step(y, w, h, facts, z)
        segment(y, z, h, c)
        for a in range(3):
            spare = radius + (2.0 * abs(c[2, a]) + 6.0 * abs(c[3, a])) / 8.0
            low[a], high[a] = min(y[a], z[a]) - spare, max(y[a], z[a]) + spare
        best, which = 1.0, -2
        for p in range(kind.size):
            b = box[p]
            if (low[0] <= b[3] and high[0] >= b[0] and low[1] <= b[4] and high[1] >= b[1]
                    and low[2] <= b[5] and high[2] >= b[2]):  # fmt: skip
                t = touch(kind[p], shape[p], corners[p], c, 0.0, best, radius)
                if t < best:
                    best, which = t, p
        if which >= 0:
            step(y, w, best * h, facts, z)
            y[:] = z
            return which
        y[:] = z
        if (y[0] < limits[0] or y[1] < limits[1] or y[2] < limits[2]
                or y[0] > limits[3] or y[1] > limits[4] or y[2] > limits[5]):  # fmt: skip
            return -1
    return -2


@njit
def restitution(f, v, facts):
    """Of a face at this normal speed."""
    if f[0] == OWN:
        e = f[1] * min(max(0.88 - 0.0023 * v, 0.60), 0.90)
    elif f[0] == FIXED:
        e = f[1]
    else:
        e = 0.25 if v > 15.0 else 0.510 - 0.0375 * v + 0.000903 * v * v
    if f[2] == 0.0:
        return e
    brings = facts[0] * v * v / 2.0
    return 0.35 if brings <= f[2] else sqrt((0.35**2 * f[2] + e * e * (brings - f[2])) / brings)


@njit
def bounce(y, w, n, f, facts):
    """Velocity and spin after, in place."""
    radius, k = facts[1], facts[2]
    inward = -(y[3] * n[0] + y[4] * n[1] + y[5] * n[2])
    if inward <= 0.0:
        return
    e = restitution(f, inward, facts)
    if e * inward < 0.02:
        e = min(0.02, inward) / inward
    oblique(y, w, n, e, f, inward, radius, k)
    if sqrt(y[3] * y[3] + y[4] * y[4] + y[5] * y[5]) < f[5] and inward > 0.04:
        for a in range(3):
            y[3 + a], w[a] = 0.02 * n[a], 0.0


@njit
def oblique(y, w, n, e, f, inward, radius, k):
    """A rigid sphere on a face with friction. In place."""
    u = np.empty(3)
    cross = np.array([w[1] * n[2] - w[2] * n[1], w[2] * n[0] - w[0] * n[2], w[0] * n[1] - w[1] * n[0]])
    for a in range(3):
        u[a] = y[3 + a] + inward * n[a] - radius * cross[a]
    slip = sqrt(u[0] * u[0] + u[1] * u[1] + u[2] * u[2])
    push = min((1.0 + f[4]) * slip / (1.0 + 1.0 / k), f[3] * (1.0 + e) * inward)
    j = -u / slip * push if slip > 0.0 else np.zeros(3)
    for a in range(3):
        y[3 + a] += j[a] + (1.0 + e) * inward * n[a]
    w[0] += (j[1] * n[2] - j[2] * n[1]) / (k * radius)
    w[1] += (j[2] * n[0] - j[0] * n[2]) / (k * radius)
    w[2] += (j[0] * n[1] - j[1] * n[0]) / (k * radius)


@njit
def to_first(bay, facts, h, start, velocity, spin):
    """Part `(n,)` and point `(n, 3)` of the first touch of each ball."""
    n = start.shape[1]
    part, point = np.empty(n, np.int64), np.empty((n, 3))
    y, z, w, c = np.empty(7), np.empty(7), np.empty(3), np.empty((4, 3))
    for k in range(n):
        y[:3], y[3:6], y[6], w[:] = start[:, k], velocity[:, k], 0.0, spin[:, k]
        part[k] = first(bay, facts, h, y, w, z, c)
        point[k] = y[:3]
    return part, point


@njit
def to_end(bay, facts, h, start, velocity, spin, most=60):
    """Touches `(n,)` and why each ball was followed no further `(n,)`."""
    kind, shape, corners, _, face, limits = bay
    n = start.shape[1]
    touches, why = np.zeros(n, np.int64), np.full(n, MANY)
    y, z, w, c, normal = np.empty(7), np.empty(7), np.empty(3), np.empty((4, 3)), np.empty(3)
    for k in range(n):
        y[:3], y[3:6], w[:] = start[:, k], velocity[:, k], spin[:, k]
        for _ in range(most):
            y[6] = 0.0
            p = first(bay, facts, h, y, w, z, c)
            if p < 0:
                why[k] = OUT if p == -1 else LOST
                break
            touches[k] += 1
            fade = exp(-facts[5] * y[6])
            w *= fade
            _, normal[0], normal[1], normal[2] = distance(kind[p], shape[p], corners[p], y[0], y[1], y[2])
            into = y[3] * normal[0] + y[4] * normal[1] + y[5] * normal[2]
            bounce(y, w, normal, face[p], facts)
            if facts[0] * into * into / 2.0 >= face[p, 6]:
                why[k] = BROKE
                break
            energy = 0.5 * (y[3] ** 2 + y[4] ** 2 + y[5] ** 2)
            energy += 0.5 * facts[2] * facts[1] ** 2 * (w[0] ** 2 + w[1] ** 2 + w[2] ** 2)
            if energy + facts[6] * max(y[2] - limits[2] - facts[1], 0.0) < facts[7]:
                why[k] = DEAD
                break
            if normal[2] > 0.5 and y[3] * normal[0] + y[4] * normal[1] + y[5] * normal[2] < 0.35:
                why[k] = ROLLS
                break
    return touches, why


@njit
def position_at(facts, h, start, velocity, spin, when):
    """Where balls are at a time `(n,)` of their own, `(3, n)`: what the choice of the step is judged by."""
    point, y, z, w = np.empty_like(start), np.empty(7), np.empty(7), np.empty(3)
    for k in range(start.shape[1]):
        y[:3], y[3:6], y[6], w[:] = start[:, k], velocity[:, k], 0.0, spin[:, k]
        t = 0.0
        while t + h < when[k]:
            step(y, w, h, facts, z)
            y[:] = z
            t += h
        step(y, w, when[k] - t, facts, z)
        point[:, k] = z[:3]
    return point
