"""Flat pieces on stock sheets, by cuts that go right through (guillotine), each as wide as the saw's kerf.

The best of many orders of placing: no proof of the fewest sheets by itself. Beside it stands a bound that no plan can
beat: the area, and pieces too large to share a sheet. Where the two agree, the plan is the best there is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, product
from math import ceil
from types import MappingProxyType

from flightsim.errors import BadInputError
from flightsim.making.ordering.seams import APART, Seams, on_bars
from flightsim.making.pieces import Board

_SNUG = 1e-6  # m
SLIVER = 0.100  # m: no part of a board is narrower, where there is a choice (judgement)


@dataclass(frozen=True)
class SheetSize:
    """A stock sheet: length and width, m."""

    length: float
    width: float


@dataclass(frozen=True)
class Placed:
    """A piece on a sheet: its lower left corner, and its size as it lies, m. turned: its width runs along the sheet."""

    board: Board
    x: float
    y: float
    along: float
    across: float


@dataclass(frozen=True)
class SheetPlan:
    """What is cut from each sheet. at_least: no plan does with fewer."""

    size: SheetSize
    sheets: tuple[tuple[Placed, ...], ...]
    at_least: int

    @property
    def proved(self) -> bool:
        """Whether no plan does with fewer sheets."""
        return len(self.sheets) == self.at_least


@dataclass(frozen=True)
class _Free:
    """A rectangle that is still whole."""

    x: float
    y: float
    along: float
    across: float

    def takes(self, along: float, across: float) -> bool:
        return along <= self.along + _SNUG and across <= self.across + _SNUG


Rank = Callable[[Board], tuple[float, ...]]
_RANKS: tuple[Rank, ...] = (
    lambda b: (-b.width * b.height,),
    lambda b: (-max(b.width, b.height), -min(b.width, b.height)),
    lambda b: (-min(b.width, b.height), -max(b.width, b.height)),
    lambda b: (-b.width - b.height,),
    lambda b: (-b.width, -b.height),
    lambda b: (-b.height, -b.width),
)


def plan_sheets(boards: Sequence[Board], size: SheetSize, kerf: float) -> SheetPlan:
    """The best plan of those tried. Raises BadInputError for a piece larger than the sheet."""
    for board in boards:
        if not _fitting(board, size):
            raise BadInputError(
                f"{board.name}: {board.width * 1e3:.0f} x {board.height * 1e3:.0f} mm is larger than a sheet of "
                f"{size.length * 1e3:.0f} x {size.width * 1e3:.0f} mm\n  try: a larger sheet, or a seam"
            )
    tried = [
        _place(sorted(boards, key=rank), size, kerf, long_rest, tight)
        for rank, long_rest, tight in product(_RANKS, (True, False), (True, False))
    ]
    return SheetPlan(size, min(tried, key=len), fewest_sheets(boards, size, kerf))


def fewest_sheets(boards: Sequence[Board], size: SheetSize, kerf: float) -> int:
    """No plan does with fewer: by area (a kerf along two sides of each piece), and by pieces that share no sheet.

    A sheet is taken larger by a kerf each way, since the last piece needs none.
    """
    if not boards:
        return 0
    area = sum((b.width + kerf) * (b.height + kerf) for b in boards)
    by_area = ceil(area / ((size.length + kerf) * (size.width + kerf)) - 1e-9)
    alone = sum(
        all(way[0] > size.length / 2.0 and way[1] > size.width / 2.0 for way in _fitting(b, size)) for b in boards
    )
    return max(by_area, alone, 1)


def _ways(board: Board) -> list[tuple[float, float]]:
    """Along and across the sheet, as it may lie."""
    way = (board.width, board.height)
    return [way, way[::-1]] if board.may_turn and board.width != board.height else [way]


def _fitting(board: Board, size: SheetSize) -> list[tuple[float, float]]:
    """Ways in which it fits a whole sheet."""
    return [way for way in _ways(board) if _Free(0.0, 0.0, size.length, size.width).takes(*way)]


def _place(
    boards: Iterable[Board], size: SheetSize, kerf: float, long_rest: bool, tight: bool
) -> tuple[tuple[Placed, ...], ...]:
    """Put each piece into the free rectangle that it fits best; a new sheet where none takes it."""
    sheets: list[list[Placed]] = []
    free: list[tuple[int, _Free]] = []
    for board in boards:
        fits = [
            (_left_over(rest, way, tight), k, n, way)
            for n, (k, rest) in enumerate(free)
            for way in _ways(board)
            if rest.takes(*way)
        ]
        if not fits:
            sheets.append([])
            whole = _Free(0.0, 0.0, size.length, size.width)
            free.append((len(sheets) - 1, whole))
            fits = [
                (_left_over(whole, way, tight), len(sheets) - 1, len(free) - 1, way)
                for way in _ways(board)
                if whole.takes(*way)
            ]
        _, k, n, (along, across) = min(fits)
        _, rest = free.pop(n)
        sheets[k].append(Placed(board, rest.x, rest.y, along, across))
        free += [(k, part) for part in _split(rest, along, across, kerf, long_rest)]
    return tuple(tuple(sheet) for sheet in sheets)


def _left_over(rest: _Free, way: tuple[float, float], tight: bool) -> float:
    """How badly a piece fits: the shorter of the two rests, or the area that is left."""
    along, across = way
    if tight:
        return min(rest.along - along, rest.across - across)
    return rest.along * rest.across - along * across


def _split(rest: _Free, along: float, across: float, kerf: float, long_rest: bool) -> list[_Free]:
    """The two rectangles that are left after two cuts; long_rest: the first cut runs across the whole."""
    beside = _Free(rest.x + along + kerf, rest.y, rest.along - along - kerf, across)
    above = _Free(rest.x, rest.y + across + kerf, along, rest.across - across - kerf)
    if (rest.along - along > rest.across - across) == long_rest:
        beside = replace(beside, across=rest.across)
    else:
        above = replace(above, along=rest.along)
    return [part for part in (beside, above) if part.along > _SNUG and part.across > _SNUG]


def seamed(
    boards: Sequence[Board],
    size: SheetSize,
    kerf: float,
    bars: Mapping[str, Sequence[float]] = MappingProxyType({}),
    avoid: Mapping[str, Seams] = MappingProxyType({}),
    level: Mapping[str, Seams] = MappingProxyType({}),
) -> tuple[Board, ...]:
    """Boards larger than a sheet in parts, the way that takes fewer sheets: equal ones, or whole sheets and a rest.

    bars: of boards by name, where bars run under them; equal parts have their seams there where they fit. avoid,
    level: where foam has no seam, upright and level, since its board has one. Distances from the left edge, and from
    the foot, m. No part is narrower than 100 mm (judgement).
    """
    equal = [part for board in boards for part in _equal_parts(board, size, bars, avoid, level)]
    whole = [part for board in boards for part in (
        _equal_parts(board, size, bars, avoid, level) if board.name in avoid or board.name in level
        else _whole_and_rest(board, size)
    )]  # fmt: skip
    if len(plan_sheets(whole, size, kerf).sheets) < len(plan_sheets(equal, size, kerf).sheets):
        return tuple(whole)
    return tuple(equal)


def _equal_parts(
    board: Board, size: SheetSize, bars: Mapping[str, Sequence[float]], avoid: Mapping[str, Seams],
    level: Mapping[str, Seams],
) -> list[Board]:  # fmt: skip
    """With the sheet turned the other way, or of whole sheets and a rest, where seams would lie over others."""
    for (along, across), (most, _) in _ways_to_part(board, size):
        widths = on_bars(board.width, along, most, bars.get(board.name, ()))
        seams = accumulate(widths[:-1]), (k * board.height / across for k in range(1, across))
        kept = avoid.get(board.name, ()), level.get(board.name, ())
        if not any(abs(seam - other) < APART for own_seams, other_seams in zip(seams, kept, strict=True)
                   for seam in own_seams for other in other_seams):  # fmt: skip
            return _parts(board, [(width, board.height / across) for _ in range(across) for width in widths])
    return _whole_and_rest(board, size)


def _whole_and_rest(board: Board, size: SheetSize) -> list[Board]:
    (along, across), (most_along, most_across) = _fewest_parts(board, size)
    widths, heights = _runs(board.width, most_along, along), _runs(board.height, most_across, across)
    return _parts(board, [(width, height) for height in heights for width in widths])


def _runs(length: float, most: float, count: int) -> list[float]:
    """Whole sheets and the rest; equal parts where the rest would be a sliver."""
    rest = length - (count - 1) * most
    return [length / count] * count if rest < SLIVER else [most] * (count - 1) + [rest]


def _fewest_parts(board: Board, size: SheetSize) -> tuple[tuple[int, int], tuple[float, float]]:
    """Parts along and up the board, and how large they may be, whichever way the sheet is turned."""
    return _ways_to_part(board, size)[0]


def _ways_to_part(board: Board, size: SheetSize) -> list[tuple[tuple[int, int], tuple[float, float]]]:
    """The ways with the fewest parts."""
    ways = [(size.length, size.width), (size.width, size.length)] if board.may_turn else [(size.length, size.width)]
    counts = [((ceil(board.width / a - _SNUG), ceil(board.height / b - _SNUG)), (a, b)) for a, b in ways]
    fewest = min(count[0] * count[1] for count, _ in counts)
    return sorted((way for way in counts if way[0][0] * way[0][1] == fewest), key=lambda way: way[0])


def _parts(board: Board, sizes: Sequence[tuple[float, float]]) -> list[Board]:
    if len(sizes) == 1:
        return [board]
    return [
        replace(board, name=f"{board.name}, part {k} of {len(sizes)}", width=width, height=height)
        for k, (width, height) in enumerate(sizes, start=1)
    ]
