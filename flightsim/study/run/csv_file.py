"""Columns as text, one row a line: numbers in the shortest form that reads back exactly, as Python prints them."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from io import StringIO
from typing import Any, TextIO

import numpy as np
from numpy.typing import NDArray
from pydantic_core import to_json

from flightsim.scenario.reading.text import harmless

AT_ONCE = 500  # rows joined: more do not stay near the processor
LEAST, MOST = 1.0e-4, 1.0e16  # beyond these Python prints a float with an exponent, and JSON in another form


def write_rows(file: TextIO, table: Mapping[str, NDArray[Any]], named: bool) -> None:
    """Write the rows of columns `(n,)`, the names before them if asked. Raises OSError."""
    if named:
        file.write(",".join(map(_quoted, table)) + "\n")
    columns = [cells(column) for column in table.values()]
    width, rows = 2 * len(columns), len(columns[0])
    for first in range(0, rows, AT_ONCE):
        page = ([","] * (width - 1) + ["\n"]) * min(AT_ONCE, rows - first)  # a place for each cell, and what follows it
        for k, column in enumerate(columns):
            page[2 * k :: width] = column[first : first + AT_ONCE]
        file.write("".join(page))


def cells(column: NDArray[Any]) -> list[str]:
    """A column as it stands in a CSV file: NaN is blank.

    Text that a spreadsheet would run as a formula gets an apostrophe before it.
    """
    if column.dtype.kind == "f":
        return _floats(column)
    if column.dtype.kind in "iu":
        return _as_json(column)
    values = column.tolist()
    text_of = {value: _quoted(harmless(value) if isinstance(value, str) else value) for value in set(values)}
    return [text_of[value] for value in values]


def _floats(column: NDArray[Any]) -> list[str]:
    blank = np.isnan(column)
    numbers = column[~blank] if blank.any() else column
    size = np.abs(numbers)
    odd = np.flatnonzero(~((size >= LEAST) & (size < MOST)) & (size != 0.0))
    found = _as_json(np.where(np.isfinite(numbers), numbers, 0.0) if odd.size else numbers)
    words = {number: repr(number) for number in set(numbers[odd].tolist())}  # weights: one a shot type
    for k, number in zip(odd.tolist(), numbers[odd].tolist(), strict=True):
        found[k] = words[number]
    if numbers is column:
        return found
    whole = [""] * column.size
    for k, word in zip(np.flatnonzero(~blank).tolist(), found, strict=True):
        whole[k] = word
    return whole


def _as_json(column: NDArray[Any]) -> list[str]:
    """Each number as JSON has it: several times as fast as one by one."""
    return to_json(column.tolist()).decode()[1:-1].split(",") if column.size else []


def _quoted(cell: Any) -> str:
    """One cell, in quotes where it needs them: also for a carriage return, which csv quotes where it ends its lines."""
    text = StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerow((cell, ""))
    return text.getvalue()[: -len(",\r\n")]
