"""Paragraphs and tables on a terminal, and what is being done on its error stream."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from rich import box
from rich.console import Console
from rich.table import Table as RichTable
from rich.text import Text

from flightsim.report.words.plain_table import Table


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
    grid = RichTable(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for k, head in enumerate(table.head):
        grid.add_column(Text(head), justify="right" if k in table.numbers else "left", overflow="fold")
    for row in table.rows:
        grid.add_row(*(Text(cell) for cell in row))
    console.print(grid)
    if table.note:
        console.print(Text(table.note))


@contextmanager
def told_what_is_done(first: str) -> Iterator[Callable[[str], None]]:
    """Words on a terminal's error stream while something is done; nothing in a pipe."""
    console = Console(stderr=True)
    if not console.is_terminal:
        yield lambda words: None
        return
    with console.status(first) as status:
        yield status.update
