"""Rows of measured shots, checked one by one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot

import numpy as np
from numpy.typing import NDArray

from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem, ScenarioError, Severity
from flightsim.shots.measured_aside import set_aside, unit_row
from flightsim.shots.measured_cells import SIDED, cell_value, header_unit, written
from flightsim.shots.measured_limits import MOST_SPIN, QUANTITIES, doubts
from flightsim.shots.measured_section import Measured, unit_factor
from flightsim.shots.measured_table import BadCell, Table, places_of, read_table, shape_of
from flightsim.shots.measured_thousands import thousands

Array = NDArray[np.float64]
NUMBERS = ("ball_speed", "elevation", "azimuth", "backspin", "sidespin")
SHOWN = 25  # bad cells told one by one; of the others, the count and the lines
ALL = "all clubs"  # the one shot type of a table without clubs
MOST_CLUBS = 60
_MOST_SPANS = 300
_HANDS = {"r": False, "right": False, "rh": False, "righty": False, "righthanded": False,
          "l": True, "left": True, "lh": True, "lefty": True, "lefthanded": True}  # fmt: skip


@dataclass(frozen=True)
class MeasuredRows:
    """The good rows of a table.

    numbers `(5, n)`, SI, in the order of NUMBERS, right and backspin +; club `(n,)`, index into clubs; line `(n,)`,
    from 1, in the file; total: rows of the file; bad: every bad cell; warnings: what is odd but flies; spin_along
    `(n,)`, rad/s, about the path; left `(n,)`: hit by a left-hander, as a column says; aside: rows that are no shots.
    """

    file: str
    sha256: str
    numbers: Array
    clubs: tuple[str, ...]
    club: NDArray[np.intp]
    line: NDArray[np.intp]
    total: int
    bad: tuple[BadCell, ...]
    warnings: tuple[Problem, ...]
    spin_along: Array
    left: NDArray[np.bool_]
    aside: tuple[BadCell, ...] = ()

    def __len__(self) -> int:
        return int(self.numbers.shape[1])

    def flown_by(self, left: bool) -> MeasuredRows:
        """The rows as if one hand had hit them all: those of the other hand are mirrored."""
        side = np.where(self.left == left, 1.0, -1.0)
        turned = self.numbers * np.stack([np.ones_like(side), np.ones_like(side), side, np.ones_like(side), side])
        return replace(self, numbers=turned, spin_along=self.spin_along * side, left=np.full(len(self), left))


class BadRowsError(ScenarioError):
    """Rows that cannot be flown. `problems` holds the sum of it and every bad cell; the text tells the first ones."""

    def __init__(self, summary: Problem, file: str, bad: Sequence[BadCell]) -> None:
        """Keep all, tell some."""
        cells = [cell.problem(file) for cell in bad]
        super().__init__((summary, *cells))
        lines = [str(problem) for problem in (summary, *cells[:SHOWN])]
        if len(bad) > SHOWN:
            lines.append(f"... and {len(bad) - SHOWN:,} more. {_bad_lines(bad)}")
        self.parts = ("\n".join(lines),)


def read_rows(scenario: Scenario, measured: Measured) -> MeasuredRows:
    """The rows of a `measured` section.

    Raises ScenarioError when the file is no table, a column is missing or looks as if it were in another unit, or rows
    are bad and `bad_rows` does not leave them out.
    """
    table = read_table(scenario, measured)
    places = places_of(scenario, measured, table)
    numbers = {name: places[name] for name, _ in measured.columns.numbers()}
    shots, aside = set_aside(table.records, table.header, numbers, places.get("club"))
    said = unit_row(table.records, numbers)
    table = replace(table, records=shots)
    if not shots:
        raise ScenarioError([Problem(table.file, table.header_line, "", "no row below is a shot", "one shot a line")])
    reading = _Reading(measured, table, places)
    reading.read()
    odd = [
        *_check_units(scenario, measured, reading), *_said_units(scenario, measured, said),
        *_doubted(table.file, reading.doubted), *_told_aside(table.file, aside),
    ]  # fmt: skip
    reading.check_ranges()
    bad = tuple(sorted(reading.bad, key=lambda cell: cell.line))
    bad_lines = {cell.line for cell in bad}
    good = [k for k, (line, _) in enumerate(table.records) if line not in bad_lines]
    left_out = _judge_bad(scenario, measured, table, bad, len(good))
    names = [reading.clubs[k] for k in good]
    clubs = tuple(dict.fromkeys(names))
    place = {club: k for k, club in enumerate(clubs)}
    gone = [club for club in dict.fromkeys(reading.clubs) if club and club not in place]
    lost = [_warning(scenario, "measured.bad_rows", f"no row with {club!r} is left: none is flown") for club in gone]
    return MeasuredRows(
        table.file, table.sha256, reading.numbers()[:, good], clubs,
        np.array([place[name] for name in names], dtype=np.intp),
        np.array([table.records[k][0] for k in good], dtype=np.intp),
        len(table.records), bad, (*odd, *left_out, *lost), reading.spin_along()[good],
        np.array([reading.left[k] for k in good], dtype=bool), aside,
    )  # fmt: skip


class _Reading:
    """The cells of a table as numbers in SI, with what is bad."""

    def __init__(self, measured: Measured, table: Table, places: dict[str, int]) -> None:
        self.measured, self.table, self.places = measured, table, places
        self.columns = measured.columns.numbers()
        self.bad: list[BadCell] = []
        self.doubted: list[BadCell] = []  # that fly all the same
        self.clubs: list[str] = []  # of each row; "" where it cannot be read
        self.left: list[bool] = []  # of each row
        self.values = {name: np.full(len(table.records), np.nan) for name, _ in self.columns}

    def read(self) -> None:
        """Every row's cells."""
        spelt: dict[str, str] = {}
        first: dict[tuple[str, ...], int] = {}
        for k, (line, cells) in enumerate(self.table.records):
            reason = shape_of(cells, self.table) or _repeat(first.setdefault(cells, line), line)
            if reason:
                self.bad.append(BadCell(line, "", "the row", reason))
                self.clubs.append("")
                self.left.append(False)
                continue
            self._numbers(k, line, cells)
            self.clubs.append(self._club(line, cells, spelt))
            self.left.append(self._left(line, cells))
        self._thousands()
        for name, column in self.columns:
            self.values[name] *= column.factor * column.sign

    def _thousands(self) -> None:
        """Doubt spins that may have a sign between thousands; where units are accepted, only tell them."""
        if self.measured.thousands is not None:
            return
        whole = {cell.line for cell in self.bad if not cell.column}
        there = [k for k, (line, _) in enumerate(self.table.records) if line not in whole]
        for name, column in self.columns:
            cells = [self.table.records[k][1][self.places[name]] for k in there]
            plain = [written(cell, name in SIDED).number for cell in cells]
            for row, reason in thousands(name, plain, self.measured.decimal, MOST_SPIN).items():
                bad = BadCell(self.table.records[there[row]][0], column.column, _short(cells[row]), reason)
                if self.measured.accept_units:
                    self.doubted.append(bad)
                else:
                    self.bad.append(replace(bad, reason=f"{reason}; or accept_units: true under measured"))
                    self.values[name][there[row]] = np.nan

    def _numbers(self, k: int, line: int, cells: tuple[str, ...]) -> None:
        for name, column in self.columns:
            cell = cells[self.places[name]]
            number = cell_value(cell, name, column, self.measured.decimal, self.measured.thousands)
            if isinstance(number, str):
                self.bad.append(BadCell(line, column.column, _short(cell), number))
            else:
                self.values[name][k] = number

    def _club(self, line: int, cells: tuple[str, ...], spelt: dict[str, str]) -> str:
        """The row's club, spelt as in its first row."""
        if self.measured.columns.club is None:
            return ALL
        club = " ".join(cells[self.places["club"]].split())
        if not club:
            self.bad.append(BadCell(line, self.measured.columns.club.column, _short(club), "is blank: no club"))
        return spelt.setdefault(club.casefold(), club)

    def _left(self, line: int, cells: tuple[str, ...]) -> bool:
        """Whether the column of hands says that a left-hander hit it."""
        if self.measured.columns.hand is None:
            return False
        cell = cells[self.places["hand"]].strip()
        word = cell.casefold().replace("-", " ").split(" ")[0].rstrip(".")
        if word not in _HANDS:
            self.bad.append(BadCell(line, self.measured.columns.hand.column, _short(cell), "is neither R nor L"))
        return _HANDS.get(word, False)

    def check_ranges(self) -> None:
        """What no ball does."""
        for name, column in self.columns:
            values = self.values[name] * column.sign
            quantity = QUANTITIES["backspin" if getattr(column, "negative_is_topspin", False) else name]
            for k in np.flatnonzero(quantity.outside(values)):
                line, cells = self.table.records[k]
                reason = quantity.out_of_range(float(values[k]))
                if name == "spin_rate" and values[k] < 0.0:
                    reason += "; where that is topspin, negative_is_topspin: true for this column"
                self.bad.append(BadCell(line, column.column, _short(cells[self.places[name]]), reason))
        if "sidespin" in self.values:
            self._check_whole_spin()

    def _check_whole_spin(self) -> None:
        back, side, rpm = self.values["backspin"], self.values["sidespin"], unit_factor("rpm")
        bad_lines = {cell.line for cell in self.bad}
        for k, (line, _) in enumerate(self.table.records):
            whole = hypot(back[k], side[k]) / rpm
            if whole > MOST_SPIN and line not in bad_lines:
                self.bad.append(BadCell(line, "", "the row", f"spins at {whole:,.0f} rpm, back and side together"))

    def spin_along(self) -> Array:
        """Spin about the path `(rows,)`, rad/s."""
        return self.values.get("spin_along", np.zeros(len(self.table.records)))

    def numbers(self) -> Array:
        """Numbers `(5, rows)` in the order of NUMBERS: spin as back and side, so that nothing jumps where it turns."""
        values = self.values
        still = np.zeros(len(self.table.records))
        if "spin_rate" in values:
            tilt = values.get("spin_tilt", still)
            back, side = values["spin_rate"] * np.cos(tilt), values["spin_rate"] * np.sin(tilt)
        else:
            back, side = values["backspin"], values.get("sidespin", still)
        return np.stack([values["ball_speed"], values["elevation"], values["azimuth"], back, side])


def _check_units(scenario: Scenario, measured: Measured, reading: _Reading) -> list[Problem]:
    """Raises ScenarioError where a column makes sense in another unit only, or in none at all; warnings where that was
    accepted, and where a column is odd.
    """
    found = list(doubts(reading.values, reading.columns, reading.clubs))
    if measured.accept_units:
        return [
            _warning(scenario, f"measured.columns.{d.name}.unit", f"accepted as {d.column.unit}: {d.found}")
            for d in found
        ]
    problems = [
        scenario.problem(
            f"measured.columns.{doubt.name}.unit", doubt.found, "the unit that the column is in",
            f"{f'unit: {doubt.units[0]}' if doubt.units else 'look at the table'}; or, where {doubt.column.unit} is "
            "right, accept_units: true under measured",
        )
        for doubt in found if doubt.far
    ]  # fmt: skip
    if problems:
        raise ScenarioError(problems)
    return [_warning(scenario, f"measured.columns.{doubt.name}.unit", doubt.found) for doubt in found]


def _said_units(scenario: Scenario, measured: Measured, under: dict[str, str]) -> list[Problem]:
    """Raises ScenarioError where the table itself says another unit: in brackets in a name, or in a row under them."""
    problems = []
    for name, column in measured.columns.numbers():
        said = under.get(name) or header_unit(column.column)
        if said is not None and said != column.unit:
            found = f"the table says {said} for {column.column!r}, and the scenario {column.unit}"
            fix = f"unit: {said}; or, where the table is wrong, accept_units: true under measured"
            problems.append(scenario.problem(f"measured.columns.{name}.unit", found, "the unit that it is in", fix))
    if problems and not measured.accept_units:
        raise ScenarioError(problems)
    return [replace(problem, severity=Severity.WARNING) for problem in problems]


def _told_aside(file: str, aside: Sequence[BadCell]) -> list[Problem]:
    """Rows that are no shots; the first ones, and how many more."""
    problems = [
        Problem(file, cell.line, "", f"not flown: {cell.found} {cell.reason}", "", "", Severity.WARNING)
        for cell in aside[:SHOWN]
    ]
    if len(aside) > SHOWN:
        words = f"{len(aside) - SHOWN:,} more rows are no shots and are not flown. {_bad_lines(aside)}"
        problems.append(Problem(file, None, "", words, "", "", Severity.WARNING))
    return problems


def _judge_bad(
    scenario: Scenario, measured: Measured, table: Table, bad: Sequence[BadCell], good: int
) -> list[Problem]:
    """Raises BadRowsError, or tells what is left out."""
    if not bad:
        return []
    lines = len({cell.line for cell in bad})
    words = f"{lines:,} of {len(table.records):,} rows of {table.file} cannot be flown"
    if measured.bad_rows == "refuse" or not good:
        fix = "mend them in the table" + ("" if not good else ", or bad_rows: leave_out flies the others")
        summary = scenario.problem("measured.bad_rows", words, "a number that can be in every cell", fix)
        raise BadRowsError(summary, table.file, bad)
    summary = _warning(
        scenario, "measured.bad_rows",
        f"{words} and are left out. A shot that could not be measured may be one that went far astray: no rate or "
        f"bound of this run counts it. {_bad_lines(bad)}; run.json has the reason of each",
    )  # fmt: skip
    cells = [
        Problem(table.file, cell.line, cell.column, f"left out: {cell.found} {cell.reason}", "", "", Severity.WARNING)
        for cell in bad[:SHOWN]
    ]
    return [summary, *cells]


def _doubted(file: str, cells: Sequence[BadCell]) -> list[Problem]:
    """What flies though it is odd; the first ones."""
    return [
        Problem(file, cell.line, cell.column, f"flown as it is: {cell.found} {cell.reason}", "", "", Severity.WARNING)
        for cell in cells[:SHOWN]
    ]


def _warning(scenario: Scenario, key: str, words: str) -> Problem:
    return scenario.problem(key, words, severity=Severity.WARNING)


def _bad_lines(bad: Sequence[BadCell]) -> str:
    """`Bad lines: 4, 7-12`."""
    lines = sorted({cell.line for cell in bad})
    starts = [lines[0], *(b for a, b in pairwise(lines) if b > a + 1)]
    ends = [*(a for a, b in pairwise(lines) if b > a + 1), lines[-1]]
    spans = [str(a) if a == b else f"{a}-{b}" for a, b in zip(starts, ends, strict=True)]
    return f"Bad lines: {', '.join(spans[:_MOST_SPANS])}{', ...' if len(spans) > _MOST_SPANS else ''}"


def _repeat(first: int, line: int) -> str:
    """A line twice is one shot: counted twice it would narrow the bounds for nothing."""
    return (
        ""
        if first == line
        else f"is the same as line {first}; two shots that are alike need a column that numbers them"
    )


def _short(cell: str) -> str:
    if not cell.strip():
        return "the cell"
    return repr(cell) if len(cell) <= 40 else f"{cell[:36]!r}..."
