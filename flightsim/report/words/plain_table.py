"""A table, wherever it is shown. By itself, so that what only prints one need not load what fills others."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True)
class Table:
    """A title, the column heads, rows of text, which columns hold numbers, and a note to read with it.

    taken: cell by cell how much of a limit is taken up, for a bar; None, or no row at all, where there is none.
    """

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int]
    note: str = ""
    taken: tuple[tuple[float | None, ...], ...] = ()

    def without(self, *heads: str) -> Table:
        """The table without these columns."""
        keep = [k for k, head in enumerate(self.head) if head not in heads]
        rows = tuple(tuple(row[k] for k in keep) for row in self.rows)
        numbers = frozenset(new for new, old in enumerate(keep) if old in self.numbers)
        taken = tuple(tuple(row[k] for k in keep) for row in self.taken)
        return replace(self, head=tuple(self.head[k] for k in keep), rows=rows, numbers=numbers, taken=taken)

    def first(self, most: int) -> Table:
        """The first rows."""
        return replace(self, rows=self.rows[:most], taken=self.taken[:most])
