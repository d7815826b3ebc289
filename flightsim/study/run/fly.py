"""All shots to their ends, block by block, on as many workers as asked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact.contacts import Contacts
from flightsim.contact.fates import Fates
from flightsim.contact.log import ContactLog
from flightsim.contact.surroundings import Surroundings
from flightsim.engine.follow import follow, make_engine_ready
from flightsim.flight.integrator import Physics
from flightsim.shots.shot_table import ShotTable, ShotType
from flightsim.study.run.crew import chunks_of, each_chunk, shared_out
from flightsim.study.run.on_disk import let_go, room_for
from flightsim.study.run.open_bay import OpenBay, Plan
from flightsim.study.run.streams import uniforms

Ends = tuple[ShotTable, Contacts, Fates]
SHOT_BYTES = 700  # held a shot for a whole run in memory, generously


class Tracking(Protocol):
    """What keeps where shots went: it is told chunk by chunk, by any thread."""

    def wants(self, first: int) -> bool:
        """Whether it keeps a chunk that begins with this shot."""
        ...

    def keep(self, first: int, shots: ShotTable, fates: Fates, log: ContactLog) -> None:
        """A chunk, with all its touches."""
        ...


@dataclass(frozen=True)
class Flyer:
    """All that a chunk of shots needs to be flown."""

    plan: Plan
    physics: Physics
    around: Surroundings
    seed: int

    @classmethod
    def of(cls, opened: OpenBay, seed: int) -> Flyer:
        """For the shots of a bay."""
        return cls(opened.plan, opened.physics, opened.surroundings(), seed)

    def draw_for(self, first: int, count: int) -> Callable[[str, int], NDArray[np.float64]]:
        """Uniform draws for these shots, by purpose and number of dimensions."""

        def draw(purpose: str, dims: int) -> NDArray[np.float64]:
            return uniforms(self.seed, first, count, purpose, dims)

        return draw

    def draw(self, first: int, count: int) -> ShotTable:
        """Shots first..first+count-1."""
        return self.plan.draw(self.draw_for(first, count), first, count)

    def fly(self, first: int, count: int) -> tuple[ShotTable, Contacts, Fates]:
        """Shots first..first+count-1 to their first contacts and their ends."""
        table = self.draw(first, count)
        return table, *self.follow(table)

    def follow(self, table: ShotTable, to_rest: bool = False, log: ContactLog | None = None) -> tuple[Contacts, Fates]:
        """Follow these shots to their ends; to_rest and log as in `flightsim.engine.follow`."""
        own = own_zones(self.around.bay, self.plan.types, table)
        return follow(self.physics, table.launches(), self.around, own, to_rest, log)

    def no_fates(self, shots: int) -> Fates:
        """Room for the fates of so many shots in this bay."""
        bay = self.around.bay
        return Fates.empty(shots, len(bay.zones), len(bay.guard_labels()))


def own_zones(bay: Bay, types: Sequence[ShotType], table: ShotTable) -> NDArray[np.bool_]:
    """Which zones `(zones, n)` there are for each shot: a hitter's own only for who hits from there by that hand."""
    there = [
        [not zone.own_spot or (zone.own_spot == kind.spot and zone.own_hand == kind.hand) for kind in types]
        for zone in bay.zones
    ]
    return np.array(there, dtype=bool).reshape(len(bay.zones), len(types))[:, table.type]


def fly_shots(
    opened: OpenBay,
    shots: int,
    seed: int,
    progress: Callable[[int], None] = lambda done: None,
    begun: Ends | None = None,
    tracks: Tracking | None = None,
) -> Ends:
    """Fly shots 0..shots-1. The result does not depend on workers or chunks. begun: the first of them, flown before;
    tracks: what is told where they went.
    """
    flyer = Flyer.of(opened, seed)

    def fly(first: int, count: int) -> Ends:
        if tracks is None or not tracks.wants(first):
            return flyer.fly(first, count)
        table, log = flyer.draw(first, count), ContactLog()
        contacts, fates = flyer.follow(table, False, log)
        tracks.keep(first, table, fates, log)
        return table, contacts, fates

    tables = room_for(shots, ShotTable.empty), room_for(shots, Contacts.empty)
    whole = *tables, room_for(shots, flyer.no_fates)
    done = 0 if begun is None else len(begun[0])
    if begun is not None:
        for k in range(len(whole)):
            put(whole[k], begun[k], 0, done)
    make_engine_ready()  # before any thread
    for (first, count), flown in each_chunk(chunks_of(shots, done), fly):
        for k in range(len(whole)):
            put(whole[k], flown[k], first, count)
        let_go(*whole)
        done += count
        progress(done)
    return whole


def follow_all(opened: OpenBay, shots: ShotTable, seed: int) -> tuple[Contacts, Fates]:
    """Shots that are drawn already, to their ends in this bay."""
    flyer, n = Flyer.of(opened, seed), len(shots)
    contacts, fates = Contacts.empty(n), flyer.no_fates(n)

    def fly(first: int, count: int) -> tuple[Contacts, Fates]:
        return flyer.follow(shots.take(slice(first, first + count)))

    make_engine_ready()
    for (first, count), (touched, ended) in each_chunk(shared_out(n), fly):
        put(contacts, touched, first, count)
        put(fates, ended, first, count)
    return contacts, fates


def put(
    whole: ShotTable | Contacts | Fates, part: ShotTable | Contacts | Fates, first: int, count: int,
    but: Sequence[str] = (),
) -> None:  # fmt: skip
    """Copy a chunk's arrays into their places in the whole, all but those of these names."""
    for column in fields(whole):
        if column.name not in but:
            getattr(whole, column.name)[..., first : first + count] = getattr(part, column.name)
