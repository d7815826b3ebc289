"""Bars filled one after another, each with what makes its length cheapest: a plan at once, that proves nothing."""

from __future__ import annotations

from collections.abc import Sequence

from flightsim.making.cutting.stock import CutOrder


def greedy_cuts(order: CutOrder, first: Sequence[int] | None = None) -> list[tuple[int, tuple[int, ...]]] | None:
    """A stock, and how many of each length, for each bar; None where it runs out of stock, which proves nothing.

    first: places of `order.lengths` in the order in which they are put into a bar; default longest first.
    """
    wanted, left = list(order.demand), [stock.count for stock in order.stocks]
    ranked = list(range(len(wanted))) if first is None else [int(i) for i in first]
    cuts: list[tuple[int, tuple[int, ...]]] = []
    while any(wanted):
        fills = [(k, _fill(order, k, wanted, ranked)) for k in range(len(left)) if left[k] != 0]
        fills = [fill for fill in fills if any(fill[1])]
        if not fills:
            return None
        k, counts = min(fills, key=lambda fill: (_cost_of_length(order, *fill), fill))
        wanted = [want - n for want, n in zip(wanted, counts, strict=True)]
        remaining = left[k]
        left[k] = None if remaining is None else remaining - 1
        cuts.append((k, counts))
    return cuts


def _fill(order: CutOrder, stock: int, wanted: list[int], ranked: list[int]) -> tuple[int, ...]:
    room, counts = order.room(stock), [0] * len(wanted)
    for i in ranked:
        counts[i] = min(wanted[i], room // order.takes[i])
        room -= counts[i] * order.takes[i]
    return tuple(counts)


def _cost_of_length(order: CutOrder, stock: int, counts: tuple[int, ...]) -> float:
    return order.costs[stock] / sum(n * take for n, take in zip(counts, order.takes, strict=True))


def least_cost(order: CutOrder) -> float:
    """No plan costs less: all pieces in a row, at the best cost a length."""
    rates = [cost / order.room(k) for k, cost in enumerate(order.costs)]
    return min(rates) * sum(n * take for n, take in zip(order.demand, order.takes, strict=True))
