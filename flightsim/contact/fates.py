"""What became of each ball: what went wrong, how fast, and its one outcome."""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]
EDGES = ("left", "right", "foot", "top")  # of a hung cloth, as one faces it from the tee
WORD = 64  # guards that one word of Fates.touched has bits for


class Flag(IntEnum):
    """What went wrong with a ball. Independent facts: a ball carries all that apply."""

    UNRESOLVED = 0  # a limit was reached, or the flight could not be followed: unsafe until shown otherwise
    PERSON_HIT = 1  # crossed an onlooker's zone, or the hitter's own after a contact, at or above the harm speed
    GOT_OUT = 2  # left the room, and would land at or above the harm speed
    BROKE_THROUGH = 3  # went through glass, gypsum, a net or a board: past its limit
    PAST_EDGE = 4  # past an edge or a foot that the hit opened, and no guard kept it in
    STRUCK_THROUGH = 5  # struck a wall, or a thing, with the cloth in front of it
    HIT_UNPROTECTED = 6  # met an unprotected part at or above the energy that damages it

    @property
    def key(self) -> str:
        """The name used in files."""
        return self.name.lower()


class Outcome(IntEnum):
    """One label a ball: its worst flag, else one of two. For counting by colour; rates go by flags."""

    UNRESOLVED = 0
    PERSON_HIT = 1
    GOT_OUT = 2
    BROKE_THROUGH = 3
    PAST_EDGE = 4
    STRUCK_THROUGH = 5
    HIT_UNPROTECTED = 6
    ROLLED_DEAD = 7  # ended slow, wherever
    HELD = 8  # a guard took it below the harm speed

    @property
    def key(self) -> str:
        """The name used in files."""
        return self.name.lower()

    @property
    def escape(self) -> bool:
        """Whether a flag stands behind it."""
        return self <= Outcome.HIT_UNPROTECTED


@dataclass(frozen=True)
class Fates:
    """What became of n balls.

    worst `(flags, n)`, m/s: by Flag, the speed at its worst, NaN where it does not apply; place `(flags, n)` int: what
    it was at its worst: index into bay.zones (person_hit), bay.openings (got_out, as Contacts.opening), bay.parts (the
    rest; for a wall struck through cloth, the wall), -1 for none; came_from `(n,)` int: the part that a ball came from
    that hit a person at its worst, -1 for straight from the tee; height `(n,)`, m: of the ball's centre then;
    at_zone `(zones, n)`, m/s: at its worst in each of bay.zones, NaN where it did not come there at the harm speed, and
    zone_from int: the part that it came from then; left `(n,)` int: the opening that it left through at any speed, as
    Contacts.opening, -1 for none; behind_tee `(n,)`, m/s: at its worst in the space behind the tee, NaN for never;
    contacts `(n,)` int: how many; kept `(n,)` bool: at its last touch of a guard it left slower than the harm speed;
    edge `(n,)` int8: the place in EDGES of the one that it got past at its worst, -1 for none, and where nobody says;
    touched `(words, n)` uint64: bit k % 64 of word k // 64 for the k-th of Bay.guard_labels; point `(3, n)`, m, and
    time `(n,)`, s: where and when it was followed to; rests `(n,)` bool: it came to rest there.
    """

    worst: Array
    place: Index
    came_from: Index
    height: Array
    at_zone: Array
    zone_from: NDArray[np.int32]
    left: Index
    behind_tee: Array
    contacts: Index
    kept: Mask
    edge: NDArray[np.int8]
    touched: NDArray[np.uint64]
    point: Array
    time: Array
    rests: Mask

    @classmethod
    def empty(cls, n: int, zones: int = 0, guards: int = 0) -> Fates:
        """Nothing has happened yet in a bay with so many zones and guards."""
        nothing = np.full(n, np.nan)
        words = max(1, -(-guards // WORD))
        return cls(
            np.full((len(Flag), n), np.nan), np.full((len(Flag), n), -1, dtype=np.intp), np.full(n, -1, dtype=np.intp),
            nothing, np.full((zones, n), np.nan), np.full((zones, n), -1, dtype=np.int32),
            np.full(n, -1, dtype=np.intp), nothing.copy(), np.zeros(n, dtype=np.intp), np.zeros(n, dtype=bool),
            np.full(n, -1, dtype=np.int8), np.zeros((words, n), dtype=np.uint64),
            np.full((3, n), np.nan), nothing.copy(), np.zeros(n, dtype=bool),
        )  # fmt: skip

    def __len__(self) -> int:
        return int(self.kept.size)

    def first(self, n: int) -> Fates:
        """The first n balls: views, no copies."""
        return self.of_balls(slice(n))

    def of_balls(self, chunk: slice) -> Fates:
        """The fates of a chunk of the balls: views, no copies."""
        return Fates(*(getattr(self, column.name)[..., chunk] for column in fields(self)))

    @property
    def flags(self) -> Mask:
        """Which flags apply, `(flags, n)`."""
        return ~np.isnan(self.worst)

    def with_flag(self, flag: int, balls: Index | slice | int = slice(None)) -> Mask:
        """Which of these balls carry one flag; all of them unless others are named."""
        return np.asarray(~np.isnan(self.worst[flag, balls]))

    @property
    def harmless_return(self) -> Array:
        """How fast balls `(n,)` came to somebody, m/s, that harmed nobody; NaN for all others."""
        fastest = np.fmax.reduce(self.at_zone, axis=0, initial=np.nan)
        return np.where(np.isnan(self.worst[Flag.PERSON_HIT]), fastest, np.nan)

    @property
    def left_slowly(self) -> Mask:
        """Balls `(n,)` that left the room too slowly to count as got out."""
        return np.asarray((self.left >= 0) & np.isnan(self.worst[Flag.GOT_OUT]))

    def hits(self, zones: Mask, harm: Array | float = 0.0) -> Array:
        """How fast each ball hit any of these zones `(zones,)` at its worst `(n,)`, m/s; NaN where it hit none.

        harm `(zones,)`, m/s: from where on it is a hit.
        """
        least = np.broadcast_to(harm, zones.shape)[zones]
        in_zones = np.where(self.at_zone[zones] >= least[:, None], self.at_zone[zones], np.nan)
        return np.asarray(np.fmax.reduce(in_zones, axis=0, initial=np.nan))

    @property
    def escaped(self) -> Mask:
        """Balls `(n,)` that carry any flag."""
        return np.asarray(self.flags.any(axis=0))

    def note(self, flag: Flag, shots: Index, speed: Array, place: Index) -> Mask:
        """Write that this happened to these shots, each named once; returns for which it is the worst so far."""
        worse = ~(speed <= self.worst[flag, shots])  # also where nothing is written yet
        shots = shots[worse]
        self.worst[flag, shots], self.place[flag, shots] = speed[worse], place[worse]
        return np.asarray(worse)

    def outcomes(self) -> NDArray[np.int8]:
        """The label `(n,)` of each ball."""
        flags = self.flags
        quiet = np.where(self.kept, Outcome.HELD, Outcome.ROLLED_DEAD)
        return np.where(flags.any(axis=0), flags.argmax(axis=0), quiet).astype(np.int8)
