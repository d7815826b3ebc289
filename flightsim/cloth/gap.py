"""The gap that has to be left behind a cloth, from how far it sinks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flightsim.cloth.closed_form import BALL_MASS, FAR_FACTOR, NEAR_FACTOR
from flightsim.cloth.fabric import Cloth
from flightsim.cloth.table import depth_table, slack_weave, stiff_weave

BALL_RADIUS = 0.021335  # m, Rules of golf


@dataclass(frozen=True)
class Gap:
    """Gap behind a cloth for one ball speed, m: centre, and the near and far end of what it may have to be."""

    near: float
    centre: float
    far: float


def recommended_gap(
    cloth: Cloth,
    speed: float,
    place: tuple[float, float] | None = None,
    *,
    shear_known: bool = False,
    ball_radius: float = BALL_RADIUS,
    ball_mass: float = BALL_MASS,
) -> Gap:
    """Gap that a square hit at `speed`, m/s, does not use up: the depth and a ball's radius, m, with its band.

    place: across and up, m, from the lower left corner; without one, wherever the cloth sinks deepest. Leave the far
    end, not the centre. NaN where the lattice has no answer.
    Raises ValueError for a speed that is none and for a place beyond the cloth.
    """
    if not 0.0 < speed <= 200.0:
        raise ValueError(f"a gap for a ball of {speed:g} m/s cannot be worked out: more than 0 and up to 200 m/s can")
    if place is not None and not (0.0 <= place[0] <= cloth.width and 0.0 <= place[1] <= cloth.height):
        raise ValueError(
            f"a hit at {place[0]:g} m across and {place[1]:g} m up misses the cloth: "
            f"0 to {cloth.width:g} m and 0 to {cloth.height:g} m are on it"
        )
    centre = _depth(cloth, speed, place, ball_mass)
    near, far = NEAR_FACTOR * centre, FAR_FACTOR * centre
    if not shear_known:
        near = float(np.minimum(near, stiff_weave(cloth) * centre))
        far = float(np.maximum(far, _depth(slack_weave(cloth), speed, place, ball_mass)))  # NaN stays NaN
    return Gap(near + ball_radius, centre + ball_radius, far + ball_radius)


def _depth(cloth: Cloth, speed: float, place: tuple[float, float] | None, ball_mass: float) -> float:
    """Depth at a place, or where the cloth sinks deepest, m."""
    table = depth_table(cloth, ball_mass, True)
    return float(table.deepest(speed)[0] if place is None else table.depth(speed, *place))
