"""Samples in proportion to how often each shot type is played, for each group of players and spots by itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from math import log

import numpy as np
from numpy.typing import NDArray

from flightsim.shots.shot_table import ShotTable, ShotType, ranks
from flightsim.study.run.bounds import lower_bound, upper_bound
from flightsim.study.run.pooled import MOST

Array = NDArray[np.float64]
Index = NDArray[np.intp]
_BLOCK = 262_144  # shots drawn at a time; few of them are kept


@dataclass(frozen=True)
class Group:
    """Shot types of one player at one spot: name, their indices, and their shares within the group."""

    name: str
    types: Index
    share: Array


def groups_of(types: Sequence[ShotType]) -> tuple[Group, ...]:
    """The groups of a scenario: whoever hits, from wherever."""
    players, spots = {(kind.player, kind.hand) for kind in types}, {kind.spot for kind in types}
    found: dict[tuple[str, str, str], list[int]] = {}
    for k, kind in enumerate(types):
        found.setdefault((kind.player, kind.hand, kind.spot), []).append(k)
    rows = []
    for (player, hand, spot), of_group in sorted(found.items()):
        words = [f"{player} ({hand}-handed)".strip() if len(players) > 1 else "", spot if len(spots) > 1 else ""]
        share = np.array([types[k].share for k in of_group])
        name = " from ".join(word for word in words if word) or "all shots"
        rows.append(Group(name, np.array(of_group), share / share.sum()))
    return tuple(rows)


@dataclass(frozen=True)
class Sample:
    """Shots with, for each group, how far its counts reach: see pooled.py. group `(n,)`: of each shot."""

    table: ShotTable
    group: Index
    groups: tuple[Group, ...]
    reach: tuple[float, ...]

    def __len__(self) -> int:
        return len(self.table)

    def upper(self, hits: NDArray[np.bool_], alpha: float) -> tuple[float, ...]:
        """Upper bound of each group's rate at confidence 1 - alpha, from hits `(n,)`."""
        return tuple(self._upper(hits, k, alpha) for k in range(len(self.groups)))

    def _upper(self, hits: NDArray[np.bool_], k: int, alpha: float) -> float:
        in_group = self.group == k
        n = int(in_group.sum())
        bound = float(upper_bound(int(hits[in_group].sum()), n, alpha))
        return min(1.0, n / self.reach[k] * bound) if bound <= MOST else 1.0

    def rates(self, hits: NDArray[np.bool_]) -> tuple[float, ...]:
        """Each group's rate as seen: by type, weighted with the shares."""
        found = []
        for group in self.groups:
            shots_of_type = np.array([(self.table.type == k).sum() for k in group.types])
            seen = np.array([hits[self.table.type == k].sum() for k in group.types])
            found.append(float(group.share @ (seen / np.maximum(shots_of_type, 1))))
        return tuple(found)

    def lower(self, hits: NDArray[np.bool_], alpha: float) -> tuple[float, ...]:
        """A lower bound of each group's rate, for curves: pooled, as if the shots were exactly in proportion."""
        in_groups = [self.group == k for k in range(len(self.groups))]
        return tuple(float(lower_bound(int(hits[m].sum()), int(m.sum()), alpha)) for m in in_groups)


def reach_for(rate: float, alpha: float) -> float:
    """How far a group's counts must reach for none seen to show a rate below this one."""
    return -log(alpha) / rate


def shots_for(groups: Sequence[Group], reach: float) -> int:
    """How many shots a sample of this reach has."""
    return int(sum(np.maximum(np.ceil(reach * group.share), 1).sum() for group in groups))


def draw_sample(
    draw: Callable[[int, int], ShotTable], types: Sequence[ShotType], groups: tuple[Group, ...], reach: float
) -> Sample:
    """The first ceil(reach share) shots of each type. draw(first, count): the plan's shots."""
    K = len(types)
    need, group_of = np.zeros(K, dtype=np.intp), np.zeros(K, dtype=np.intp)
    for g, group in enumerate(groups):
        need[group.types] = np.maximum(np.ceil(reach * group.share), 1)
        group_of[group.types] = g
    kept: list[ShotTable] = []
    seen, first = np.zeros(K, dtype=np.intp), 0
    while (seen < need).any():
        count = int(min(_BLOCK, max(4 * K, 2.5 * (need - seen).max() * K)))
        drawn = draw(first, count)
        rank = seen[drawn.type] + ranks(drawn.type, K)
        kept.append(drawn.take(np.flatnonzero(rank < need[drawn.type])))
        seen, first = seen + np.bincount(drawn.type, minlength=K), first + count
    table = joined(kept)
    reaches = tuple(float((need[group.types] / group.share).min()) for group in groups)
    return Sample(table, group_of[table.type], groups, reaches)


def joined(tables: Sequence[ShotTable]) -> ShotTable:
    """Tables one after the other."""
    whole = ShotTable.empty(sum(len(table) for table in tables))
    filled = 0
    for table in tables:
        for column in fields(ShotTable):
            getattr(whole, column.name)[..., filled : filled + len(table)] = getattr(table, column.name)
        filled += len(table)
    return whole
