"""Aims and shooters made by hand, and a bay that is closed but for what is left out of it."""

from __future__ import annotations

import numpy as np
from bays import part, vector

from flightsim.bay.parts import Bay, Role
from flightsim.bay.shapes import rectangle
from flightsim.contact.facings import shipped_facings
from flightsim.contact.surroundings import Surroundings, surround
from flightsim.flight.air import Air
from flightsim.flight.integrator import Physics
from flightsim.study.map.directions import Aim, unit
from flightsim.study.map.shooting import Shooter

STILL = Physics(air=Air(1e-30, 1.8e-5), gravity=0.0)  # neither air nor gravity: balls go straight


def aim_at(elevation: float = 10.0, azimuth: float = 0.0, start=(0.0, 0.0, 0.06), wide: float = 12.0) -> Aim:
    """A club whose launches are spread evenly this far, deg, round its normal shot; angles in deg."""
    el, az = np.radians(elevation), np.radians(azimuth)
    rng = np.random.default_rng(2)
    up, side = np.radians(rng.uniform(-wide, wide, (2, 500)))
    drawn = unit(el + up, az + side)
    return Aim("iron", "iron", "tee", "right", vector(*start), 50.0, el, az, 500.0, 0, ("clean",), drawn, 55.0)


def around(bay: Bay) -> Surroundings:
    """A bay ready for balls; what a part is made of is brick, of a guard steel, where it does not say."""
    facings = shipped_facings()
    facings = {**facings, "test": facings["brick"]}
    return surround(bay, (), facings, {})


def shooter(bay: Bay, aim: Aim, physics: Physics = STILL) -> Shooter:
    """The aim's shots in a bay, nobody being there."""
    return Shooter(physics, around(bay), aim.start, aim.ball_speed, aim.spin_rate, np.ones(len(bay.zones), bool))


def open_box(*guards: tuple, reach: float = 8.0, floor: bool = False) -> Bay:
    """Sheets (name, corner, side a, side b) as guards in an empty box that is open all round."""
    parts = [part(name, rectangle(*map(np.array, map(np.float64, sides))), Role.GUARD, "cloth")
             for name, *sides in guards]  # fmt: skip
    if floor:
        sheet = rectangle(vector(-reach, -reach, 0), vector(2 * reach, 0, 0), vector(0, 2 * reach, 0))
        parts.append(part("slab", sheet, Role.FLOOR))
    return Bay(tuple(parts), (), np.full(3, -reach), np.full(3, reach))
