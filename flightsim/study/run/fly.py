"""All shots to their ends, block by block, on as many workers as asked."""

from __future__ import annotations

import multiprocessing
import os
import pickle
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, fields
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact.fates import Fates
from flightsim.contact.first import Contacts
from flightsim.contact.log import ContactLog
from flightsim.contact.surroundings import Surroundings
from flightsim.engine.follow_any import follow, is_data
from flightsim.engine.play import make_engine_ready
from flightsim.errors import BadInputError, PluginError, stop_if_asked
from flightsim.flight.integrator import Physics
from flightsim.plugin.manager import load_plugins
from flightsim.plugin.notes import ended_elsewhere
from flightsim.scenario.reading.models import Scenario
from flightsim.shots.shot_table import ShotTable, ShotType
from flightsim.study.run.open_bay import OpenBay, Plan, physics_of
from flightsim.study.run.streams import uniforms

CHUNK = 32_768  # shots flown together: as many as stay in cache, and a whole number of stream blocks
SHOT_BYTES = 700  # held a shot for a whole run, generously


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
        """These shots; to_rest and log as in `flightsim.engine.follow_any`."""
        own = own_zones(self.around.bay, self.plan.types, table)
        return follow(self.physics, table.launches(), self.around, own, to_rest, log)


def own_zones(bay: Bay, types: Sequence[ShotType], table: ShotTable) -> NDArray[np.bool_]:
    """Which zones `(zones, n)` there are for each shot: a hitter's own only for who hits from there by that hand."""
    there = [
        [not zone.own_spot or (zone.own_spot == kind.spot and zone.own_hand == kind.hand) for kind in types]
        for zone in bay.zones
    ]
    return np.array(there, dtype=bool).reshape(len(bay.zones), len(types))[:, table.type]


def fly_shots(
    opened: OpenBay, shots: int, seed: int, workers: int, progress: Callable[[int], None]
) -> tuple[ShotTable, Contacts, Fates]:
    """Fly shots 0..shots-1. The result does not depend on workers or chunks."""
    whole = ShotTable.empty(shots), Contacts.empty(shots), _no_fates(opened.bay, shots)
    if is_data(opened.physics, opened.surroundings()):
        make_engine_ready()  # before any worker: they load what this process has compiled
    chunks = [(first, min(CHUNK, shots - first)) for first in range(0, shots, CHUNK)]
    done = 0
    for (first, count), flown in _flown(opened, chunks, seed, workers):
        for k in range(len(whole)):
            put(whole[k], flown[k], first, count)
        done += count
        progress(done)
        stop_if_asked()
    return whole


def _no_fates(bay: Bay, shots: int) -> Fates:
    return Fates.empty(shots, len(bay.zones), len(bay.guard_labels()))


Ends = tuple[ShotTable, Contacts, Fates]
Flown = tuple[tuple[int, int], Ends]


def _flown(opened: OpenBay, chunks: list[tuple[int, int]], seed: int, workers: int) -> Iterator[Flown]:
    if workers <= 1 or len(chunks) == 1:
        flyer = Flyer.of(opened, seed)
        for chunk in chunks:
            yield chunk, flyer.fly(*chunk)
        return
    _check_that_it_travels(opened)
    # Spawned, not forked: a forked child may inherit locks held by a numerical library's threads.
    context = multiprocessing.get_context("spawn")
    start = (opened.scenario, opened.plan, opened.bay, seed)
    with ProcessPoolExecutor(min(workers, len(chunks)), context, _start_worker, start) as pool:
        todo = iter(chunks)
        flying: dict[Future[Ends], tuple[int, int]] = {}
        try:
            while True:
                with _ctrl_c_held_back():
                    for chunk in islice(todo, 2 * workers - len(flying)):
                        flying[pool.submit(_fly_in_worker, *chunk)] = chunk
                if not flying:
                    return
                for future in wait(flying, return_when=FIRST_COMPLETED).done:
                    yield flying.pop(future), future.result()
        except BrokenProcessPool as error:
            if note := ended_elsewhere():
                words = f"plugin '{note.plugin}' (from {note.source}): {note.what} ended a worker process"
                raise PluginError(f"{words}\n  try: --workers 1, to see what it does") from error
            raise BadInputError(
                f"a worker process died: too little memory for {workers} workers?\n  try: --workers 1"
            ) from error
        finally:
            for future in flying:
                future.cancel()


def _check_that_it_travels(opened: OpenBay) -> None:
    """Raise PluginError where something of a plugin cannot be sent to another process."""
    things: list[tuple[str, str, object]] = [(part.owner, f"part '{part.name}'", part) for part in opened.bay.parts]
    for owner, section in opened.plugins.section_of.items():
        things.append((owner, f"section '{section.key}'", opened.scenario.entries(section.key)))
    for owner, what, thing in things:
        try:
            pickle.dumps(thing)
        except Exception as error:
            plugin = next(plugin for plugin in opened.plugins.loaded if plugin.name == owner)
            words = f"{what} cannot be sent to a worker process: {error}\n  try: --workers 1"
            raise plugin.blame(words) from error


@contextmanager
def _ctrl_c_held_back() -> Iterator[None]:
    """New processes are born deaf to Ctrl-C, which is the parent's to answer; the parent hears it a moment later.

    Windows cannot hold it back: a Ctrl-C just then ends the parent, and its workers see that and end.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


_worker: dict[str, Flyer] = {}  # one flyer a worker process, made once at its start
_failed: list[Exception] = []  # what kept a worker from starting: told when it is first asked to fly


def _start_worker(scenario: Scenario, plan: Plan, bay: Bay, seed: int) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    try:
        plugins, physics = load_plugins(scenario.plugins), physics_of(scenario)
        facings = plugins.facings(scenario)
        rebounds = plugins.rebounds(scenario, bay, physics.ball, facings)
        opened = OpenBay(scenario, plugins, bay, physics, plan, (), facings, rebounds)
        _worker["flyer"] = Flyer.of(opened, seed)
    except Exception as error:  # noqa: BLE001 - raised again by the first flight
        _failed.append(error)


def _end_with_parent() -> None:
    """A worker whose parent was killed would wait for work for ever."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _fly_in_worker(first: int, count: int) -> Ends:
    for error in _failed:
        raise error
    return _worker["flyer"].fly(first, count)


def put(whole: ShotTable | Contacts | Fates, part: ShotTable | Contacts | Fates, first: int, count: int) -> None:
    """Copy a chunk's arrays into their places in the whole."""
    for column in fields(whole):
        getattr(whole, column.name)[..., first : first + count] = getattr(part, column.name)
