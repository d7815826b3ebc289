"""A table, wherever it is shown. By itself, so that what only prints one need not load what fills others."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Table:
    """A title, the column heads, rows of text, which columns hold numbers, and a note to read with it."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int]
    note: str = ""
