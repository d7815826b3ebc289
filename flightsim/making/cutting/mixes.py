"""How many bars of each stock to buy: the mixes that can be better than a known plan, cheapest first."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from flightsim.making.cutting.stock import CutOrder

Mix: TypeAlias = tuple[int, ...]  # bars of each stock
Rank: TypeAlias = tuple[int, int]  # cost, bars: the lesser is the better

MOST_MIXES = 200_000


def better_mixes(order: CutOrder, least: int, known: Rank) -> list[tuple[Rank, Mix]] | None:
    """Those that cost `least` at least, rank before `known` and are long enough; None where they are too many."""
    found: list[tuple[Rank, Mix]] = []
    for looked, (rank, mix) in enumerate(_mixes(order, known)):
        if looked > MOST_MIXES:
            return None
        if rank[0] >= least:
            found.append((rank, mix))
    return sorted(found)


def _mixes(order: CutOrder, known: Rank) -> Iterator[tuple[Rank, Mix]]:
    """Mixes before `known` that are long enough for all pieces in a row."""
    need = sum(n * take for n, take in zip(order.demand, order.takes, strict=True))
    rooms = [order.room(k) for k in range(len(order.stocks))]
    most = [len(order.pieces) if s.count is None else min(s.count, len(order.pieces)) for s in order.stocks]

    def add(k: int, cost: int, bars: int, room: int, mix: Mix) -> Iterator[tuple[Rank, Mix]]:
        if k == len(rooms):
            if room >= need:
                yield (cost, bars), mix
            return
        for n in range(most[k] + 1):
            rank = cost + n * order.costs[k], bars + n
            if rank >= known or (n and room + (n - 1) * rooms[k] >= need):  # one bar fewer was enough
                break
            yield from add(k + 1, *rank, room + n * rooms[k], (*mix, n))

    return add(0, 0, 0, 0, ())
