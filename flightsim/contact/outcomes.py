"""What the first contact says of each shot. Provisional labels, until rebounds are computed."""

from __future__ import annotations

from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Role
from flightsim.contact.first import Contacts


class Outcome(IntEnum):
    """One label a shot. What comes back after the first contact is not computed."""

    MET_GUARD = 0  # met a guard first
    HIT_UNPROTECTED = 1  # met a part first that is no protection
    GOT_OUT = 2  # left through an opening
    NOT_FOLLOWED = 3  # met the floor first, or the flight could not be followed

    @property
    def key(self) -> str:
        """The name used in files."""
        return self.name.lower()


OUTCOME_OF_ROLE = {
    Role.GUARD: Outcome.MET_GUARD,
    Role.UNPROTECTED: Outcome.HIT_UNPROTECTED,
    Role.FLOOR: Outcome.NOT_FOLLOWED,
}


def judge(bay: Bay, contacts: Contacts) -> NDArray[np.int8]:
    """Outcome `(n,)` of each shot, from its first contact. A shot that failed is not followed: never met_guard."""
    outcome = np.full(len(contacts.part), Outcome.NOT_FOLLOWED, dtype=np.int8)
    by_part = np.array([OUTCOME_OF_ROLE[part.role] for part in bay.parts], dtype=np.int8)
    met = contacts.part >= 0
    outcome[met] = by_part[contacts.part[met]]
    outcome[contacts.opening >= 0] = Outcome.GOT_OUT
    outcome[contacts.failed] = Outcome.NOT_FOLLOWED
    return outcome
