"""One `measured` from a table to a section: drafted, read back in words, and asked."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import click
import yaml

from flightsim.errors import BadInputError
from flightsim.jobs.print_json import print_json
from flightsim.report.words.measured_words import back_in_words
from flightsim.report.words.say import Paper, say
from flightsim.scenario.reading.load import load_scenario
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.text import cut
from flightsim.shots.measured_draft import Draft, Question, draft_section
from flightsim.shots.measured_rows import MeasuredRows, read_rows
from flightsim.shots.measured_section import MEASURED_SECTION
from flightsim.shots.measured_table import MOST_BYTES

AGREED, NOT_AGREED = 0, 1


@dataclass(frozen=True)
class DraftOrder:
    """What the command line asks for. sets: `columns.azimuth.left_is_positive=true`; out: where the section goes."""

    table: Path
    sets: tuple[str, ...]
    out: Path | None
    yes: bool
    as_json: bool = False

    @property
    def asked(self) -> bool:
        """Whether somebody is there to answer: on a terminal, where the answer is for people."""
        return sys.stdin.isatty() and not self.as_json


def draft_and_ask(order: DraftOrder) -> int:
    """Draft, read back, ask, write; 0, or 1 when the answer is that it is not so."""
    _check_out(order)
    draft = draft_section(_bytes(order.table), order.table.name)
    answers = [*order.sets, *_answers(draft, order)]
    section, rows = _read_back(order.table, draft, answers)
    if order.out is not None:
        section["file"] = os.path.relpath(order.table, order.out.parent)
    text = section_text(section)
    if order.as_json:
        return _as_json(order, draft, section, rows)
    console = Paper(highlight=False)
    for words in _told(draft, rows):
        say(console, words)
    console.print()
    console.print(text, markup=False, soft_wrap=True)
    if not (order.yes or _agreed(order)):
        say(
            console, f"Nothing was written. Change it with --set, as --set {_example(draft)}, until the rows are right."
        )
        return NOT_AGREED
    _write(order, text)
    where = "Put this section into your scenario in place of `launches`, the table beside it."
    if order.out is not None:
        where = f"Wrote {order.out}. Put it into your scenario in place of `launches`."
    say(console, where)
    return AGREED


def _as_json(order: DraftOrder, draft: Draft, section: dict[str, Any], rows: MeasuredRows) -> int:
    _write(order, section_text(section))
    print_json({
        "schema_version": 1,
        "section": {"measured": section},
        "why": dict(draft.why),
        "shots": len(rows),
        "clubs": list(rows.clubs),
        "rows_in_words": list(back_in_words(rows)),
        "warnings": [str(problem) for problem in rows.warnings],
        "written": None if order.out is None else str(order.out),
    })  # fmt: skip
    return AGREED


def _check_out(order: DraftOrder) -> None:
    if order.out is not None and os.path.lexists(order.out):
        raise BadInputError(f"--out {order.out}: there is such a file already\n  try: another name")
    if order.out is not None and not (order.yes or order.asked):
        raise BadInputError(
            "--out: nobody is there to ask whether the rows are right\n  try: read them, then add --yes"
        )


def _bytes(path: Path) -> bytes:
    if not os.path.isfile(path):  # Path.is_file() raises where a name is too long
        found = "this is no file" if os.path.exists(path) else "there is no such file"
        raise BadInputError(f"{cut(str(path), 120)}: {found}\n  allowed: a table of measured shots, one a line (CSV)")
    try:
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise BadInputError(f"{path}: it cannot be read: {error.strerror or error}") from error
    if len(raw) > MOST_BYTES:
        raise BadInputError(f"{path}: the table is too large\n  allowed: up to {MOST_BYTES:,} bytes")
    return raw


def _answers(draft: Draft, order: DraftOrder) -> list[str]:
    """What the table does not tell, asked on a terminal. Raises BadInputError with all of it elsewhere."""
    answered = {text.partition("=")[0].strip() for text in order.sets}
    todo = [question for question in draft.questions if question.key not in answered]
    if todo and not order.asked:
        lines = [f"{q.words}\n  try: --set {q.key}={' or '.join(q.choices)}" for q in todo]
        raise BadInputError("the table does not tell:\n" + "\n".join(lines))
    return [f"{question.key}={_asked(question)}" for question in todo]


def _asked(question: Question) -> str:
    if set(question.choices) == {"true", "false"}:
        return "true" if click.confirm(question.words) else "false"
    return str(click.prompt(question.words, type=click.Choice(question.choices)))


def _read_back(table: Path, draft: Draft, answers: Sequence[str]) -> tuple[dict[str, Any], MeasuredRows]:
    """The section with the answers in it, and the rows as a run would fly them. Raises BadInputError."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "draft.yaml"
        data = {"name": "draft", "tee": {"from_end_wall": "3 m", "from_left_wall": "1.5 m"},
                "measured": {**draft.section, "file": str(table.resolve())}}  # fmt: skip
        path.write_text(json.dumps(data, indent=1), encoding="utf-8")
        try:
            scenario = load_scenario(path, (MEASURED_SECTION,), [f"measured.{answer}" for answer in answers])
            (measured,) = scenario.entries("measured")
            rows = read_rows(scenario, measured)
        except ScenarioError as error:
            words = str(error).replace(str(path), "the draft").replace("--set measured.", "--set ")
            raise BadInputError(words) from error
    section = measured.model_dump(mode="json", exclude_unset=True)
    return {**section, "file": draft.section["file"]}, rows


def section_text(section: dict[str, Any]) -> str:
    """The section as it stands in a scenario file."""
    lines = ["measured:"]
    for key, value in section.items():
        if key != "columns":
            lines.append(f"  {key}: {_flow(value)}")
    lines.append("  columns:")
    lines += [f"    {name}: {_flow(column)}" for name, column in section["columns"].items() if column is not None]
    return "\n".join(lines)


def _flow(value: Any) -> str:
    """A value in one line of YAML."""
    text = yaml.safe_dump(value, default_flow_style=True, width=10**6, sort_keys=False, allow_unicode=True)
    return str(text).removesuffix("\n").removesuffix("\n...")


def _told(draft: Draft, rows: MeasuredRows) -> list[str]:
    """What was found and why, and some rows in words."""
    why = [f"{key}: {reason}." for key, reason in draft.why.items()]
    warnings = [f"Warning: {problem}" for problem in rows.warnings]
    shots = f"{len(rows):,} shots of {', '.join(rows.clubs[:8])}{' and others' if len(rows.clubs) > 8 else ''}."
    return ["\n".join(why), *warnings, f"{shots} Some of them, as they would be flown:", *back_in_words(rows)]


def _agreed(order: DraftOrder) -> bool:
    if not order.asked:
        return True  # it is only printed
    return click.confirm("\nWere these shots hit so? Think of units, of left and right")


def _example(draft: Draft) -> str:
    return (
        f"{draft.questions[0].key}={draft.questions[0].choices[-1]}"
        if draft.questions
        else "columns.spin_rate.unit=rpm"
    )


def _write(order: DraftOrder, text: str) -> None:
    if order.out is None:
        return
    try:
        with order.out.open("x", encoding="utf-8") as file:
            file.write(text + "\n")
    except OSError as error:
        raise BadInputError(
            f"--out {cut(str(order.out), 120)}: it cannot be written: {error.strerror or error}\n  try: another name"
        ) from error
