"""Press the cloth with a known force in the middle and read the dent: how a builder finds the pretension."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from math import log, pi

import numpy as np
from numpy.typing import NDArray

from flightsim.cloth.fabric import SIDES, Cloth
from flightsim.cloth.kept_tables import kept_arrays
from flightsim.cloth.mesh import make_mesh
from flightsim.cloth.settled import settle

HAND_RADIUS = 0.025  # m, of what presses: a fist's knuckles, a jar's lid (judgement)
# A load on one node of a square mesh h acts as one spread over a radius of .1985 h [membranes].
NODE_RADIUS = 0.1985


def membrane_stiffness(pretension: float, side: float, radius: float) -> float:
    """Force over dent, N/m, of a linear square membrane held at its rim, pressed in the middle.

    k = 2 pi T/ln(.5394 L/r) with T the pretension, N/m, L the side and r the radius of what presses, m [membranes].
    Only true for dents so small that the cloth does not stretch: millimetres.
    """
    return 2.0 * pi * pretension / log(0.5394 * side / radius)


def dent(cloth: Cloth, force: float, radius: float = HAND_RADIUS) -> float:
    """Depth of the dent in the middle, m, under a steady force, N: the lattice at rest, stretch and cords included.

    Raises ValueError for a force that is none or more than a hand's, and for a cloth that is not held all round: it
    has no pretension that a dent could tell.
    """
    if not 0.0 < force <= 500.0:
        raise ValueError(f"a hand that presses with {force:g} N cannot be worked out: more than 0 and up to 500 N can")
    if cloth.corded != frozenset(SIDES):
        raise ValueError(
            "pressing by hand tells the tension of a cloth that is held on all four sides, and of no other"
        )
    mesh = make_mesh(cloth, radius / NODE_RADIUS, (True, True))
    load = np.zeros_like(mesh.place)
    load[2, -1, -1] = 0.25 * force
    return float(settle(mesh, load)[2, -1, -1, 0])


def dents(cloth: Cloth, pretensions: Sequence[float], force: float) -> tuple[float, ...]:
    """Dents, m, of a cloth under each of these pretensions, N/m, kept on this machine. Raises as `dent`."""
    question = {each.name: getattr(cloth, each.name) for each in fields(cloth)} | {"corded": sorted(cloth.corded)}

    def work() -> dict[str, NDArray[np.float64]]:
        return {"dents": np.array([dent(replace(cloth, pretension=each), force) for each in pretensions])}

    kept = kept_arrays(repr(("dents", question, tuple(pretensions), force)), work)["dents"]
    return tuple(map(float, kept))


def pretension_from_dent(cloth: Cloth, force: float, read: float, radius: float = HAND_RADIUS) -> float:
    """Pretension, N/m, of a cloth that a force, N, dents by `read`, m, in the middle; the cloth's own is not used.

    Raises ValueError for a dent that no pretension from 1 N/m to a hundredth of the stiffness (2000 N/m at most) gives.
    """
    from scipy.optimize import brentq

    lowest, highest = 1.0, min(2000.0, 0.01 * cloth.stiffness)
    deepest, least = (dent(replace(cloth, pretension=each), force, radius) for each in (lowest, highest))
    if not least <= read <= deepest:
        raise ValueError(
            f"{force:g} N cannot dent this cloth by {read:g} m: {least:.3f} m (tight as a drum) to {deepest:.3f} m "
            "(loose) can be; check the force, the cloth's stiffness and its cords"
        )

    def too_deep(logarithm: float) -> float:
        return dent(replace(cloth, pretension=float(np.exp(logarithm))), force, radius) - read

    return float(np.exp(brentq(too_deep, log(lowest), log(highest), xtol=1e-3)))
