"""Paragraphs and tables on a terminal, and what is being done on its error stream."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Literal

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table as RichTable
from rich.text import Text

from flightsim.engine.notice import telling_with
from flightsim.report.words.plain_table import Table

LONGEST_WORD = 16  # columns: a longer one may be broken
LONGEST_KEY = 32  # columns: one that is typed, such as side_nets.right.above_floor, where there is room for it
_BETWEEN = 3  # columns from one column of a table to the next


class Paper(Console):
    """The terminal. Whoever stops reading (`| head`) changes neither the result nor its exit code."""

    def on_broken_pipe(self) -> None:
        """Go on without a reader."""
        with suppress(SystemExit):
            super().on_broken_pipe()


def say(console: Console, words: str, style: str = "") -> None:
    """A paragraph, as it is: what a scenario is called is never read as markup."""
    if words:
        console.print()
        console.print(Text(words, style=style))


def show(console: Console, table: Table) -> None:
    """A table under its title; nothing where it has no rows."""
    if not table.rows:
        return
    say(console, table.title, style="bold")
    console.print(grid_of(table, console.width))
    if table.note:
        console.print(Text(table.note))


def grid_of(table: Table, width: int, most: int | None = None) -> RichTable:
    """The first rows, drawn within so many columns: words of ordinary length stay whole where there is room for it."""
    rows = table.rows[:most]
    columns = [[head, *(row[k] for row in rows)] for k, head in enumerate(table.head)]
    whole = [max((cell_len(word) for cell in cells for word in cell.split()), default=0) for cells in columns]
    numbers = [max(map(cell_len, cells)) for k, cells in enumerate(columns) if k in table.numbers]
    for longest in (LONGEST_KEY, LONGEST_WORD):
        least = [min(size, longest) for size in whole]
        words = [size for k, size in enumerate(least) if k not in table.numbers]
        room = sum(numbers) + sum(words) + _BETWEEN * (len(columns) - 1) <= width
        if room:
            break
    grid = RichTable(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for k, head in enumerate(table.head):
        side: Literal["right", "left"] = "right" if k in table.numbers else "left"
        keep = room and k not in table.numbers
        grid.add_column(Text(head), justify=side, overflow="fold", min_width=least[k] if keep else None)
    for row in rows:
        grid.add_row(*(Text(cell) for cell in row))
    return grid


@contextmanager
def told_what_is_done(first: str) -> Iterator[Callable[[str], None]]:
    """Words on a terminal's error stream while something is done; nothing in a pipe."""
    console = Console(stderr=True)
    if not console.is_terminal:
        yield lambda words: None
        return
    with console.status(first) as status, telling_with(console.print):
        yield status.update
