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

LEAST, MOST = 1.0e-4, 1.0e16  # beyond these Python prints a float with an exponent, and JSON in another form


def write_rows(file: TextIO, table: Mapping[str, NDArray[Any]], named: bool) -> None:
    """Write the rows of columns `(n,)`, the names before them if asked. Raises OSError."""
    if named:
        file.write(",".join(map(_quoted, table)) + "\n")
    file.writelines(",".join(row) + "\n" for row in zip(*map(cells, table.values()), strict=True))


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
    for k in odd:
        found[k] = repr(float(numbers[k]))
    if numbers is column:
        return found
    whole = np.full(column.size, "", dtype=object)
    whole[~blank] = found
    return list(whole.tolist())


def _as_json(column: NDArray[Any]) -> list[str]:
    """Each number as JSON has it: several times as fast as one by one."""
    return to_json(column.tolist()).decode()[1:-1].split(",") if column.size else []


def _quoted(cell: Any) -> str:
    """One cell, in quotes where it needs them: also for a carriage return, which csv quotes where it ends its lines."""
    text = StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerow((cell, ""))
    return text.getvalue()[: -len(",\r\n")]
