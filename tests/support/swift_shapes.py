"""Distances for the swift referee, compiled: boxes, polygons, tubes, capsules as rows of numbers, a point at a time.

Written from their geometry a third time, apart from flightsim and from scipy_loop. A row of `nums` holds a shape's
numbers from 0 to 15; a row of `codes` its kind, and for a polygon where its corners stand in the pool.
"""

from __future__ import annotations

import numpy as np
from numba import njit

BOX, TUBE, CAPSULE, POLYGON = 0, 1, 2, 3
KIND, POOL_AT, COUNT = 0, 1, 2  # of codes
H = 2e-6  # m: of the gradient


def shape_row(shape, row: np.ndarray, code: np.ndarray, pool: list[float]) -> None:
    """Write a shape's numbers. Raises ValueError for one that the referee does not know."""
    kind = type(shape).__name__
    if kind == "Box":
        row[0:3], row[3:12] = shape.centre, np.asarray(shape.axes).ravel()
        row[12:15], row[15], code[KIND] = shape.half - shape.corner_radius, shape.corner_radius, BOX
    elif kind in ("RoundTube", "Capsule"):
        line = shape.end - shape.start
        row[12] = np.linalg.norm(line)
        row[0:3], row[3:6], row[15] = shape.start, line / row[12], shape.radius
        code[KIND] = TUBE if kind == "RoundTube" else CAPSULE
    elif kind == "ConvexPolygon":
        corners = np.asarray(shape.corners)
        square = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        row[0:3], row[3:6] = corners[0], square / np.linalg.norm(square)
        code[KIND], code[POOL_AT], code[COUNT] = POLYGON, len(pool), len(corners)
        pool.extend(corners.ravel())
    else:
        raise ValueError(f"the referee knows no {kind}")


@njit(cache=True)
def away(nums, codes, pool, k, x, y, z):
    """Distance of a point from shape k, m; below nought inside a solid."""
    kind = codes[k, KIND]
    if kind == BOX:
        return _box(nums, k, x, y, z)
    if kind == POLYGON:
        return _polygon(nums, codes, pool, k, x, y, z)
    px, py, pz = x - nums[k, 0], y - nums[k, 1], z - nums[k, 2]
    along = px * nums[k, 3] + py * nums[k, 4] + pz * nums[k, 5]
    ox, oy, oz = px - along * nums[k, 3], py - along * nums[k, 4], pz - along * nums[k, 5]
    off, length, radius = np.sqrt(ox * ox + oy * oy + oz * oz), nums[k, 12], nums[k, 15]
    beyond = max(-along, along - length)
    if kind == CAPSULE:
        return np.hypot(off, max(beyond, 0.0)) - radius
    past = off - radius
    if past <= 0.0 and beyond <= 0.0:
        return max(past, beyond)
    return np.hypot(max(past, 0.0), max(beyond, 0.0))


@njit(cache=True)
def _box(nums, k, x, y, z):
    px, py, pz = x - nums[k, 0], y - nums[k, 1], z - nums[k, 2]
    square, most = 0.0, -np.inf
    for axis in range(3):
        column = 3 + 3 * axis
        q = abs(nums[k, column] * px + nums[k, column + 1] * py + nums[k, column + 2] * pz) - nums[k, 12 + axis]
        most = max(most, q)
        if q > 0.0:
            square += q * q
    return (np.sqrt(square) if square > 0.0 else most) - nums[k, 15]


@njit(cache=True)
def _polygon(nums, codes, pool, k, x, y, z):
    nx, ny, nz = nums[k, 3], nums[k, 4], nums[k, 5]
    height = (x - nums[k, 0]) * nx + (y - nums[k, 1]) * ny + (z - nums[k, 2]) * nz
    fx, fy, fz = x - height * nx, y - height * ny, z - height * nz
    first, count = codes[k, POOL_AT], codes[k, COUNT]
    within, least = True, np.inf
    for i in range(count):
        a, b = first + 3 * i, first + 3 * ((i + 1) % count)
        ex, ey, ez = pool[b] - pool[a], pool[b + 1] - pool[a + 1], pool[b + 2] - pool[a + 2]
        px, py, pz = fx - pool[a], fy - pool[a + 1], fz - pool[a + 2]
        if nx * (ey * pz - ez * py) + ny * (ez * px - ex * pz) + nz * (ex * py - ey * px) < 0.0:
            within = False
        share = min(max((ex * px + ey * py + ez * pz) / (ex * ex + ey * ey + ez * ez), 0.0), 1.0)
        px, py, pz = px - share * ex, py - share * ey, pz - share * ez
        least = min(least, px * px + py * py + pz * pz)
    return abs(height) if within else np.sqrt(height * height + least)


@njit(cache=True)
def normal_at(nums, codes, pool, k, x, y, z):
    """Unit vector away from the shape there: the gradient of its distance."""
    a = away(nums, codes, pool, k, x + H, y, z) - away(nums, codes, pool, k, x - H, y, z)
    b = away(nums, codes, pool, k, x, y + H, z) - away(nums, codes, pool, k, x, y - H, z)
    c = away(nums, codes, pool, k, x, y, z + H) - away(nums, codes, pool, k, x, y, z - H)
    size = np.sqrt(a * a + b * b + c * c)
    return a / size, b / size, c / size


@njit(cache=True)
def along_line(nums, codes, pool, k, start, way, radius, until, looks, first):
    """Share of a straight way, up to `until`, at which a ball first touches shape k, from look `first` on; inf: never.

    The distance from a convex shape along a line has one valley, so what dips between looks is found by its floor.
    """
    step, before, here = until / (looks - 1), np.inf, np.inf
    for i in range(first, looks):
        share = i * step
        gap = _on_line(nums, codes, pool, k, start, way, share) - radius
        if i > first and here > 0.0 >= gap:
            return _line_root(nums, codes, pool, k, start, way, radius, share - step, share)
        if i > first + 1 and before > here < gap:
            low = _line_floor(nums, codes, pool, k, start, way, share - 2.0 * step, share)
            if _on_line(nums, codes, pool, k, start, way, low) < radius:
                return _line_root(nums, codes, pool, k, start, way, radius, share - 2.0 * step, low)
        before, here = here, gap
    return np.inf


@njit(cache=True)
def _on_line(nums, codes, pool, k, start, way, share):
    return away(nums, codes, pool, k, start[0] + share * way[0], start[1] + share * way[1], start[2] + share * way[2])


@njit(cache=True)
def _line_root(nums, codes, pool, k, start, way, radius, low, high):
    for _ in range(80):
        middle = 0.5 * (low + high)
        if _on_line(nums, codes, pool, k, start, way, middle) > radius:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@njit(cache=True)
def _line_floor(nums, codes, pool, k, start, way, low, high):
    for _ in range(100):
        a, b = low + 0.382 * (high - low), low + 0.618 * (high - low)
        if _on_line(nums, codes, pool, k, start, way, a) < _on_line(nums, codes, pool, k, start, way, b):
            high = b
        else:
            low = a
    return 0.5 * (low + high)
