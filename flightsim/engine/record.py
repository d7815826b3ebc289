"""What is written down of each ball: a row of floats, a row of whole numbers, and rows of touches for a log."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from flightsim.contact.fates import Flag
from flightsim.engine.compiled import NONE, compiled, place
from flightsim.engine.three import Vector, fill, put

FLAGS = len(Flag)
UNRESOLVED, PERSON_HIT, GOT_OUT = place(Flag.UNRESOLVED), place(Flag.PERSON_HIT), place(Flag.GOT_OUT)
BROKE_THROUGH, PAST_EDGE = place(Flag.BROKE_THROUGH), place(Flag.PAST_EDGE)
STRUCK_THROUGH, HIT_UNPROTECTED = place(Flag.STRUCK_THROUGH), place(Flag.HIT_UNPROTECTED)

# ---- floats: of the first contact, then of the whole way
FIRST_TIME, FIRST_POINT, FIRST_VELOCITY, FIRST_NORMAL, FIRST_SPIN = map(place, (0, 1, 4, 7, 10))
WORST = place(13)  # m/s, one a flag; NaN where it does not apply
HEIGHT = WORST + FLAGS
END_POINT = HEIGHT + 1
END_TIME = END_POINT + 3
BEHIND_TEE = END_TIME + 1  # m/s, at its worst; NaN for never
ZONE_SPEEDS = BEHIND_TEE + 1  # then, for each zone, m/s: at its worst there, NaN where it did not hit

# ---- whole numbers
FIRST_PART, FIRST_OPENING, FIRST_FAILED = 0, 1, 2
PLACE = 3  # one a flag
CAME_FROM = PLACE + FLAGS
CONTACTS, KEPT, RESTS = CAME_FROM + 1, CAME_FROM + 2, CAME_FROM + 3
LEFT = RESTS + 1  # the opening that it left through, fast or slow; -1 for none
EDGE = LEFT + 1  # which edge it got past at its worst, as in Fates; -1 for none
GUARDS = EDGE + 1  # words of 63 bits: the guards that it touched
GUARD_BITS = 63
# The last ones of a row, one a zone: the part that it came from at its worst there; -1 for straight from the tee.

# ---- a touch in the log
LOG_SHOT, LOG_NUMBER, LOG_PART, LOG_TIME = 0, 1, 2, 3
LOG_POINT, LOG_ARRIVING, LOG_LEAVING = map(place, (4, 7, 10))
LOG_NORMAL, LOG_SPIN, LOG_LEAVING_SPIN = map(place, (13, 16, 19))
LOG_LEFT = place(22)  # m, three: where it left the part, which cloth has carried it to; and when, s
LOG_LEFT_TIME = 25
LOG_SIZE = 26


class Records(NamedTuple):
    """What is written down of balls: floats and whole numbers, one row a ball; log: rows of touches."""

    floats: np.ndarray
    whole: np.ndarray
    log: np.ndarray


def new_records(balls: int, zones: int = 0, guards: int = 0, log_rows: int = 0) -> Records:
    """Room for so many balls, in a bay with so many zones and guards; what a ball does not fill holds anything."""
    words = max(1, -(-guards // GUARD_BITS))
    return Records(
        np.empty((balls, ZONE_SPEEDS + zones)),
        np.empty((balls, GUARDS + words + zones), dtype=np.int64),
        np.empty((log_rows, LOG_SIZE)),
    )


def rows_of(records: Records, balls: slice) -> Records:
    """The rows of these balls, and the same log."""
    return Records(records.floats[balls], records.whole[balls], records.log)


@compiled
def begin(records: Records, ball: int) -> None:
    """Nothing has happened to this ball yet."""
    fill(records.floats[ball], np.nan)
    for k in range(len(records.whole[ball])):
        records.whole[ball, k] = 0
    records.whole[ball, FIRST_PART] = records.whole[ball, FIRST_OPENING] = records.whole[ball, CAME_FROM] = -1
    records.whole[ball, LEFT] = records.whole[ball, EDGE] = -1
    for zone in range(zones_in(records)):
        records.whole[ball, zone_from(records, zone)] = -1
    for flag in range(FLAGS):
        records.whole[ball, PLACE + flag] = -1


@compiled
def zones_in(records: Records) -> int:
    """How many zones there is room for."""
    return records.floats.shape[1] - ZONE_SPEEDS


@compiled
def zone_from(records: Records, zone: int) -> int:
    """Where in a row of whole numbers it stands what a ball came from that hit in this zone."""
    return records.whole.shape[1] - zones_in(records) + zone


@compiled
def note(records: Records, ball: int, flag: int, speed: float, place: int) -> bool:
    """Write that this went wrong with this ball; returns whether it is the worst of its kind so far."""
    if speed <= records.floats[ball, WORST + flag]:
        return False
    records.floats[ball, WORST + flag], records.whole[ball, PLACE + flag] = speed, place
    return True


@compiled
def note_unresolved(records: Records, ball: int, speed: float) -> None:
    """Write that nobody knows what this ball does."""
    note(records, ball, UNRESOLVED, speed if np.isfinite(speed) else _as_number(speed), NONE)


@compiled
def _as_number(speed: float) -> float:
    return 0.0 if np.isnan(speed) else 1.7976931348623157e308


@compiled
def ended(records: Records, ball: int, point: Vector, time: float) -> None:
    """Write where and when a ball was followed to."""
    put(records.floats[ball], END_POINT, point)
    records.floats[ball, END_TIME] = time


@compiled
def touched_guard(records: Records, ball: int, guard: int, kept: bool) -> None:
    """Write that a ball touched a guard, and whether it left slower than the harm speed."""
    records.whole[ball, GUARDS + guard // GUARD_BITS] |= 1 << (guard % GUARD_BITS)
    records.whole[ball, KEPT] = 1 if kept else 0
