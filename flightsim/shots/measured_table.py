"""A table of measured shots to rows in SI: read as text, checked cell by cell, nothing passed over in silence."""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem, ScenarioError
from flightsim.shots.measured_section import Measured

MOST_BYTES = 100_000_000
MOST_ROWS = 1_000_000
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_NOTHING = {"nan", "n/a", "na", "null", "none", "-", "--", "#n/a", "inf", "-inf"}
_DELIMITERS = (",", ";", "\t", "|")
_BYTE_ORDER_16 = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True)
class BadCell:
    """What is wrong in one line of the table. column: "" where it is the whole line."""

    line: int
    column: str
    found: str
    reason: str

    def problem(self, file: str) -> Problem:
        """The same with its file."""
        return Problem(file, self.line, self.column, f"{self.found} {self.reason}", "")


@dataclass(frozen=True)
class Table:
    """A file as text. records: line number, from 1, and cells of each row below the header."""

    file: str
    sha256: str
    header: tuple[str, ...]
    header_line: int
    records: tuple[tuple[int, tuple[str, ...]], ...]


def read_table(scenario: Scenario, measured: Measured) -> Table:
    """Read the file of a `measured` section. Raises ScenarioError when it is no table."""
    path = Path(scenario.file).parent / measured.file
    raw = _read(scenario, path)
    records = _records(_text(raw, str(path)), str(path), measured.delimiter)
    line, header = next(records, (1, ()))
    if not header:
        fix = "a first line with the columns' names, then one shot a line"
        raise ScenarioError([Problem(str(path), None, "", "the table is empty", fix)])
    rows = []
    for record in records:
        rows.append(record)
        if len(rows) > MOST_ROWS:
            raise ScenarioError([Problem(str(path), None, "", "the table is too long", f"up to {MOST_ROWS:,} rows")])
    if not rows:
        raise ScenarioError(
            [Problem(str(path), line, "", "there is no row below the columns' names", "one shot a line")]
        )
    names = tuple(name.strip() for name in header)
    return Table(str(path), hashlib.sha256(raw).hexdigest(), names, line, tuple(rows))


def _read(scenario: Scenario, path: Path) -> bytes:
    """The file's bytes."""
    allowed = "a table of measured shots (CSV); its path starts at the scenario file's folder"
    if not path.is_file():
        near = get_close_matches(path.name, _names_in(path.parent), 1)
        found = f"{path} is no file" if path.exists() else f"there is no file {path}"
        raise ScenarioError([scenario.problem("measured.file", found, allowed, near[0] if near else "")])
    try:
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except OSError as error:
        found = f"{path} cannot be read: {error.strerror or error}"
        raise ScenarioError([scenario.problem("measured.file", found, allowed)]) from None
    if len(raw) > MOST_BYTES:
        raise ScenarioError([Problem(str(path), None, "", "the table is too large", f"up to {MOST_BYTES:,} bytes")])
    return raw


def _names_in(folder: Path) -> list[str]:
    try:
        return [inner.name for inner in folder.iterdir() if inner.is_file()]
    except OSError:
        return []


def _text(raw: bytes, file: str) -> str:
    fix = "save it as UTF-8"
    if raw.startswith(_BYTE_ORDER_16):
        raise ScenarioError([Problem(file, 1, "", "the table is UTF-16 text", "UTF-8", fix)])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise ScenarioError([Problem(file, line, "", "the table is not UTF-8 text", "UTF-8", fix)]) from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise ScenarioError([Problem(file, line, "", "a character that no text has, NUL", "plain text", "remove it")])
    return text


def _records(text: str, file: str, delimiter: str) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Line number and cells of every record; lines with nothing in them are no records."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True, skipinitialspace=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            words = "a quote is never closed" if "end of data" in str(error) else str(error)
            raise ScenarioError(
                [Problem(file, line, "", words, 'cells in quotes: "a", and "" for a quote inside')]
            ) from None
        if cells:
            yield line, tuple(cells)


def places_of(scenario: Scenario, measured: Measured, table: Table) -> dict[str, int]:
    """Our name to the place of its column. Raises ScenarioError with every column that is not there, or there twice."""
    _check_delimiter(scenario, measured, table)
    problems, places = [], {}
    for name, entry in measured.columns.given():
        wanted = entry.column.strip()
        if table.header.count(wanted) == 1:
            places[name] = table.header.index(wanted)
            continue
        problems.append(_no_such_column(scenario, table, name, wanted))
    if problems:
        raise ScenarioError(problems)
    return places


def _check_delimiter(scenario: Scenario, measured: Measured, table: Table) -> None:
    """One name in the first line, with another sign in it that parts cells: that sign is meant."""
    other = [sign for sign in _DELIMITERS if sign in table.header[0]]
    if len(table.header) == 1 and other:
        found = f"{measured.delimiter!r} does not part line {table.header_line} of {table.file}: {table.header[0]}"
        fix = 'delimiter: "{}"'.format(other[0].replace("\t", r"\t"))
        raise ScenarioError([scenario.problem("measured.delimiter", found, "the sign that parts its cells", fix)])


def _no_such_column(scenario: Scenario, table: Table, name: str, wanted: str) -> Problem:
    key = f"measured.columns.{name}.column"
    there = f"the names in line {table.header_line} of {table.file}: {', '.join(table.header)}"
    if wanted in table.header:
        found = f"{table.header.count(wanted)} columns of the table are named {wanted!r}"
        return scenario.problem(key, found, "a name that one column has", "rename one of them in the table")
    near = get_close_matches(wanted.casefold(), [head.casefold() for head in table.header], 1, 0.5)
    fix = next((head for head in table.header if near and head.casefold() == near[0]), "")
    return scenario.problem(key, f"the table has no column {wanted!r}", there, fix)


def read_number(text: str, decimal: str) -> float | str:
    """The number in a cell, or why there is none."""
    plain = text.strip().replace("−", "-")
    if not plain:
        return "is blank"
    if plain.casefold() in _NOTHING:
        return "is no number: nothing was measured"
    other = "," if decimal == "." else "."
    if other in plain:
        words = {",": "a decimal comma, or one between thousands", ".": "a decimal point, or one between thousands"}
        return f"is no number: {words[other]}? decimal is {decimal!r}"
    number = plain.replace(decimal, ".")
    if not _NUMBER.fullmatch(number):
        return "is no number"
    value = float(number)
    return value if abs(value) < 1e300 else "is no number that can be flown"


def shape_of(cells: tuple[str, ...], table: Table) -> str:
    """Why a row as a whole cannot be read, or ""."""
    if not any(cell.strip() for cell in cells):
        return "is blank in every cell"
    there, due = len(cells), len(table.header)
    if there == due:
        return ""
    more = "; a decimal comma? give delimiter and decimal" if there > due else ""
    return f"has {there} cell{'s' if there > 1 else ''} where the first line has {due} names{more}"
