"""A first `measured` section from a table itself: what its names, units and numbers tell, and what they do not."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import Any

from flightsim.errors import BadInputError
from flightsim.scenario.reading.quantities import KINDS
from flightsim.shots.column_words import Meaning, counts_left, meaning_of
from flightsim.shots.measured_aside import unit_row
from flightsim.shots.measured_cells import SIDED, cell_value, unit_meant, written
from flightsim.shots.measured_limits import QUANTITIES
from flightsim.shots.measured_section import NumberColumn, unit_factor
from flightsim.shots.measured_table import Record
from flightsim.shots.measured_text import TextError, declared_delimiter, text_of

SIGNS = (",", ";", "\t", "|")
TITLES = 40  # lines in which the columns' names are looked for
LOOKED_AT = 2000  # rows
_NEEDED = (
    ("ball_speed", "ball speed"),
    ("elevation", "launch angle up"),
    ("azimuth", "launch direction, left or right"),
)
_GROUPED = re.compile(r"[+-]?[1-9][0-9]{0,2}([.,' ])[0-9]{3}(?:\1[0-9]{3})*(?:[.,][0-9]+)?")
_SPIN_KEYS = ("spin_rate", "backspin", "sidespin")


@dataclass(frozen=True)
class Question:
    """What the table does not tell: the key of the section, in words, and what may be answered."""

    key: str
    words: str
    choices: tuple[str, ...]


@dataclass
class Draft:
    """A section as plain data; why each key is as it is; and what has to be asked."""

    section: dict[str, Any]
    why: dict[str, str] = field(default_factory=dict)
    questions: list[Question] = field(default_factory=list)


def draft_section(raw: bytes, file: str) -> Draft:
    """The section for a table's bytes. file: as it is to be named. Raises BadInputError where it names no launch."""
    draft = Draft({"file": file})
    text = _decoded(raw, file, draft)
    records = _parted(text, draft)
    names_row, meanings = _names(records, file)
    line, header = records[names_row]
    if names_row > 0:
        draft.section["header_line"] = line
        draft.why["header_line"] = f"the names stand in line {line}"
    rows = records[names_row + 1 : names_row + 1 + LOOKED_AT]
    if not rows:
        raise BadInputError(f"{file}, line {line}: there is no row below the columns' names")
    _columns(header, meanings, rows, draft)
    return draft


def _decoded(raw: bytes, file: str, draft: Draft) -> str:
    try:
        return text_of(raw)
    except TextError as error:
        try:
            text = text_of(raw, "windows-1252")
        except TextError:
            raise BadInputError(f"{file}, line {error.line}: {error.found}\n  try: save it as UTF-8") from error
    draft.section["encoding"] = "windows-1252"
    draft.why["encoding"] = "it is not UTF-8: look whether letters with accents come out right"
    return text


def _parted(text: str, draft: Draft) -> list[Record]:
    """The records, parted by the sign that makes the most rows of one width."""
    declared = declared_delimiter(text)
    tried = {sign: _records(text, sign) for sign in ((declared,) if declared else SIGNS)}

    def fit(sign: str) -> tuple[int, int]:
        widths = Counter(len(cells) for _, cells in tried[sign])
        width, count = max(widths.items(), key=lambda item: (item[0] > 2, item[1], item[0]), default=(0, 0))
        return (count if width > 2 else 0), width

    if text.strip() and not any(tried.values()):
        fix = 'close every quote; cells in quotes: "a", and "" for a quote inside'
        raise BadInputError(f"{draft.section['file']}: it cannot be parted into cells\n  try: {fix}")
    best = max(tried, key=fit)
    if best != "," and not declared:
        draft.section["delimiter"] = best
    return tried[best][1:] if declared else tried[best]


def _records(text: str, sign: str) -> list[Record]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign, skipinitialspace=True, strict=True)
    records: list[Record] = []
    line = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return records
        except csv.Error:
            return []
        if cells:
            records.append((line, tuple(cells)))
        line = reader.line_num + 1


def _names(records: Sequence[Record], file: str) -> tuple[int, dict[int, Meaning]]:
    """The record of the columns' names, and what each of them means by its place."""
    best: tuple[int, dict[int, Meaning]] = (0, {})
    for k, (_, cells) in enumerate(records[:TITLES]):
        found = {place: meaning for place, cell in enumerate(cells) if (meaning := meaning_of(cell))}
        if len({meaning.name for meaning in found.values()}) > len({meaning.name for meaning in best[1].values()}):
            best = k, found
    there = {meaning.name for meaning in best[1].values()}
    missing = [words for name, words in _NEEDED if name not in there]
    if not there & {"spin_rate", "backspin"}:
        missing.append("spin")
    if missing:
        seen = ", ".join(repr(cell.strip()) for cell in records[best[0]][1][:30]) if records else "nothing"
        raise BadInputError(
            f"{file}: no line names columns of {', '.join(missing)}; the likeliest names found: {seen}\n"
            "  try: write the `measured` section by hand (docs/how-to.md), or rename the columns in plain words"
        )
    return best


def _columns(header: Sequence[str], meanings: dict[int, Meaning], rows: Sequence[Record], draft: Draft) -> None:
    places = _one_each(header, meanings, draft)
    for name, words in _NEEDED:
        if name not in places:
            twice = next(header[place].strip() for place, meaning in meanings.items() if meaning.name == name)
            raise BadInputError(
                f"{draft.section['file']}: {words}: the name {twice!r} stands twice, and nothing tells which is meant\n"
                "  try: rename one of the columns"
            )
    numbers = {name: place for name, place in places.items() if name in QUANTITIES}
    units = unit_row(rows, numbers)
    cells = {
        name: [row[place] for _, row in rows[bool(units) :] if place < len(row) and row[place].strip()]
        for name, place in numbers.items()
    }
    _signs(cells, draft)
    columns = draft.section["columns"] = {}
    for name, place in places.items():
        entry = columns[name] = {"column": header[place].strip()}
        if name in numbers:
            units_said = {"its name": meanings[place].unit, "the row under the names": units.get(name)}
            _unit(name, entry, units_said, cells[name], draft)
            _side(name, entry, cells[name], draft)


def _one_each(header: Sequence[str], meanings: dict[int, Meaning], draft: Draft) -> dict[str, int]:
    """The place of the column for each of our names, in our order; the closest words win, then the first."""
    places: dict[str, int] = {}
    for name in (*QUANTITIES, "club", "hand"):
        able = [
            place for place, meaning in meanings.items() if meaning.name == name and header.count(header[place]) == 1
        ]
        if able:
            places[name] = max(able, key=lambda place: (meanings[place].words, -place))
            others = [header[place].strip() for place in able if place != places[name]]
            if others:
                draft.why[f"columns.{name}"] = f"not {', '.join(map(repr, others))}"
    whole, parts = {"spin_rate", "spin_tilt"}, {"backspin", "sidespin"}
    drop = parts if "spin_rate" in places and (whole <= set(places) or not parts <= set(places)) else whole
    for name in drop & set(places):
        draft.why["spin"] = "the table has spin twice: as one with an axis, and as back and side"
        del places[name]
    return places


def _signs(cells: dict[str, list[str]], draft: Draft) -> None:
    """What stands before decimals and between thousands."""
    plain = [written(cell, name in SIDED).number for name in cells for cell in cells[name]]
    comma = sum(bool(re.fullmatch(r"[+-]?[0-9]+,(?:[0-9]{1,2}|[0-9]{4,})", cell)) for cell in plain)
    point = sum(bool(re.fullmatch(r"[+-]?[0-9]+\.(?:[0-9]{1,2}|[0-9]{4,})", cell)) for cell in plain)
    if comma > point:
        draft.section["decimal"] = ","
        draft.why["decimal"] = "decimals are written with a comma"
    spins = [written(cell, name in SIDED).number for name in _SPIN_KEYS for cell in cells.get(name, ())]
    marks = Counter(found[1] for cell in spins if (found := _GROUPED.fullmatch(cell)))
    decimal = draft.section.get("decimal", ".")
    mark = next((mark for mark, _ in marks.most_common() if mark != decimal), None)
    if mark:
        draft.section["thousands"] = mark
        draft.why["thousands"] = f"spins are written as {next(c for c in spins if _GROUPED.fullmatch(c))}"


def _unit(
    name: str, entry: dict[str, Any], units_said: dict[str, str | None], cells: Sequence[str], draft: Draft
) -> None:
    """The column's unit: as the table says it, else as its numbers can only be, else asked."""
    key, able = f"columns.{name}.unit", KINDS[QUANTITIES[name].kind].units
    beside = {unit_meant(unit) for cell in cells if (unit := written(cell, name in SIDED).unit)} - {None}
    units_said["its cells"] = next(iter(beside)) if len(beside) == 1 else None
    for where, said_unit in units_said.items():
        if said_unit in able:
            entry["unit"], draft.why[key] = said_unit, f"says {where}"
            return
    likely = _likely_units(name, cells, draft)
    if len(likely) == 1:
        entry["unit"], draft.why[key] = likely[0], "by its numbers: in another unit they make no sense"
        return
    entry["unit"] = (likely or able)[0]
    words = f"In which unit is the column {entry['column']!r} ({', '.join(cells[:3])}, ...)?"
    draft.questions.append(Question(key, words, tuple(likely or able)))


def _likely_units(name: str, cells: Sequence[str], draft: Draft) -> list[str]:
    """Units in which the middle of the column's numbers is a likely one."""
    quantity, section = QUANTITIES[name], draft.section
    likely = []
    for unit in KINDS[quantity.kind].units:
        column = NumberColumn(column=name, unit=unit)
        read = [cell_value(cell, name, column, section.get("decimal", "."), section.get("thousands")) for cell in cells]
        sizes = [abs(value) * unit_factor(unit) / quantity.si for value in read if isinstance(value, float)]
        low, high = quantity.likely[""]
        if sizes and low <= median(sizes) <= high:
            likely.append(unit)
    return likely


def _side(name: str, entry: dict[str, Any], cells: Sequence[str], draft: Draft) -> None:
    """Which side is positive, where letters or the name do not say it."""
    if name not in SIDED or any(written(cell, True).side for cell in cells):
        return
    left = counts_left(entry["column"])
    if left is not None:
        draft.why[f"columns.{name}.left_is_positive"] = "says its name"
        if left:
            entry["left_is_positive"] = True
        return
    positive = {"azimuth": "a ball that starts to the LEFT", "spin_tilt": "spin that curves the ball to the LEFT",
                "sidespin": "spin that curves the ball to the LEFT"}[name]  # fmt: skip
    words = f"Does the column {entry['column']!r} count {positive} as positive?"
    draft.questions.append(Question(f"columns.{name}.left_is_positive", words, ("false", "true")))
