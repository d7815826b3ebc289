"""A face that gives way carries the ball with it: what lies within its reach is struck through the cloth."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.arcs import ArcBatch
from flightsim.contact.rebound import Hits
from flightsim.flight.arcs import Flights

Array = NDArray[np.float64]

SLOWING = 1.5  # exponent of the speed left: [cloth-form]
STEEPEST = 1.0  # sideways way over depth that is followed at most: beyond 45 deg the ball slides along the cloth


def sinking_arcs(hits: Hits, sink: Array, ignored: dict[str, NDArray[np.bool_]], radius: float) -> ArcBatch:
    """The straight ways `(k,)` of balls that sink `(k,)`, m, into the face that they hit, as arcs of one second."""
    inward = np.maximum(hits.normal_speed, 1.0e-9)
    along = hits.velocity + hits.normal * inward
    sideways = along / inward
    steep = np.sqrt((sideways * sideways).sum(axis=0))
    way = (sideways * np.minimum(1.0, STEEPEST / np.maximum(steep, 1.0e-9)) - hits.normal) * sink
    k = sink.size
    path = np.zeros((3, 3, k))
    path[0], path[1] = hits.point, way
    nothing = np.zeros(k)
    flights = Flights(nothing, np.ones(k), path, hits.spin, way, hits.spin, np.zeros((2, k)), 0.0, nothing)
    return ArcBatch(flights, radius, ignored)


def speed_left(speed: Array, depth: Array, kept: Array | float = 0.0) -> Array:
    """Speed left at a share `depth` `(k,)`, 0..1, of the way that the cloth goes: V (1 - depth^1.5).

    kept: the share of the speed that is left at the end of that way, if it ends before the cloth has stopped the ball.
    [cloth-form], computed by a lattice.
    """
    return np.asarray(speed * (1.0 - (1.0 - kept) * np.clip(depth, 0.0, 1.0) ** SLOWING))
