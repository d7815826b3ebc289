"""When a ball on its arc first touches one thing: steps to lower bounds of the gap, as in `flightsim.contact.touch`.

At a point of the arc let g be the gap, g' its rate along the arc, and A the arc's largest second derivative. To a
convex thing g(t + s) >= g + g' s - A s^2/2; to any other only |g'| <= speed is known. Steps to the first root never
pass a contact, however thin the thing, and to convex ones they close in quadratically.
"""

from __future__ import annotations

import numpy as np

from flightsim.contact.touch import GRAZING, INSIDE, MAX_STEPS, TOUCHING
from flightsim.engine.arc import BEND, SPEED, position, rate
from flightsim.engine.compiled import compiled
from flightsim.engine.layout import CONVEX, BayArrays
from flightsim.engine.shapes import distance
from flightsim.engine.vectors import Vector, dot

MISSES, TOUCHES, UNDECIDED = 0, 1, 2


@compiled
def approach(
    bay: BayArrays, k: int, arc: np.ndarray, tau: float, until: float, radius: float
) -> tuple[int, float, Vector]:
    """Whether a ball comes within `radius` of thing k between `tau` and `until`, at which tau, and the unit normal.

    UNDECIDED for one that starts inside it, unless the radius is nought, and for steps too short to end.
    """
    convex, bend, speed = bay.codes[k, CONVEX], arc[BEND], arc[SPEED]
    for _ in range(MAX_STEPS):
        away, normal = distance(bay, k, position(arc, tau))
        gap = away - radius
        closing = dot(normal, rate(arc, tau))
        if gap < -INSIDE and radius > 0.0:
            return UNDECIDED, tau, normal
        # Already touching and separating: creep until it has come off.
        open_ = max(gap, TOUCHING * 1.0e-3)
        after = tau + (convex_step(open_, closing, bend) if convex else open_ / speed)
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
