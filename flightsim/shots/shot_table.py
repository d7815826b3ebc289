"""Shots as a table: what a player sends, before it is flown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.launches import Launches, launch

Array = NDArray[np.float64]
AT_ONCE = 1 << 17  # shots ranked: more do not stay near the processor


@dataclass(frozen=True)
class ShotType:
    """One stratum: a club and kind of strike from one tee spot, sampled and counted together.

    share is its part of all shots, 0..1; the shares of a scenario add to 1. hand: the player's, right or left.
    """

    label: str  # "driver clean", or "driver clean from left spot" where there are several spots
    club: str
    strike: str
    spot: str
    share: float
    hand: str = "right"
    player: str = ""  # by name, where the scenario has players


@dataclass(frozen=True)
class ShotTable:
    """n shots: type `(n,)` int, index into the shot types; start `(3, n)`, m; ball_speed `(n,)`, m/s;
    elevation, azimuth, spin_tilt `(n,)`, rad; spin_rate `(n,)`, rad/s, across the launch; spin_along `(n,)`, rad/s,
    about the launch direction, which a bounce at the start can give.
    """

    type: NDArray[np.intp]
    start: Array
    ball_speed: Array
    elevation: Array
    azimuth: Array
    spin_rate: Array
    spin_tilt: Array
    spin_along: Array

    def __len__(self) -> int:
        return int(self.type.shape[0])

    @classmethod
    def empty(cls, n: int) -> ShotTable:
        """Room for n shots."""
        speed, elevation, azimuth, rate, tilt = np.full((5, n), np.nan)
        start = np.full((3, n), np.nan)
        return cls(np.zeros(n, dtype=np.intp), start, speed, elevation, azimuth, rate, tilt, np.zeros(n))

    @cached_property
    def rank(self) -> NDArray[np.int32]:
        """How many shots before each `(n,)` are of its type."""
        return ranks(self.type, int(self.type.max(initial=-1)) + 1)

    def launches(self) -> Launches:
        """The shots as launches."""
        across = launch(self.start, self.ball_speed, self.elevation, self.azimuth, self.spin_rate, self.spin_tilt)
        if not self.spin_along.any():
            return across
        speed = np.maximum(self.ball_speed, 1.0e-300)
        return replace(across, spin=across.spin + across.velocity * (self.spin_along / speed))

    def take(self, index: NDArray[np.intp] | slice) -> ShotTable:
        """The shots at these places."""
        return ShotTable(
            self.type[index],
            self.start[:, index],
            self.ball_speed[index],
            self.elevation[index],
            self.azimuth[index],
            self.spin_rate[index],
            self.spin_tilt[index],
            self.spin_along[index],
        )


def ranks(kind: NDArray[np.intp], types: int) -> NDArray[np.int32]:
    """How many shots before each `(n,)` are of its type."""
    rank, before = np.empty(kind.size, dtype=np.int32), np.zeros(types, dtype=np.int32)
    for first in range(0, kind.size, AT_ONCE):
        few = kind[first : first + AT_ONCE].astype(np.int16 if types <= np.iinfo(np.int16).max else np.intp)
        order = np.argsort(few, kind="stable")  # of two bytes, sorted by its digits: ten times as fast
        ranked, count = few[order], np.bincount(few, minlength=types)
        starts = np.cumsum(count) - count
        rank[first : first + AT_ONCE][order] = np.arange(few.size) - starts[ranked] + before[ranked]
        before += count.astype(np.int32)
    return rank


def kinds_of(types: Sequence[ShotType], shot: NDArray[np.intp]) -> NDArray[np.intp]:
    """Which type each shot `(n,)` is of: K shots with one of each of the K types, K shots as they are played, again.

    So half of the shots show what rare strikes do, and half what becomes of the balls as they come. Shots as played
    are spread by the van der Corput sequence (van der Corput 1935, Proc. Kon. Ned. Akad. Wet. 38:813) over the types
    laid end to end by their shares: of any number of them each type has its part to a few shots.
    """
    many = len(types)
    turn, place = np.divmod(shot, 2 * many)
    ends = np.cumsum([shot_type.share for shot_type in types])
    played = np.searchsorted(ends / ends[-1], _van_der_corput(turn * many + place - many), side="right")
    return np.where(place < many, place, np.minimum(played, many - 1)).astype(np.intp)


def _van_der_corput(number: NDArray[np.intp]) -> Array:
    """The digits of each number `(n,)`, base two, mirrored at the point; half a step from both ends of 0..1."""
    bits = number.astype(np.uint64) & np.uint64(0xFFFFFFFF)
    for step, mask in ((1, 0x55555555), (2, 0x33333333), (4, 0x0F0F0F0F), (8, 0x00FF00FF), (16, 0x0000FFFF)):
        by, low_bits = np.uint64(step), np.uint64(mask)
        bits = ((bits >> by) & low_bits) | ((bits & low_bits) << by)
    return np.asarray((bits.astype(np.float64) + 0.5) * 2.0**-32)


def counts_of(types: Sequence[ShotType], rounds: int) -> NDArray[np.intp]:
    """How many shots of each type `(K,)` stand in so many rounds of 2 K shots, as kinds_of deals them; none is made.

    Shots that begin at a multiple of 2^b and are 2^b many lie 2^-b apart, so each such block is counted by division.
    """
    ends = np.cumsum([shot_type.share for shot_type in types])
    left, begin = rounds * len(types), 0
    below = np.zeros(len(types), dtype=np.intp)
    while left:
        block = 1 << (left.bit_length() - 1)
        first = _van_der_corput(np.array([begin]))[0]
        below += np.clip(np.ceil((ends / ends[-1] - first) * block), 0, block).astype(np.intp)
        begin, left = begin + block, left - block
    below[-1] = rounds * len(types)
    return rounds + np.diff(below, prepend=0)


def weights_of(types: Sequence[ShotType], n: int) -> Array:
    """Share of each of n shots `(n,)`, of the types of kinds_of: its type's share over the type's number of shots.

    They add to 1. Raises ValueError where there are fewer shots than types: some shares would belong to no shot.
    """
    if n < len(types):
        raise ValueError(f"{n} shots cannot cover {len(types)} shot types: at least one of each is needed")
    kind = kinds_of(types, np.arange(n))
    count = np.bincount(kind, minlength=len(types))
    weight = np.array([shot_type.share for shot_type in types])[kind] / count[kind]
    return np.asarray(weight / weight.sum())
