"""How an answer looks in a notebook and as a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from importlib import import_module
from importlib.util import find_spec
from io import StringIO
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rich.console import Console

from flightsim.errors import BadInputError
from flightsim.report.words.plain_table import Table

WIDTH = 100  # characters of a line of an answer in words


def paper() -> tuple[Console, StringIO]:
    """A console that writes to a text."""
    text = StringIO()
    return Console(file=text, width=WIDTH, highlight=False, force_terminal=False), text


def frame(columns: Mapping[str, NDArray[np.generic] | Sequence[Any]]) -> Any:
    """Columns as a pandas data frame where pandas is installed, else as a dict of arrays by name."""
    if find_spec("pandas") is None:
        return {name: np.asarray(values) for name, values in columns.items()}
    return import_module("pandas").DataFrame(dict(columns))


def html_table(table: Table) -> str:
    """A table for a notebook."""
    head = "".join(f"<th>{escape(cell)}</th>" for cell in table.head)
    rows = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in table.rows)
    note = f"<p>{escape(table.note)}</p>" if table.note else ""
    return f"<p><b>{escape(table.title)}</b></p><table><tr>{head}</tr>{rows}</table>{note}"


def html_paragraph(words: str) -> str:
    """A paragraph for a notebook."""
    return f"<p>{escape(words)}</p>"


def no_figure(name: str, known: Sequence[str]) -> BadInputError:
    """What to say of a picture that there is not."""
    return BadInputError(f"there is no picture '{name}'\n  allowed: {', '.join(known)}\n  try: .figure('{known[0]}')")
