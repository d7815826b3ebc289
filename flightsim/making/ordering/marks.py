"""Marks for pieces: alike pieces share one, so that a pile of them needs no sorting."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import replace
from typing import TypeVar

from flightsim.making.pieces import Bar, Board, Length

Piece = TypeVar("Piece", Bar, Board, Length)
_NEAR = 4  # decimals of a metre: 0.1 mm


def mark_bars(bars: Iterable[Bar]) -> tuple[Bar, ...]:
    """A1, A2 ... : the longest first; bars of one mark have section, length, ends and holes in common."""
    return _marked(bars, "A", _bar_kind, lambda bar: (-bar.length, bar.section.name, bar.role))


def mark_boards(boards: Iterable[Board]) -> tuple[Board, ...]:
    """P1, P2 ... : by material, the largest first."""
    return _marked(boards, "P", lambda b: (b.material, _near(b.width), _near(b.height)),
                   lambda b: (b.material, -b.width * b.height))  # fmt: skip


def mark_lengths(lengths: Iterable[Length]) -> tuple[Length, ...]:
    """S1, S2 ... : by material, the longest first."""
    return _marked(lengths, "S", lambda s: (s.material, _near(s.length)), lambda s: (s.material, -s.length))


def _bar_kind(bar: Bar) -> Hashable:
    holes = tuple((_near(hole.along), _near(hole.diameter), hole.face) for hole in bar.holes)
    cuts = tuple((end.cut, round(end.angle, 3), end.fitting.split(" on ")[0].split(" to ")[0]) for end in bar.ends)
    return bar.section, _near(bar.length), cuts, holes, bar.role


def _near(metres: float) -> float:
    return round(metres, _NEAR)


def _marked(
    pieces: Iterable[Piece], letter: str, kind: Callable[[Piece], Hashable], rank: Callable[[Piece], tuple[object, ...]]
) -> tuple[Piece, ...]:
    mark_of: dict[Hashable, str] = {}
    marked = []
    for piece in sorted(pieces, key=rank):  # stable: the bay's order among equals
        mark = mark_of.setdefault(kind(piece), f"{letter}{len(mark_of) + 1}")
        marked.append(replace(piece, mark=mark))
    return tuple(marked)
