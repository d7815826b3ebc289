"""When a ball on its arc first touches one thing: steps to lower bounds of the gap.

At a point of the arc let g be the gap, g' its rate along the arc, and A the arc's largest second derivative. To a
convex thing g(t + s) >= g + g' s - A s^2/2, and each triangle of a mesh is one. Steps to the first root never pass a
contact, however thin the thing, and close in quadratically.
"""

from __future__ import annotations

import numpy as np

from flightsim.contact.limits import GRAZING, INSIDE, MAX_LOOKS, TOUCHING
from flightsim.engine.arc import BEND, position, rate
from flightsim.engine.compiled import compiled, place
from flightsim.engine.distance import distance
from flightsim.engine.layout import AT, CORNER, COUNT, KIND, MESH, TEST, BayArrays
from flightsim.engine.nearest_triangle import from_box, in_leaf, nearest_point, next_node, outward, triangle_at
from flightsim.engine.own_test import own_test
from flightsim.engine.three import Vector, dot, length, minus, times

MISSES, TOUCHES, UNDECIDED = 0, 1, 2
FIRST = place(1)  # node of a mesh's tree
BEYOND = 1.0 + 1.0e-9  # a step so much longer than what is left ends the search
UNIT = 1.0e-6  # how far the square of a unit normal may be from 1


@compiled
def approach(
    bay: BayArrays, k: int, arc: np.ndarray, tau: float, until: float, radius: float
) -> tuple[int, float, Vector]:
    """Whether a ball comes within `radius` of thing k between `tau` and `until`, at which tau, and the unit normal.

    UNDECIDED for one that starts inside it, unless the radius is nought, and for steps too short to end.
    """
    if bay.codes[k, TEST] != 0:
        return _by_own_test(bay, k, arc, tau, until, radius)
    mesh, bend = bay.codes[k, KIND] == MESH, arc[BEND]
    for _ in range(MAX_LOOKS):
        away, normal = distance(bay, k, position(arc, tau))
        gap = away - radius
        closing = dot(normal, rate(arc, tau))
        if gap < -INSIDE and radius > 0.0:
            return UNDECIDED, tau, normal
        # Already touching and separating: creep until it has come off.
        open_ = max(gap, TOUCHING * 1.0e-3)
        after = tau + (
            _mesh_step(bay, k, arc, tau, BEYOND * (until - tau) + 1.0e-12, radius)
            if mesh
            else convex_step(open_, closing, bend)
        )
        if gap <= TOUCHING and closing < 0.0:
            # The step from here is short of the root by the square of a gap that is nothing already.
            when = after if gap > 0.0 else tau
            return TOUCHES if when <= until else MISSES, when, normal
        if not after <= until:
            return MISSES, after, normal
        tau = after
    # Steps too short to end: a graze. Closer than GRAZING it is a touch, else nobody knows.
    away, normal = distance(bay, k, position(arc, tau))
    return TOUCHES if away - radius < GRAZING else UNDECIDED, tau, normal


@compiled
def convex_step(gap: float, closing: float, bend: float) -> float:
    """The first root of gap + closing s - bend s^2/2: before it a convex gap stays open."""
    root = np.sqrt(closing * closing + 2.0 * bend * gap)
    if closing < 0.0:
        # Written so that no digits are lost, whichever way the ball goes.
        return 2.0 * gap / max(root - closing, 1.0e-300)
    if bend <= 1.0e-300:  # it never comes nearer: a ball that lies still, or a straight way
        return 2.0
    return min((root + closing) / bend, 2.0)


@compiled
def _mesh_step(bay: BayArrays, k: int, arc: np.ndarray, tau: float, most: float, radius: float) -> float:
    """The least step to any triangle of a mesh, and no more than `most`: before it the ball touches none."""
    mesh, leaves, reach = bay.codes[k, AT], bay.codes[k, COUNT], radius + bay.solids[k, CORNER]
    point, way, bend = position(arc, tau), rate(arc, tau), arc[BEND]
    best, node = most, FIRST
    while True:
        off = from_box(bay.pool, mesh, node, point)
        away = length(off)
        # All that a box holds is at least as far as the box, which is convex too.
        if away <= reach or convex_step(away - reach, dot(off, way) / away, bend) < best:
            if node < leaves:
                node *= 2
                continue
            for j in range(in_leaf(bay.pool, mesh, leaves, node)):
                triangle = triangle_at(mesh, leaves, node, j)
                off = minus(point, nearest_point(bay.pool, triangle, point))
                away = length(off)
                normal = times(off, 1.0 / away) if away > 0.0 else outward(bay.pool, triangle)
                open_ = max(away - reach, TOUCHING * 1.0e-3)
                best = min(best, convex_step(open_, dot(normal, way), bend))
        node = next_node(node)
        if node == 1:
            return best


@compiled
def _by_own_test(
    bay: BayArrays, k: int, arc: np.ndarray, tau: float, until: float, radius: float
) -> tuple[int, float, Vector]:
    """What a plugin's own test of part k says of this arc; UNDECIDED where that cannot be."""
    when, normal = own_test(bay.codes[k, TEST], arc, tau, until, radius)
    if when > until:
        return MISSES, when, normal
    if when >= tau and abs(dot(normal, normal) - 1.0) < UNIT:
        return TOUCHES, when, normal
    return UNDECIDED, tau, normal
