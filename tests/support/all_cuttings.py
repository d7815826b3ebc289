"""Every way to cut a short list, tried one after another: slow, and so plain that it can be believed. Lengths in mm."""

from collections.abc import Iterator
from itertools import product
from math import inf

Stocks = list[tuple[int, int | None, int | None]]  # length, price, how many there are


def groupings(pieces: list[int]) -> Iterator[list[list[int]]]:
    """All ways to share the pieces among bars."""
    if not pieces:
        yield []
        return
    first, rest = pieces[0], pieces[1:]
    for groups in groupings(rest):
        yield [[first], *groups]
        for k in range(len(groups)):
            yield [*groups[:k], [first, *groups[k]], *groups[k + 1 :]]


def offcut(stock: int, group: list[int], kerf: int, trim: int) -> int | None:
    """What is left of a bar after cutting piece by piece; None where it is too short."""
    left = stock - trim
    for n, piece in enumerate(group):
        if n and left < kerf:
            return None
        left -= (kerf if n else 0) + piece
        if left < 0:
            return None
    return left - kerf if left > kerf else 0


def best_by_trying(pieces: list[int], stocks: Stocks, kerf: int, trim: int) -> tuple[int, int, int] | None:
    """Cost (or length bought), bars, and the longest offcut of the best plan; None where there is none."""
    best: tuple[float, float, float] = (inf, inf, inf)
    for groups in groupings(pieces):
        for chosen in product(range(len(stocks)), repeat=len(groups)):
            if any(limit is not None and chosen.count(k) > limit for k, (_, _, limit) in enumerate(stocks)):
                continue
            left = [offcut(stocks[k][0], group, kerf, trim) for k, group in zip(chosen, groups, strict=True)]
            if any(piece is None for piece in left):
                continue
            cost = sum(stocks[k][0] if stocks[k][1] is None else stocks[k][1] for k in chosen)
            best = min(best, (cost, len(groups), -max(x for x in left if x is not None)))
    return None if best[0] == inf else (int(best[0]), int(best[1]), int(-best[2]))
