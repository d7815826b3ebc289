"""A table of measured shots to rows in SI: read as text, checked cell by cell, nothing passed over in silence."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem, ScenarioError
from flightsim.shots.measured_section import Measured
from flightsim.shots.measured_text import TextError, declared_delimiter, text_of

MOST_BYTES = 100_000_000
MOST_ROWS = 1_000_000
_TITLES = 40  # lines that titles may take before the columns' names
_DELIMITERS = (",", ";", "\t", "|")
Record = tuple[int, tuple[str, ...]]  # line number, from 1, and cells


@dataclass(frozen=True)
class BadCell:
    """What is wrong in one line of the table. column: "" where it is the whole line."""

    line: int
    column: str
    found: str
    reason: str

    def problem(self, file: str) -> Problem:
        """The problem with its file."""
        return Problem(file, self.line, self.column, f"{self.found} {self.reason}", "")


@dataclass(frozen=True)
class Table:
    """A file as text. records: line number, from 1, and cells of each row below the header."""

    file: str
    sha256: str
    header: tuple[str, ...]
    header_line: int
    records: tuple[Record, ...]


def read_table(scenario: Scenario, measured: Measured) -> Table:
    """Read the file of a `measured` section. Raises ScenarioError when it is no table."""
    path = Path(scenario.file).parent / measured.file
    raw = _read(scenario, path)
    text = text_of_file(raw, str(path), measured.encoding)
    declared = declared_delimiter(text)
    records = records_of(text, str(path), _delimiter(scenario, measured, declared, str(path)))
    if declared:
        next(records)
    line, header = _header(records, measured.header_line)
    if not header and measured.header_line:
        found = f"{path} has no line {measured.header_line} with names"
        raise ScenarioError([scenario.problem("measured.header_line", found, "the line of the columns' names")])
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


def _header(records: Iterator[Record], wanted: int | None) -> Record:
    """The line of the columns' names: the one that is said, or the first with something in it."""
    for line, cells in records:
        if wanted is None or line == wanted:
            return line, cells
        if line > wanted:
            break
    return 1, ()


def _delimiter(scenario: Scenario, measured: Measured, declared: str | None, file: str) -> str:
    """The table's own word counts, unless the scenario says otherwise."""
    if declared and "delimiter" in measured.model_fields_set and declared != measured.delimiter:
        found = f"line 1 of {file} says that {declared!r} parts the cells"
        raise ScenarioError([scenario.problem("measured.delimiter", found, "what the table says", "remove the key")])
    return declared or measured.delimiter


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


def text_of_file(raw: bytes, file: str, encoding: str | None) -> str:
    """The table's text. Raises ScenarioError with the line that cannot be read."""
    try:
        return text_of(raw, encoding)
    except TextError as error:
        raise ScenarioError([Problem(file, error.line, "", error.found, error.allowed, error.fix)]) from None


def records_of(text: str, file: str, delimiter: str) -> Iterator[Record]:
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
    below = next((line for line, cells in table.records[:_TITLES] if wanted in [cell.strip() for cell in cells]), None)
    if below is not None:
        return scenario.problem(
            key, f"the table has no column {wanted!r}", there, f"header_line: {below}, under measured"
        )
    near = get_close_matches(wanted.casefold(), [head.casefold() for head in table.header], 1, 0.5)
    fix = next((head for head in table.header if near and head.casefold() == near[0]), "")
    return scenario.problem(key, f"the table has no column {wanted!r}", there, fix)


def shape_of(cells: tuple[str, ...], table: Table) -> str:
    """Why a row as a whole cannot be read, or ""."""
    if not any(cell.strip() for cell in cells):
        return "is blank in every cell"
    there, due = len(cells), len(table.header)
    if there == due:
        return ""
    more = "; a decimal comma? give delimiter and decimal" if there > due else ""
    return f"has {there} cell{'s' if there > 1 else ''} where the first line has {due} names{more}"
