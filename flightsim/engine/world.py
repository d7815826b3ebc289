"""What holds for every ball of a call: ball, air, limits. A row of numbers, named here."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.engine.aero import TABLE, aero_numbers
from flightsim.engine.aero_table import aero_table
from flightsim.engine.compiled import place
from flightsim.flight.integrator import Physics, spin_decay_rate

Array = NDArray[np.float64]

RADIUS, MASS, INERTIA, GRAVITY = 0, 1, 2, 3  # m, kg, k of I = k m r^2, m/s2
WIND = place(4)  # m/s, three
WINDY = 7  # 1 with wind
SPIN_DECAY = 8  # 1/m
FORCE = 9  # 1/m: rho A/(2 m)
REYNOLDS = 10  # s/m: Re over speed
AERO = 11  # which model, then two numbers of it
LOWER, UPPER = place(14), place(17)  # m, three each: the box that holds the room
TOLERANCE = 20  # m of position an arc
LONGEST_ARC = 21  # s
HARM_SPEED = 22  # m/s
HARMLESS = 23  # J/kg: a ball with less needs no following
CALM = 24  # J/kg: one with less that touches on and on does no harm
TO_END = 25  # 1: followed to the end; 0: to its first contact
PARTS, ZONES, OPENINGS, WORDS = 26, 27, 28, 29  # how many
STRUCK_SPEED = 30  # m/s: from here on a ball strikes what is behind cloth
LEAST_SPEED = 31  # m/s: a slower ball does nothing through cloth that is counted
WORLD_SIZE = 32  # then the table of drag and lift, where they are one


def world_of(physics: Physics, bay: Bay, **given: Any) -> Array:
    """The row for these physics in this bay. given: by the names above, in small letters. Raises AeroTableError."""
    ball, air = physics.ball, physics.air
    world = np.zeros(WORLD_SIZE)
    world[RADIUS], world[MASS], world[INERTIA] = ball.radius, ball.mass, ball.inertia_factor
    world[GRAVITY] = physics.gravity
    world[WIND : WIND + 3], world[WINDY] = physics.wind, any(physics.wind)
    world[SPIN_DECAY] = spin_decay_rate(physics)
    world[FORCE] = 0.5 * air.density * ball.area / ball.mass
    world[REYNOLDS] = air.density * ball.diameter / air.viscosity
    world[AERO : AERO + 3] = aero_numbers(physics.aero)
    world[LOWER : LOWER + 3], world[UPPER : UPPER + 3] = bay.lower, bay.upper
    world[PARTS], world[ZONES], world[OPENINGS] = len(bay.parts), len(bay.zones), len(bay.openings)
    for name, value in given.items():
        world[globals()[name.upper()]] = value
    return world if world[AERO] != TABLE else np.concatenate([world, aero_table(physics.aero)])
