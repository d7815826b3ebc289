"""First contacts in many bays at once that differ in a few parts: each ball's arcs are flown once.

Nothing that hangs in a bay bends an arc: it only ends it. So an arc is flown once, its touches with the parts that all
bays share are found once, and those with the parts of each bay alone are added, bay by bay.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay, Part
from flightsim.contact.limits import LONGEST_ARC, MAX_ARCS, MAX_FLIGHT_TIME, TIE
from flightsim.engine import cache
from flightsim.engine.arc import BENDS, BOXES, ERROR, PIECES, SPEED, START, position
from flightsim.engine.ball_story import move_on, next_arc, on_the_tee, outside
from flightsim.engine.bay_arrays import bay_geometry
from flightsim.engine.by_reference import by_reference
from flightsim.engine.compiled import compiled, entry_in
from flightsim.engine.layout import BINS, GRID_FROM, GRID_PER_M, GUARD_ROLE, HIGH, LOW, ROLE, BayArrays
from flightsim.engine.leaving import leaving
from flightsim.engine.moving import POINT, Ball, new_ball
from flightsim.engine.nearest import NOTHING, ONE, add_touch, bin_of, earliest, find_touches, place_of
from flightsim.engine.ready import make_ready
from flightsim.engine.three import three
from flightsim.engine.world import RADIUS, world_of
from flightsim.errors import stop_if_asked
from flightsim.flight.integrator import DEFAULT_TOLERANCE, Physics
from flightsim.flight.launches import Launches

Mask = NDArray[np.bool_]
CALL = 8192  # balls: between two calls Ctrl-C is heard
SIZES = cache.Kept.of("sizes", ("bay", "cloth", "contact", "engine", "flight"), "engine/many_sizes.py")
SHORT = 8  # pieces of an arc: what ends it in one bay alone is looked for at many parts, few of which it comes near
NEAR = 1.0e-3  # m: a graze that leaves nobody sure is nearer
GOES_ON, ENDS, ALONE = 0, 1, 2  # a ball in all bays; ALONE: to be flown in each bay by itself


class Sizes(NamedTuple):
    """Which parts each bay has alone: those from `first[i]` to `first[i + 1]`; of: the bay of each part; common: how
    many parts all have, which are the first; common_row: their row of the masks; there, swept: scratch, a bay each, and
    boxes of pieces of an arc.
    """

    first: np.ndarray
    of: np.ndarray
    common: int
    common_row: int
    there: np.ndarray
    swept: np.ndarray


def guard_first(physics: Physics, launches: Launches, bays: Sequence[Bay], shared: Sequence[str]) -> tuple[Mask, Mask]:
    """Which launches meet a guard first in each of m bays `(m, n)`, and which `(n,)` are not known so: these have to
    be flown in each bay by itself.

    shared: the names of the parts that are the same in all bays. The bays' rooms and openings must be the same, and no
    part may have a test of its own. Equal to `first_contacts` in each bay: a test holds it so.
    """
    make_ready(_compile, SIZES, announced=False)
    arrays, sizes = _put_together(physics, bays, shared)
    n = len(launches.start[0])
    met, alone = np.zeros((n, len(bays)), dtype=np.bool_), np.zeros(n, dtype=np.bool_)
    rows = np.concatenate([launches.start, launches.velocity, launches.spin]).T.copy()
    for begin in range(0, n, CALL):
        call = slice(begin, begin + CALL)
        ball = new_ball(arrays, np.zeros((0, 0), dtype=bool), False)
        play_sizes(arrays, ball, rows[call], sizes, met[call], alone[call])
        stop_if_asked()
    return np.ascontiguousarray(met.T), alone


def _put_together(physics: Physics, bays: Sequence[Bay], shared: Sequence[str]) -> tuple[BayArrays, Sizes]:
    """One bay with the parts of all."""
    names, home = set(shared), bays[0]
    parts: list[Part] = [part for part in home.parts if part.name in names]
    common, first = len(parts), [len(parts)]
    for bay in bays:
        parts += [part for part in bay.parts if part.name not in names]
        first.append(len(parts))
    named = tuple(replace(part, name=f"{part.name}\0{k}") for k, part in enumerate(parts))  # their order stays
    whole = Bay(named, home.openings, home.lower, home.upper, ())
    world = world_of(physics, whole, tolerance=DEFAULT_TOLERANCE, longest_arc=LONGEST_ARC, harm_speed=np.inf)
    arrays = bay_geometry(whole, world)
    words = arrays.masks.shape[1]
    bits = np.zeros(64 * words, dtype=bool)
    bits[:common] = True
    row = np.packbits(bits, bitorder="little").view("<u8").astype(np.uint64)
    arrays = arrays._replace(masks=np.concatenate([arrays.masks, row[None]]))
    there, swept = np.zeros(len(bays), dtype=np.bool_), np.zeros((SHORT, 6))
    begins = np.array(first)
    of = np.searchsorted(begins, np.arange(len(parts)), side="right") - 1
    return arrays, Sizes(begins, of, common, len(arrays.masks) - 1, there, swept)


@entry_in(SIZES)
def play_sizes(
    bay: BayArrays, ball: Ball, launches: np.ndarray, sizes: Sizes, met: np.ndarray, alone: np.ndarray
) -> None:
    """Write which balls of a call meet a guard first in which bay, and which have to be flown in each by itself."""
    bay, ball, sizes = by_reference(bay), by_reference(ball), by_reference(sizes)
    for shot in range(len(launches)):
        alone[shot] = _first(bay, ball, launches[shot], sizes, met[shot]) == ALONE


@compiled
def _first(bay: BayArrays, ball: Ball, launch: np.ndarray, sizes: Sizes, met: np.ndarray) -> int:
    """One ball from its launch to its first contact in every bay: as `ball_story.play` does it in one."""
    on_the_tee(bay, ball, launch, 0)
    sizes.there[:] = True
    if outside(bay, three(launch, POINT)):
        return ENDS
    for _ in range(MAX_ARCS):
        next_arc(bay, ball)
        how = _ends(bay, ball, sizes, met)
        if how != GOES_ON:
            return how
        move_on(bay, ball, 1.0)
        if ball.arc[START] >= MAX_FLIGHT_TIME:
            return ENDS
    return ENDS


@compiled
def _ends(bay: BayArrays, ball: Ball, sizes: Sizes, met: np.ndarray) -> int:
    """How one arc ends in the bays in which the ball is still under way."""
    arc, touches = ball.arc, ball.touches
    if not np.isfinite(arc[ERROR]):
        return ENDS
    sure, count, until = find_touches(bay, arc, touches, ball.seen, sizes.common_row, (-1, -1, -1))
    if not sure:
        return ALONE
    tie = TIE / arc[SPEED]
    part, tau, _ = earliest(bay, touches, count, tie)
    opening, _, _ = leaving(bay, arc, tau, until)
    guard = part >= 0 and opening < 0 and bay.codes[part, ROLE] == GUARD_ROLE
    under_way = 0
    for i in range(len(met)):
        if sizes.there[i]:
            met[i] = guard
            under_way += 1
    near, swept = ball.seen, sizes.swept
    first_word = sizes.common // 64
    _near_on_the_way(bay, arc, until, near, first_word)
    swept_finely, i, more, soonest = False, -1, count, until
    for word in range(first_word, len(near)):
        bits = near[word] & ~bay.masks[sizes.common_row, word]
        while bits != NOTHING:
            rest = bits & (bits - ONE)
            k, bits = 64 * word + place_of(bits ^ rest), rest
            if sizes.of[k] != i:
                if more > count:
                    _end_there(bay, ball, sizes, met, i, more, soonest, opening, tau, tie)
                    under_way -= 1
                i, more, soonest = sizes.of[k], count, until
            if not sizes.there[i]:
                continue
            if not swept_finely:
                swept_finely = True
                _sweep(arc, swept, bay.world[RADIUS])
            piece = _comes_near(bay.solids, k, swept, soonest)
            if piece < 0:
                continue
            known, more, soonest = add_touch(bay, k, arc, piece / SHORT, soonest, touches, more)
            if not known:
                return ALONE
    if more > count:
        _end_there(bay, ball, sizes, met, i, more, soonest, opening, tau, tie)
        under_way -= 1
    return GOES_ON if part < 0 and opening < 0 and under_way > 0 else ENDS


@compiled
def _end_there(
    bay: BayArrays, ball: Ball, sizes: Sizes, met: np.ndarray, i: int, count: int, until: float, opening: int,
    tau: float, tie: float,
) -> None:  # fmt: skip
    """Write how the arc ends in bay i, one of whose own parts it touches.

    count touches were found, with those that all bays share, and count until so. opening: where it leaves the others
    at tau.
    """
    sizes.there[i] = False
    which, when, _ = earliest(bay, ball.touches, count, tie)
    left = opening
    if opening >= 0 or when > tau:
        left, _, _ = leaving(bay, ball.arc, when, until)
    met[i] = left < 0 and bay.codes[which, ROLE] == GUARD_ROLE


@compiled
def _near_on_the_way(bay: BayArrays, arc: np.ndarray, until: float, near: np.ndarray, first_word: int) -> None:
    """Write the bits of the parts whose boxes overlap the bins that any piece of the arc sweeps: never too few."""
    for word in range(first_word, len(near)):
        near[word] = NOTHING
    for piece in range(PIECES):
        if until < piece / PIECES:
            break
        box = BOXES + 6 * piece
        x, y, z = _bins(bay, arc, box, 0), _bins(bay, arc, box, 1), _bins(bay, arc, box, 2)
        for word in range(first_word, len(near)):
            near[word] |= (
                bay.masks[x[0], word] & bay.masks[x[1], word] & bay.masks[y[0], word] & bay.masks[y[1], word]
                & bay.masks[z[0], word] & bay.masks[z[1], word]
            )  # fmt: skip


@compiled
def _bins(bay: BayArrays, arc: np.ndarray, box: int, axis: int) -> tuple[int, int]:
    """The two rows of the masks that hold what a piece of the arc overlaps along an axis."""
    begins, per_m = bay.pool[GRID_FROM + axis], bay.pool[GRID_PER_M + axis]
    first = bin_of((arc[box + axis] - begins) * per_m)
    last = bin_of((arc[box + axis + 3] - begins) * per_m)
    return 2 * BINS * axis + 2 * last, 2 * BINS * axis + 2 * first + 1


@compiled
def _sweep(arc: np.ndarray, swept: np.ndarray, radius: float) -> None:
    """Boxes of many short pieces of an arc: as `arc.bound` has them, and NEAR wider."""
    before = position(arc, 0.0)
    for piece in range(SHORT):
        after = position(arc, (piece + 1.0) / SHORT)
        for axis in range(3):
            margin = radius + NEAR + arc[BENDS + axis] / (8.0 * SHORT * SHORT)
            low, high = min(before[axis], after[axis]) - margin, max(before[axis], after[axis]) + margin
            swept[piece, axis], swept[piece, 3 + axis] = low, high
        before = after


@compiled
def _comes_near(solids: np.ndarray, k: int, swept: np.ndarray, enough: float) -> int:
    """The first short piece in which the ball comes near part k's box before no touch counts any more; -1: none."""
    for piece in range(SHORT):
        if enough < piece / SHORT:
            return -1
        if _boxes_meet(solids, k, swept, piece):
            return piece
    return -1


@compiled
def _boxes_meet(solids: np.ndarray, k: int, swept: np.ndarray, piece: int) -> bool:
    return not (
        swept[piece, 0] > solids[k, HIGH] or swept[piece, 3] < solids[k, LOW]
        or swept[piece, 1] > solids[k, HIGH + 1] or swept[piece, 4] < solids[k, LOW + 1]
        or swept[piece, 2] > solids[k, HIGH + 2] or swept[piece, 5] < solids[k, LOW + 2]
    )  # fmt: skip


def _compile() -> None:
    """Play no balls in two empty boxes."""
    nowhere = Bay((), (), np.zeros(3), np.ones(3))
    arrays, sizes = _put_together(Physics(), [nowhere, nowhere], ())
    ball = new_ball(arrays, np.zeros((0, 0), dtype=bool), False)
    met, alone = np.zeros((0, 2), dtype=np.bool_), np.zeros(0, dtype=np.bool_)
    play_sizes(arrays, ball, np.empty((0, 9)), sizes, met, alone)
