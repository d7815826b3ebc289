"""Where a ball leaves the bay: through an opening, or through the box that holds the room."""

from __future__ import annotations

import numpy as np

from flightsim.contact.limits import ON_OUTLINE
from flightsim.engine.approach import TOUCHES, approach
from flightsim.engine.arc import position, reach_along
from flightsim.engine.compiled import compiled
from flightsim.engine.distance import distance
from flightsim.engine.layout import CENTRE, CORE, BayArrays, openings_of, parts_of, zones_of
from flightsim.engine.three import Vector, three

FACES = 6  # of the room's box


@compiled
def leaving(bay: BayArrays, arc: np.ndarray, before: float, until: float) -> tuple[int, float, Vector]:
    """The opening that the ball's centre leaves by before tau `before`, when, and the outward normal; -1 for none.

    One more than the last opening stands for no known one: the room's own surface has a gap there, and the ball counts
    as out all the same. until: the tau up to which it is looked for.
    """
    openings, outlines = openings_of(bay), parts_of(bay) + zones_of(bay)
    which, soonest, outward, end = -1, before, (0.0, 0.0, 0.0), position(arc, until)
    for j in range(openings + FACES):
        beyond = outlines + openings + j
        direction = three(bay.solids[beyond], CENTRE)
        if not reach_along(arc, direction, end, until) > bay.solids[beyond, CORE]:
            continue
        how, tau, _ = approach(bay, beyond, arc, 0.0, until, 0.0)
        if how != TOUCHES or not tau < soonest:
            continue
        if j < openings and distance(bay, outlines + j, position(arc, tau))[0] > ON_OUTLINE:
            continue
        which, soonest, outward = min(j, openings), tau, direction
    return which, soonest, outward
