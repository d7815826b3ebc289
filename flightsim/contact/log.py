"""Every contact of every ball, for those who ask."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class ContactList:
    """m contacts, by shot and then by time. shot, number (0 for the first), part `(m,)` int, part -1 for where the
    ball was followed to; time `(m,)`, s; point `(3, m)`, m; arriving, leaving, normal `(3, m)`: velocity before and
    after, m/s (NaN for a ball that went through), and the unit normal toward the ball; spin, leaving_spin `(3, m)`,
    rad/s, before and after; left `(3, m)`, m, and left_time `(m,)`, s: where and when it left the part, which cloth has
    carried it to.
    """

    shot: Index
    number: Index
    part: Index
    time: Array
    point: Array
    arriving: Array
    leaving: Array
    normal: Array
    spin: Array
    leaving_spin: Array
    left: Array
    left_time: Array

    def of(self, shot: int) -> NDArray[np.intp]:
        """The places in the list of one shot's contacts."""
        return np.flatnonzero(self.shot == shot)


@dataclass
class ContactLog:
    """Where contacts are written as they happen."""

    rows: list[tuple[Index | Array, ...]] = field(default_factory=list)

    def write(
        self, shot: Index, number: Index, part: Index, time: Array, point: Array, arriving: Array, leaving: Array,
        normal: Array, spin: Array, leaving_spin: Array, left: Array, left_time: Array,
    ) -> None:  # fmt: skip
        """Add some contacts, as in ContactList."""
        self.rows.append(
            (shot, number, part, time, point, arriving, leaving, normal, spin, leaving_spin, left, left_time)
        )

    def sorted(self) -> ContactList:
        """All contacts, by ball and then in their order."""
        if not self.rows:
            none, blank = np.empty(0, dtype=np.intp), np.empty((3, 0))
            never = np.empty(0)
            return ContactList(none, none, none, never, blank, blank, blank, blank, blank, blank, blank, never)
        columns = [np.concatenate(column, axis=-1) for column in zip(*self.rows, strict=True)]
        order = np.lexsort((columns[1], columns[0]))
        return ContactList(*(column[..., order] for column in columns))
