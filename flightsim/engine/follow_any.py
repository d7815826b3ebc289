"""Balls to their first contacts and ends: by the compiled engine, or by the batches where a plugin gives functions.

A plugin that tests trajectories itself, a shape or a law that is a Python function: such a bay is followed by the
batches of `flightsim.contact`, with the same answers and several times slower. `open_bay` warns of it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact import first as batches
from flightsim.contact import follow as batches_to_the_end
from flightsim.contact.as_data import functions_of_air, functions_of_bay, functions_of_laws
from flightsim.contact.ends import BatchTest
from flightsim.contact.fates import Fates
from flightsim.contact.first import LONGEST_ARC, Contacts
from flightsim.contact.log import ContactLog
from flightsim.contact.surroundings import Surroundings
from flightsim.engine import play
from flightsim.flight.integrator import DEFAULT_TOLERANCE, Physics
from flightsim.flight.launches import Launches

Mask = NDArray[np.bool_]


def first_contacts(
    physics: Physics,
    launches: Launches,
    bay: Bay,
    tests: Sequence[BatchTest],
    tolerance: float = DEFAULT_TOLERANCE,
    longest_arc: float = LONGEST_ARC,
) -> Contacts:
    """Fly every launch to its first contact.

    tests: one a plugin; together they cover all parts of the bay. The earliest touch wins; ties within 1
    micrometre of path go to what is no guard, then by part name, so the order of tests never shows. A ball that
    starts outside the room, or inside a part, has failed: no ball can lie there.
    """
    if any(functions_of_bay(bay, tests)) or any(functions_of_air(physics.aero)):
        return batches.first_contacts(physics, launches, bay, tests, tolerance, longest_arc)
    return play.first_contacts(physics, launches, bay, tolerance, longest_arc)


def follow(
    physics: Physics,
    launches: Launches,
    around: Surroundings,
    own: Mask,
    to_rest: bool = False,
    log: ContactLog | None = None,
    tolerance: float = DEFAULT_TOLERANCE,
) -> tuple[Contacts, Fates]:
    """Fly every launch to its first contact and on to its end.

    own `(zones, n)`: which zones count for a shot at any time, and which only once it has touched something; see
    Zone. A ball is followed until it can do no more harm (see Surroundings.harmless_energy), or to_rest until it lies
    still; log: where every contact is written. Bounded: a ball that does not end is unresolved.
    """
    engine = play.follow if is_data(physics, around) else batches_to_the_end.follow
    return engine(physics, launches, around, own, to_rest, log, tolerance)


def is_data(physics: Physics, around: Surroundings) -> bool:
    """Whether the compiled engine can follow balls there."""
    bay = around.bay
    functions = (*functions_of_bay(bay, around.tests), *functions_of_laws(bay, around.laws))
    return not any(functions) and not any(functions_of_air(physics.aero))
