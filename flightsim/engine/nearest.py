"""How an arc ends: at the part that the ball touches first, through an opening, or nowhere that is known."""

from __future__ import annotations

import numpy as np

from flightsim.contact.limits import TIE
from flightsim.engine.approach import TOUCHES, UNDECIDED, approach
from flightsim.engine.arc import BOXES, ERROR, PIECES, SPEED
from flightsim.engine.compiled import compiled, inlined, place
from flightsim.engine.layout import (
    BINS,
    GRID_FROM,
    GRID_PER_M,
    HIGH,
    LOW,
    RANK,
    BayArrays,
    parts_of,
)
from flightsim.engine.leaving import leaving
from flightsim.engine.three import Vector, put, three
from flightsim.engine.world import RADIUS, WORDS

ONE = np.uint64(1)
NOTHING = np.uint64(0)
PRIME = np.uint64(67)  # no two powers of two below 2^64 leave the same rest
PLACES = np.zeros(int(PRIME), dtype=np.int64)
PLACES[[pow(2, bit, int(PRIME)) for bit in range(64)]] = np.arange(64)
NORMAL = place(2)
FOUND_SIZE = 5  # of one touch: part, tau, normal
FAILED, GOES_ON, TOUCHED, LEAVES = 0, 1, 2, 3


@compiled
def arc_end(
    bay: BayArrays,
    arc: np.ndarray,
    touches: np.ndarray,
    seen: np.ndarray,
    candidates: int,
    ignored: tuple[int, int, int],
) -> tuple[int, int, float, Vector]:
    """How the arc ends, the part or opening, the tau, 1 where nothing ends it, and the normal.

    The opening's number is one too many where it leaves and no opening is known. candidates: the row of the masks of
    parts that are there; ignored: parts that are no obstacles, -1 for none: what a ball rolls on, or is getting past.
    touches, seen: scratch.
    """
    if not np.isfinite(arc[ERROR]):  # it may be anywhere: what it seems to touch is nothing to go by
        return FAILED, -1, 1.0, (0.0, 0.0, 0.0)
    sure, count, until = find_touches(bay, arc, touches, seen, candidates, ignored)
    part, tau, normal = earliest(bay, touches, count, TIE / arc[SPEED])
    opening, out_tau, outward = leaving(bay, arc, tau, until)
    if not sure:
        return FAILED, -1, 1.0, normal
    if opening >= 0:
        return LEAVES, opening, out_tau, outward
    return (TOUCHED, part, tau, normal) if part >= 0 else (GOES_ON, -1, 1.0, normal)


@compiled
def first_touch(
    bay: BayArrays,
    arc: np.ndarray,
    touches: np.ndarray,
    seen: np.ndarray,
    candidates: int,
    ignored: tuple[int, int, int],
) -> tuple[int, int, float, Vector]:
    """What the ball first touches on its arc, also beyond the room's box; all else as in `arc_end`."""
    if not np.isfinite(arc[ERROR]):
        return FAILED, -1, 1.0, (0.0, 0.0, 0.0)
    sure, count, _ = find_touches(bay, arc, touches, seen, candidates, ignored)
    part, tau, normal = earliest(bay, touches, count, TIE / arc[SPEED])
    if not sure:
        return FAILED, -1, 1.0, normal
    return (TOUCHED, part, tau, normal) if part >= 0 else (GOES_ON, -1, 1.0, normal)


@compiled
def find_touches(
    bay: BayArrays,
    arc: np.ndarray,
    touches: np.ndarray,
    seen: np.ndarray,
    candidates: int,
    ignored: tuple[int, int, int],
) -> tuple[bool, int, float]:
    """Find touches, the earliest and all that tie with it too: sure of all, how many, and until when they count.

    Piece by piece of the arc, so that parts behind the first touch are mostly never looked at.
    """
    sure, count, until = True, 0, 1.0
    words = int(bay.world[WORDS])
    for word in range(words):
        seen[word] = NOTHING
    for piece in range(PIECES):
        tau = piece / PIECES
        if until < tau:
            break
        box = BOXES + 6 * piece
        for word in range(words):
            bits = _near(bay, arc, box, word) & bay.masks[candidates, word] & ~seen[word]
            while bits != NOTHING:
                rest = bits & (bits - ONE)
                lowest, bits = bits ^ rest, rest
                k = 64 * word + place_of(lowest)
                if k == ignored[0] or k == ignored[1] or k == ignored[2] or not _meets(bay.solids[k], arc, box):
                    continue
                seen[word] |= lowest
                known, count, until = add_touch(bay, k, arc, tau, until, touches, count)
                sure = sure and known
    return sure, count, until


@inlined
def add_touch(
    bay: BayArrays, k: int, arc: np.ndarray, tau: float, until: float, touches: np.ndarray, count: int
) -> tuple[bool, int, float]:
    """Add the touch of part k from tau on, if there is one before until: whether that is known, how many are found, and
    until when others count.
    """
    how, when, normal = approach(bay, k, arc, tau, until, bay.world[RADIUS])
    if how == TOUCHES:
        touches[count, 0], touches[count, 1] = k, when
        put(touches[count], NORMAL, normal)
        count += 1
        until = min(until, when + TIE / arc[SPEED])
    return how != UNDECIDED, count, until


@inlined
def _near(bay: BayArrays, arc: np.ndarray, box: int, word: int) -> np.uint64:
    """Bits of the parts whose boxes overlap the bins that a piece of the arc sweeps: never too few."""
    bits = ~NOTHING
    for axis in range(3):
        begins, per_m = bay.pool[GRID_FROM + axis], bay.pool[GRID_PER_M + axis]
        first = bin_of((arc[box + axis] - begins) * per_m)
        last = bin_of((arc[box + axis + 3] - begins) * per_m)
        row = 2 * BINS * axis
        bits &= bay.masks[row + 2 * last, word] & bay.masks[row + 2 * first + 1, word]
    return bits


@compiled
def bin_of(place: float) -> int:
    """The bin that a place along an axis, in bins, lies in; the first or last beyond the ends."""
    return int(min(max(place, 0.0), BINS - 1.0))


@compiled
def place_of(bit: np.uint64) -> int:
    """Which bit of a word this is."""
    return int(PLACES[int(bit % PRIME)])


@compiled
def _meets(row: np.ndarray, arc: np.ndarray, box: int) -> bool:
    """Whether the boxes of a part and of a piece of the arc meet."""
    for axis in range(3):
        if arc[box + axis] > row[HIGH + axis] or arc[box + axis + 3] < row[LOW + axis]:
            return False
    return True


@compiled
def earliest(bay: BayArrays, touches: np.ndarray, count: int, tie: float) -> tuple[int, float, Vector]:
    """The touch that counts: of those that tie with the earliest the one of lowest rank; -1 for none."""
    soonest = np.inf
    for j in range(count):
        soonest = min(soonest, touches[j, 1])
    best, lowest = -1, parts_of(bay)
    for j in range(count):
        rank = bay.codes[int(touches[j, 0]), RANK]
        if touches[j, 1] <= soonest + tie and rank < lowest:
            best, lowest = j, rank
    if best < 0:
        return -1, np.inf, (0.0, 0.0, 0.0)
    return int(touches[best, 0]), touches[best, 1], three(touches[best], NORMAL)
