"""First contacts: each launch is flown until it touches a part or leaves the bay."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact.arcs import ArcBatch
from flightsim.contact.ends import BatchTest, Ends, arc_ends
from flightsim.flight.arcs import Flights
from flightsim.flight.integrator import DEFAULT_TOLERANCE, Physics, fly_arcs
from flightsim.flight.launches import Launches

Array = NDArray[np.float64]
Index = NDArray[np.intp]

MAX_FLIGHT_TIME = 30.0  # s: nothing flies longer indoors
MAX_ARCS = 400
LONGEST_ARC = 0.35  # s: longer first tries miss the tolerance more often than they save arcs


@dataclass(frozen=True)
class Contacts:
    """Where each of n flights first met something.

    part `(n,)` int: index into bay.parts, -1 for none; opening `(n,)` int: index into bay.openings of the
    opening it left through, -1 for none, len(openings) when it left the room where no opening is known;
    time `(n,)`, s; point `(3, n)`, m, the ball centre; velocity `(3, n)`, m/s; normal `(3, n)`, unit, from the
    part toward the ball (or out of the opening); spin `(3, n)`, rad/s; failed `(n,)` bool: the flight could not
    be followed to an end. What a failed flight has is NaN.
    """

    part: Index
    opening: Index
    time: Array
    point: Array
    velocity: Array
    normal: Array
    spin: Array
    failed: NDArray[np.bool_]

    @classmethod
    def empty(cls, n: int) -> Contacts:
        """No contacts yet."""
        nothing = np.full(n, -1, dtype=np.intp)
        blank = np.full((3, n), np.nan)
        return cls(
            nothing,
            nothing.copy(),
            np.full(n, np.nan),
            blank,
            blank.copy(),
            blank.copy(),
            blank.copy(),
            np.zeros(n, dtype=bool),
        )

    def put(self, shots: Index, flights: Flights, ends: Ends) -> None:
        """Write where the arcs of these shots `(n,)` end, for those that end."""
        self.failed[shots[ends.failed]] = True
        met = np.flatnonzero(~ends.failed & ~ends.goes_on)
        some, tau, shot = flights.take(met), ends.tau[met], shots[met]
        self.part[shot], self.opening[shot] = ends.part[met], ends.opening[met]
        self.time[shot] = some.time(tau)
        self.point[:, shot] = some.position(tau)
        self.velocity[:, shot] = some.velocity(tau)
        self.normal[:, shot] = ends.normal[:, met]
        self.spin[:, shot] = some.spin_at(tau)

    def speed_of(self, chunk: slice = slice(None)) -> Array:
        """Speed at the contact `(n,)`, m/s."""
        return np.asarray(np.sqrt((self.velocity[:, chunk] ** 2).sum(axis=0)))

    def angle_of(self, chunk: slice = slice(None)) -> Array:
        """Angle between velocity and surface normal `(n,)`, rad, 0 for a square hit."""
        velocity, normal = self.velocity[:, chunk], self.normal[:, chunk]
        square = np.abs((velocity * normal).sum(axis=0))
        along = np.sqrt((np.cross(velocity, normal, axis=0) ** 2).sum(axis=0))
        return np.asarray(np.arctan2(along, square))


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
    contacts = Contacts.empty(len(launches))
    contacts.failed[:] = ((launches.start < bay.lower[:, None]) | (launches.start > bay.upper[:, None])).any(axis=0)
    alive = np.flatnonzero(~contacts.failed)
    start, velocity, spin = (a.take(alive, axis=1) for a in (launches.start, launches.velocity, launches.spin))
    time = np.zeros(alive.size)
    last = np.full(alive.size, longest_arc)
    for _ in range(MAX_ARCS):
        duration = np.minimum(time_to_leave(start, velocity, bay, physics), last)
        flights = fly_arcs(physics, start, velocity, spin, time, duration, tolerance)
        ends = arc_ends(bay, ArcBatch(flights, physics.ball.radius), tests)
        contacts.put(alive, flights, ends)
        done = ~ends.goes_on
        lost = ~done & (flights.start_time >= MAX_FLIGHT_TIME)
        contacts.failed[alive[lost]] = True
        go = np.flatnonzero(~done & ~lost)
        if go.size == 0:
            return contacts
        alive, flights = alive[go], flights.take(go)
        start, velocity, spin = flights.path.sum(axis=0), flights.end_velocity, flights.end_spin
        time = flights.start_time + flights.duration
        last = np.minimum(2.0 * flights.duration, longest_arc)
    contacts.failed[alive] = True
    return contacts


def time_to_leave(start: Array, velocity: Array, bay: Bay, physics: Physics) -> Array:
    """Time `(n,)`, s, in which a ball without air would leave the bay's box, and a little more."""
    margin = 2.0 * physics.ball.radius
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        forward = np.where(velocity > 0.0, bay.upper[:, None], bay.lower[:, None])
        level = (np.abs(forward - start) + margin)[:2] / np.abs(velocity[:2])
        rise, g = velocity[2], physics.gravity
        drop = start[2] - bay.lower[2] + margin
        fall = (rise + np.sqrt(rise * rise + 2.0 * g * drop)) / g if g > 0.0 else np.full_like(rise, np.inf)
        room = bay.upper[2] + margin - start[2]
        under = rise * rise - 2.0 * g * room
        climb = np.where((rise > 0.0) & (under >= 0.0), 2.0 * room / (rise + np.sqrt(np.maximum(under, 0.0))), np.inf)
        if g == 0.0:
            fall = np.where(rise < 0.0, drop / -rise, np.inf)
    soonest = np.minimum(np.minimum(level[0], level[1]), np.minimum(fall, climb))
    return np.clip(np.where(np.isfinite(soonest), soonest, 1.0), 1.0e-4, None) * 1.1
