"""Many balls, each played by itself: launches in, first contacts and fates out."""

from __future__ import annotations

from collections.abc import Sequence
from threading import Lock
from weakref import WeakSet

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact.arc_test import ArcTest
from flightsim.contact.contacts import Contacts
from flightsim.contact.fates import WORD, Fates
from flightsim.contact.giving import Give
from flightsim.contact.limits import LONGEST_ARC, MAX_CONTACTS
from flightsim.contact.log import ContactLog
from flightsim.contact.surroundings import Surroundings
from flightsim.engine import record
from flightsim.engine.ball_story import play
from flightsim.engine.bay_arrays import bay_arrays, bay_geometry
from flightsim.engine.by_reference import by_reference
from flightsim.engine.compiled import entry
from flightsim.engine.layout import BayArrays
from flightsim.engine.moving import LOGGED, LOGS, WANTS, Ball, new_ball
from flightsim.engine.ready import make_ready
from flightsim.engine.record import Records, new_records, rows_of
from flightsim.engine.world import world_of
from flightsim.errors import stop_if_asked
from flightsim.flight.integrator import DEFAULT_TOLERANCE, Physics
from flightsim.flight.launches import Launches

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

BALLS = 8192  # a call: between two calls Ctrl-C is heard
LOG_ROWS = 32 * MAX_CONTACTS
_making = Lock()  # arrays and cloths are made by one thread at a time: each cloth once
_hit_before: WeakSet[Give] = WeakSet()  # cloths that balls have asked for: worked out at once the next time


@entry
def play_balls(bay: BayArrays, ball: Ball, launches: np.ndarray, first: int, records: Records) -> tuple[int, int, int]:
    """Play the balls of a call from `first` on.

    Returns which comes next, how many touches were logged, and the part whose cloth has to be worked out before that,
    or -1. It stops early where the log is full, and where a cloth is missing.
    """
    room = len(records.log)
    bay, ball, records = by_reference(bay), by_reference(ball), by_reference(records)
    ball.marks[LOGGED] = 0
    for shot in range(first, len(launches)):
        before = ball.marks[LOGGED]
        if ball.marks[LOGS] == 1 and before + MAX_CONTACTS + 1 > room:
            return shot, before, -1
        play(bay, ball, launches[shot], shot, records)
        if ball.marks[WANTS] >= 0:
            return shot, before, ball.marks[WANTS]
    return len(launches), ball.marks[LOGGED], -1


def first_contacts(
    physics: Physics,
    launches: Launches,
    bay: Bay,
    tests: Sequence[ArcTest] = (),
    tolerance: float = DEFAULT_TOLERANCE,
    longest_arc: float = LONGEST_ARC,
) -> Contacts:
    """Fly every launch to its first contact.

    tests: plugins' own, of parts. The earliest touch wins; ties within 1 micrometre of path go to what is no guard,
    then by part name. A ball that starts outside the room, or inside a part, has failed: no ball can lie there.
    """
    make_engine_ready()
    world = world_of(physics, bay, tolerance=tolerance, longest_arc=longest_arc, harm_speed=np.inf)
    arrays = bay_geometry(bay, world, tests)
    own = np.zeros((len(launches), len(bay.zones)), dtype=bool)
    records = new_records(len(launches))
    for call in _calls(len(launches)):
        ball = new_ball(arrays, own[call], False)
        play_balls(arrays, ball, _rows(launches, call), 0, rows_of(records, call))
        stop_if_asked()
    return _contacts(records)


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
    make_engine_ready()
    n, bay = len(launches), around.bay
    calm = 0.0 if any(physics.wind) else around.harmless_energy(physics.ball)
    world = world_of(
        physics, bay, tolerance=tolerance, longest_arc=LONGEST_ARC, harm_speed=around.harm_speed,
        struck_speed=around.struck_speed, least_speed=around.least_speed,
        calm=calm, harmless=0.0 if to_rest else calm, to_end=1.0,
    )  # fmt: skip
    with _making:
        cloths = {k for k, law in enumerate(around.laws) if law in _hit_before}
        arrays = bay_arrays(around, physics.ball, world, cloths)
    zones, guards = len(bay.zones), len(bay.guard_labels())
    records = new_records(n, zones, guards, LOG_ROWS if log is not None else 0)
    own_of_balls = np.ascontiguousarray(own.T)
    for call in _calls(n):
        shots, start = _rows(launches, call), 0
        while start < len(shots):
            ball = new_ball(arrays, own_of_balls[call], log is not None)
            start, logged, cloth = play_balls(arrays, ball, shots, start, rows_of(records, call))
            if log is not None:
                _write(log, records.log[:logged].copy(), call.start)
            if cloth >= 0:
                with _making:
                    cloths.add(cloth)
                    _hit_before.add(around.laws[cloth])  # type: ignore[arg-type]
                    arrays = bay_arrays(around, physics.ball, world, cloths)
    return _contacts(records), _fates(records, zones, guards)


def make_engine_ready() -> None:
    """Load the compiled engine, or compile it; every call does so first."""
    make_ready(_compile)


def _compile() -> None:
    """Play no balls in an empty box."""
    nowhere = Bay((), (), np.zeros(3), np.ones(3))
    arrays = bay_geometry(nowhere, world_of(Physics(), nowhere))
    play_balls(arrays, new_ball(arrays, np.empty((0, 0), dtype=bool), False), np.empty((0, 9)), 0, new_records(0))


def _calls(n: int) -> list[slice]:
    return [slice(first, min(first + BALLS, n)) for first in range(0, n, BALLS)]


def _rows(launches: Launches, call: slice) -> Array:
    """Nine numbers a ball."""
    return np.concatenate([launches.start[:, call], launches.velocity[:, call], launches.spin[:, call]]).T.copy()


def _three(floats: Array, first: int) -> Array:
    return np.ascontiguousarray(floats[:, first : first + 3].T)


def _contacts(records: Records) -> Contacts:
    floats, whole = records.floats, records.whole
    return Contacts(
        whole[:, record.FIRST_PART].astype(np.intp), whole[:, record.FIRST_OPENING].astype(np.intp),
        floats[:, record.FIRST_TIME].copy(), _three(floats, record.FIRST_POINT), _three(floats, record.FIRST_VELOCITY),
        _three(floats, record.FIRST_NORMAL), _three(floats, record.FIRST_SPIN), whole[:, record.FIRST_FAILED] != 0,
    )  # fmt: skip


def _fates(records: Records, zones: int, guards: int) -> Fates:
    floats, whole = records.floats, records.whole
    flags, words = record.FLAGS, whole.shape[1] - zones
    return Fates(
        np.ascontiguousarray(floats[:, record.WORST : record.WORST + flags].T),
        np.ascontiguousarray(whole[:, record.PLACE : record.PLACE + flags].T.astype(np.intp)),
        whole[:, record.CAME_FROM].astype(np.intp), floats[:, record.HEIGHT].copy(),
        np.ascontiguousarray(floats[:, record.ZONE_SPEEDS :].T),
        np.ascontiguousarray(whole[:, words:].T.astype(np.int32)),
        whole[:, record.LEFT].astype(np.intp), floats[:, record.BEHIND_TEE].copy(),
        whole[:, record.CONTACTS].astype(np.intp), whole[:, record.KEPT] != 0, whole[:, record.EDGE].astype(np.int8),
        _touched(whole[:, record.GUARDS : words], guards), _three(floats, record.END_POINT),
        floats[:, record.END_TIME].copy(), whole[:, record.RESTS] != 0,
    )  # fmt: skip


def _touched(words: NDArray[np.int64], guards: int) -> NDArray[np.uint64]:
    """The guards touched, in words of 64."""
    found = np.zeros((max(1, -(-guards // WORD)), len(words)), dtype=np.uint64)
    for guard in range(guards):
        bit = (words[:, guard // record.GUARD_BITS] >> (guard % record.GUARD_BITS)) & 1
        found[guard // WORD] |= bit.astype(np.uint64) << np.uint64(guard % WORD)
    return found


def _write(log: ContactLog, rows: Array, first: int) -> None:
    """Some touches of a call whose first ball is this one."""
    if not len(rows):
        return
    whole = rows[:, :3].astype(np.intp)
    log.write(
        whole[:, record.LOG_SHOT] + first, whole[:, record.LOG_NUMBER], whole[:, record.LOG_PART],
        rows[:, record.LOG_TIME].copy(),
        _three(rows, record.LOG_POINT), _three(rows, record.LOG_ARRIVING), _three(rows, record.LOG_LEAVING),
        _three(rows, record.LOG_NORMAL), _three(rows, record.LOG_SPIN), _three(rows, record.LOG_LEAVING_SPIN),
        _three(rows, record.LOG_LEFT), rows[:, record.LOG_LEFT_TIME].copy(),
    )  # fmt: skip
