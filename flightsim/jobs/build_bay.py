"""One `build` from a bay to its lists, checks and cost."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from flightsim.jobs.print_json import print_json
from flightsim.library.list_bay import cost_facts, list_bay, settings_of
from flightsim.making.as_rows import Rows, all_rows, with_tape
from flightsim.making.build_list import BuildList
from flightsim.making.costing.price_list import read_prices
from flightsim.making.frame_pieces import corners
from flightsim.making.lines import frame_lines
from flightsim.making.order_of_work import carrying, cautions, steps, tools
from flightsim.making.settings import BuildSettings
from flightsim.making.strength.check import NOT_A_CERTIFICATE, Checks, checked
from flightsim.making.strength.check_rows import anchor_rows, check_rows
from flightsim.making.structure import Structure
from flightsim.report.pages.build_page import build_page
from flightsim.report.pages.folder import built_beside, check_out
from flightsim.report.words.build_sheets import build_sheets
from flightsim.report.words.build_words import answer_words, build_tables, build_words
from flightsim.report.words.imperial import told_in
from flightsim.report.words.say import Paper, say
from flightsim.report.words.say import show as show_table
from flightsim.scenario.reading.display import Display
from flightsim.study.run.open_bay import OpenBay, open_bay
from flightsim.study.run.run_files import write_json

MET, NOT_MET = 0, 1


@dataclass(frozen=True)
class BuildOrder:
    """What the command line asks for."""

    scenario: Path
    sets: tuple[str, ...]
    prices: Path | None
    out: Path
    as_json: bool = False


def build_and_report(order: BuildOrder) -> int:
    """List, check, write the files, print the answer; 0, or 1 where a check does not pass."""
    opened = open_bay(order.scenario, order.sets)
    check_out(order.out)
    settings, show = settings_of(opened.scenario), Display(opened.scenario.units)
    made = list_bay(opened, None if order.prices is None else read_prices(order.prices))
    structures = opened.plugins.structures(opened.scenario)
    checks = checked(structures)
    tee = opened.scenario.tee.from_end_wall, opened.scenario.tee.from_left_wall
    rows = all_rows(made, show, tee)
    checked_rows = {"checks": check_rows(checks), "anchors": with_tape(anchor_rows(checks, structures, tee), show)}
    sheets = rows | {name: listed for name, listed in checked_rows.items() if listed[1]}
    with built_beside(order.out) as folder:
        facts = build_facts(opened, settings, made, checks, rows) | drawing_facts(structures, made)
        write_json(folder / "build.json", facts)
        for name, listed in sheets.items():
            write_csv(folder / f"{name}.csv", on_every_sheet(listed))
        work = work_text(opened, settings, made)
        (folder / "order_of_work.txt").write_text(work, encoding="utf-8")
        answer, tables = list(answer_words(opened.scenario.name, made, checks, show)), build_tables(made, checks, show)
        lists = [*tables, *build_sheets(made, checks, structures, tee, show)]
        (folder / "build.html").write_text(build_page(opened.scenario, answer, lists, work), encoding="utf-8")
    met = MET if checks.ok and not made.problems else NOT_MET
    if order.as_json:
        print_json(facts)
        return met
    console = Paper(highlight=False)
    for words in build_words(opened.scenario.name, made, checks, show):
        say(console, words)
    for table in build_tables(made, checks, show):
        show_table(console, table)
    files = ", ".join(["build.json", *(f"{name}.csv" for name in sheets), "order_of_work.txt", "build.html"])
    say(console, f"In {order.out}: {files}")
    say(console, NOT_A_CERTIFICATE)
    return met


def build_facts(
    opened: OpenBay, settings: BuildSettings, made: BuildList, checks: Checks, rows: dict[str, Rows]
) -> dict[str, Any]:
    """build.json: members, checks and anchors, and every list with the keys of its CSV."""
    facts: dict[str, Any] = {"scenario": opened.scenario.name, **checks.as_data(), "ok": checks.ok}
    facts["problems"], facts["notes"] = list(made.problems), list(made.notes)
    facts |= {name: [dict(zip(head, row, strict=True)) for row in listed] for name, (head, listed) in rows.items()}
    facts["order_of_work"], facts["tools"] = list(steps(made, settings)), list(tools(made))
    facts["cautions"], facts["carrying"] = list(cautions(made)), list(carrying(made, settings))
    facts["cost"] = None if made.bill is None else cost_facts(made.bill)
    return facts


def drawing_facts(structures: Sequence[Structure], made: BuildList) -> dict[str, Any]:
    """Lines, dimensions and labels of each frame as data for drawings, with the marks of the cut list; and joints."""
    marks = {bar.name: bar.mark for bar in made.bars}
    marked = [
        replace(structure, bars=tuple(replace(bar, mark=marks.get(bar.name, "")) for bar in structure.bars))
        for structure in structures
    ]
    return {
        "drawing": [{"frame": structure.name, **frame_lines(structure).as_data()} for structure in marked],
        "joints": [
            {"frame": structure.name, **corner.as_data()} for structure in structures for corner in corners(structure)
        ],
    }


def on_every_sheet(rows: Rows) -> Rows:
    """A list with a last column that says what it is not: it may lie in the workshop without the others."""
    if any(NOT_A_CERTIFICATE in row for row in rows[1]):
        return rows
    return (*rows[0], "not_a_certificate"), [(*row, NOT_A_CERTIFICATE) for row in rows[1]]


def write_csv(path: Path, rows: Rows) -> None:
    """A table as spreadsheets read it."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(rows[0])
        writer.writerows(rows[1])


def work_text(opened: OpenBay, settings: BuildSettings, made: BuildList) -> str:
    """Order of work, tools, carrying and cautions, for the wall of the workshop."""
    parts = [f"{opened.scenario.name}: order of work", ""]
    parts += [f"{k}. {step}" for k, step in enumerate(steps(made, settings), start=1)]
    parts += ["", "Joints and notes", *(f"- {note}" for note in made.notes)] if made.notes else []
    parts += ["", "Tools", *(f"- {tool}" for tool in tools(made)), "", "Carrying"]
    parts += [*(f"- {words}" for words in carrying(made, settings)), "", "Take care"]
    parts += [*(f"- {words}" for words in cautions(made)), "", NOT_A_CERTIFICATE, ""]
    show = Display(opened.scenario.units)
    return "\n".join(told_in(line, show, names_of(made)) for line in parts)


def names_of(made: BuildList) -> set[str]:
    """Names of what is bought: they hold measures, and stay as the price list has them."""
    bars, sheets = (*made.stock, *made.strips), made.sheets
    listed = {bar.material for bar in bars} | {sheet.material for sheet in sheets}
    return listed | {fitting.material for fitting in made.fittings}
