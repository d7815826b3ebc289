"""Balls that cross the space behind the tee, whoever is there: told of every run, and no flag."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.arcs import ArcBatch
from flightsim.contact.crossings import cross_boxes
from flightsim.contact.fates import Fates
from flightsim.contact.surroundings import Surroundings
from flightsim.contact.touch_boxes import PairBoxes

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

# m above the slab. Lower balls meet feet and bags; higher ones pass over the tallest (judgement: 2 m is taller than 99
# of 100 men). A ball that comes down from above comes through what is between.
LOW, HIGH = 0.3, 2.0


def note_behind_tee(fates: Fates, shot: Index, tee: Array, counts: Mask, arcs: ArcBatch, around: Surroundings) -> None:
    """Write how fast balls cross the space behind their tee, before their arcs' `until`, at the harm speed or faster.

    shot `(n,)`: which each ball is; tee `(n,)`: x of where it started, m; counts `(n,)`: which balls count.
    """
    bay = around.bay
    low = np.array([bay.lower[0], bay.lower[1], bay.lower[2] + LOW])
    high = np.array([tee.max(initial=bay.lower[0]), bay.upper[1], bay.lower[2] + HIGH])
    balls, tau = arcs.near(low, high)
    some = counts[balls] & (tee[balls] > low[0])
    balls, tau = balls[some], tau[some]
    if balls.size == 0:
        return
    upper = np.repeat(high[:, None], balls.size, axis=1)
    upper[0] = tee[balls]
    half = 0.5 * (upper - low[:, None])
    found, _ = cross_boxes(PairBoxes(low[:, None] + half, half, np.zeros(balls.size)), arcs, balls, tau)
    hard = found.speed >= around.harm_speed
    who = shot[found.balls[hard]]
    fates.behind_tee[who] = np.fmax(fates.behind_tee[who], found.speed[hard])
