"""How far a point is from a thing, and in which direction: `flightsim.bay.shapes`, one point at a time."""

from __future__ import annotations

import numpy as np

from flightsim.engine.compiled import compiled
from flightsim.engine.layout import (
    AT,
    AXES,
    BOX,
    CAPSULE,
    CENTRE,
    CORE,
    CORNER,
    COUNT,
    HALF_SPACE,
    KIND,
    MESH,
    POLYGON,
    STRAIGHT,
    BayArrays,
)
from flightsim.engine.nearest_triangle import nearest_of_mesh
from flightsim.engine.three import Vector, dot, length, minus, plus, three, times, turned, turned_back

TINY = 1.0e-300


@compiled
def distance(bay: BayArrays, k: int, point: Vector) -> tuple[float, Vector]:
    """Distance, m, negative inside a solid, and unit normal from the nearest surface point toward this one."""
    row, kind = bay.solids[k], bay.codes[k, KIND]
    if kind == BOX:
        return _from_box(row, bay.codes[k, STRAIGHT], point)
    if kind == POLYGON:
        return _from_polygon(row, bay.pool, bay.codes[k, AT], bay.codes[k, COUNT], point)
    if kind == HALF_SPACE:
        outward = three(row, CENTRE)
        return row[CORE] - dot(outward, point), times(outward, -1.0)
    if kind == MESH:
        mesh, leaves, solid = bay.codes[k, AT], bay.codes[k, COUNT], bay.codes[k, STRAIGHT]
        off, normal = nearest_of_mesh(bay.pool, mesh, leaves, solid, point)
        return off - row[CORNER], normal
    return _from_capsule(row, point) if kind == CAPSULE else _from_tube(row, point)


@compiled
def _from_box(row: np.ndarray, straight: int, point: Vector) -> tuple[float, Vector]:
    local = minus(point, three(row, CENTRE))
    if straight == 0:
        local = turned(row, AXES, local)
    away, normal = _from_core(three(row, CORE), local)
    if straight == 0:
        normal = turned_back(row, AXES, normal)
    return away - row[CORNER], normal


@compiled
def _from_core(core: Vector, local: Vector) -> tuple[float, Vector]:
    past = abs(local[0]) - core[0], abs(local[1]) - core[1], abs(local[2]) - core[2]
    beyond = max(past[0], 0.0), max(past[1], 0.0), max(past[2], 0.0)
    away = length(beyond)
    if away > 0.0:
        scale = max(away, TINY)
        x, y, z = beyond[0] / scale, beyond[1] / scale, beyond[2] / scale
        return away, (np.copysign(x, local[0]), np.copysign(y, local[1]), np.copysign(z, local[2]))
    if past[0] >= past[1] and past[0] >= past[2]:
        return past[0], (np.copysign(1.0, local[0]), 0.0, 0.0)
    if past[1] >= past[2]:
        return past[1], (0.0, np.copysign(1.0, local[1]), 0.0)
    return past[2], (0.0, 0.0, np.copysign(1.0, local[2]))


@compiled
def _from_polygon(row: np.ndarray, pool: np.ndarray, begins: int, corners: int, point: Vector) -> tuple[float, Vector]:
    u, v, w = turned(row, AXES, minus(point, three(row, CENTRE)))
    inside, nearest, du, dv = True, np.inf, 0.0, 0.0
    for j in range(corners):
        a = begins + 2 * j
        b = begins + 2 * ((j + 1) % corners)
        eu, ev, pu, pv = pool[b] - pool[a], pool[b + 1] - pool[a + 1], u - pool[a], v - pool[a + 1]
        inside = inside and eu * pv - ev * pu >= 0.0
        along = min(max((pu * eu + pv * ev) / (eu * eu + ev * ev), 0.0), 1.0)
        pu, pv = pu - along * eu, pv - along * ev
        if pu * pu + pv * pv < nearest:
            nearest, du, dv = pu * pu + pv * pv, pu, pv
    if inside:
        du, dv = 0.0, 0.0
    away = length((du, dv, w))
    scale = 1.0 / max(away, TINY)
    local = (du * scale, dv * scale, w * scale if away > 0.0 else 1.0)
    return away, turned_back(row, AXES, local)


@compiled
def _from_tube(row: np.ndarray, point: Vector) -> tuple[float, Vector]:
    """A solid cylinder with flat ends."""
    axis, local = three(row, AXES), minus(point, three(row, CENTRE))
    height = dot(axis, local)
    out = minus(local, times(axis, height))
    off_axis = length(out)
    out = times(out, 1.0 / max(off_axis, TINY))
    past_side, past_end = off_axis - row[CORE + 1], abs(height) - row[CORE]
    side, end = max(past_side, 0.0), max(past_end, 0.0)
    away = np.sqrt(side * side + end * end)
    if away > 0.0:
        side, end = side / max(away, TINY), end / max(away, TINY)
    else:
        away = max(past_side, past_end)
        side = 1.0 if past_side >= past_end else 0.0
        end = 1.0 - side
    return away, plus(times(out, side), times(axis, np.copysign(end, height)))


@compiled
def _from_capsule(row: np.ndarray, point: Vector) -> tuple[float, Vector]:
    """A round bar with ball ends."""
    axis, local = three(row, AXES), minus(point, three(row, CENTRE))
    along = min(max(dot(axis, local), -row[CORE]), row[CORE])
    out = minus(local, times(axis, along))
    away = length(out)
    if not away > 0.0:
        return -row[CORE + 1], three(row, AXES + 3)
    return away - row[CORE + 1], times(out, 1.0 / away)
