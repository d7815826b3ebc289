"""The sections of a run's page in their order: people, the drawing, what fails, guards, shots, lists, method."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from flightsim.plugin.hookspecs import Finding, ReportSection
from flightsim.report.pages.frame import Picture, Section
from flightsim.report.words.adverse_words import adverse_words
from flightsim.report.words.beside import behind_words, beside_words, comes_back_words
from flightsim.report.words.bounce_back_words import bounce_back_table
from flightsim.report.words.common_words import air_words, bounds_words, stands_on_words, verdict, weights_words
from flightsim.report.words.picture_words import finding, never_met_words
from flightsim.report.words.plain_table import Table
from flightsim.report.words.tables import (
    assumptions,
    faces_table,
    flags_table,
    outcome_counts_table,
    outcome_table,
    people_table,
    type_table,
    what_if_table,
    where_table,
    worst_words,
)
from flightsim.report.words.target_words import every_target
from flightsim.report.words.trouble_words import trials_words, tried_words, trouble_title, trouble_words
from flightsim.scenario.reading.problems import Problem
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import Trouble

Shown = dict[str, Picture]
OPEN_TROUBLES, OPEN_TYPES, OPEN_FAILURES = 3, 5, 4
PEOPLE = "people"  # the picture of them, and what pictures of plugins say that they are about
COUNTS = ("shots", "got past", "as built", "then")  # columns that count shots: the page tells rates, and counts folded


def run_sections(
    result: RunResult, required: Sequence[str], pictures: Mapping[str, Picture], added: Sequence[ReportSection]
) -> list[Section]:
    """All sections. required: what was required of the run, judged; added: the plugins' sections."""
    left = dict(pictures)
    sections = (
        _people(result, left), _drawing(left), _wrong(result, required, left), _failing(result),
        _bounce_back(result, left), _guards(result, left), _types(result, left), _notes(result), _lists(added),
        _others(left), _method(result),
    )  # fmt: skip
    return [section for section in sections if section is not None]


def _take(left: Shown, *names: str) -> list[Picture]:
    return [left.pop(name) for name in names if name in left]


def _people(result: RunResult, left: Shown) -> Section:
    whole = people_table(result)
    counted = replace(people_table(result, by_part=False), note="")
    short = counted.without(*COUNTS)
    beside = [comes_back_words(result, counts=False)]
    fold = Section(
        "By what they come from, behind the tee, and how to read it", [behind_words(result)], [counted, whole]
    )
    of_plugins = [name for name, shown in left.items() if shown.about == PEOPLE]
    return Section("People", _said(beside), [short], _take(left, PEOPLE, *of_plugins), [fold])


def _wrong(result: RunResult, required: Sequence[str], left: Shown) -> Section:
    worst, more = result.troubles[:OPEN_TROUBLES], result.troubles[OPEN_TROUBLES:]
    words = [*required, worst_words(result), *(_short(trouble, result, counts=False) for trouble in worst)]
    folds = [Section("Each in full, with all that was tried", [*_said([trials_words(result)]), *_all(result)])]
    if more:
        words.append(f"{len(more)} more are told in full below.")
    pictures = _take(left, "paths", "escapes")
    targets = every_target(result)
    target_folds = [Section("Every target", (), [targets])] if targets.rows else []
    shut = folds if result.troubles else []
    return Section("What goes wrong, worst first", _said(words), (), pictures, [*target_folds, *shut])


def _short(trouble: Trouble, result: RunResult, counts: bool = True) -> str:
    return f"{trouble_title(trouble)}. {trouble_words(trouble, result, counts)}"


def _all(result: RunResult) -> Iterator[str]:
    for number, trouble in enumerate(result.troubles, start=1):
        shots = ", ".join(str(shot) for shot in trouble.examples)
        yield f"{number}. {_short(trouble, result)}"
        yield from tried_words(trouble)
        if shots:
            yield f"Fastest first, in shots.csv: {shots}."


def _drawing(left: Shown) -> Section | None:
    pictures = _take(left, "bay")
    return Section("Plan and elevation with sizes", (), (), pictures) if pictures else None


def _failing(result: RunResult) -> Section | None:
    if not result.what_if:
        return None
    whole = what_if_table(result)
    short = replace(what_if_table(result, OPEN_FAILURES).without(*COUNTS), note="")
    fold = Section("All of them, counted", (), [whole])
    return Section(
        "If one fails", (), [short], (), [Section("With adverse cloth", _said([adverse_words(result)])), fold]
    )


def _bounce_back(result: RunResult, left: Shown) -> Section | None:
    if not result.bounce_back:
        return None
    table, pictures = bounce_back_table(result), _take(left, "bounce_back")
    if not pictures:
        return Section("Bounce-back", (), [table])
    words = finding("bounce_back", "Bounce-back", result).partition(": ")[2]
    fold = Section("By club, how far from the screen", (), [table])
    return Section("Bounce-back", [f"{words[:1].upper()}{words[1:]}"], (), pictures, [fold])


def _guards(result: RunResult, left: Shown) -> Section | None:
    names = [name for name in left if name.startswith("hits_")]
    pictures = _take(left, *names)
    wear = _take(left, "wear")
    fold = Section("Where each protection is met first", (), (), pictures)
    folds = [*([fold] if pictures else []), *([Section("Wear", (), (), wear)] if wear else [])]
    words = [never_met_words(result)] if pictures else []
    return Section("Protection, one by one", _said(words), (), (), folds) if folds else None


def _types(result: RunResult, left: Shown) -> Section:
    whole = type_table(result)
    folds = [
        Section("All shot types, counted", (), [whole, outcome_counts_table(result)]),
        *([Section("Launch directions", (), (), pictures)] if (pictures := _take(left, "launch_map")) else []),
    ]
    return Section("Shot types", (), [whole.without(*COUNTS).first(OPEN_TYPES)], (), folds)


def _notes(result: RunResult) -> Section | None:
    folds = [Section(_heading(note), [note.text]) for note in result.findings]
    folds += [Section(f"Warning: {problem.key or 'the scenario'}", [_at(problem)]) for problem in result.warnings]
    return Section("To know before you build", (), (), (), folds) if folds else None


def _at(problem: Problem) -> str:
    """A warning with the file's name and no path, which is nobody's business who reads the page."""
    return str(replace(problem, file=Path(problem.file).name))


def _heading(finding: Finding) -> str:
    return f"{'Warning' if finding.level == 'warning' else 'Note'}: {finding.title}"


def _lists(added: Sequence[ReportSection]) -> Section | None:
    folds = [
        Section(section.title, section.paragraphs, [Table("", tuple(section.table_head), _cells(section), frozenset())])
        for section in added
    ]
    return Section("Build lists, and what plugins add", (), (), (), folds) if folds else None


def _cells(section: ReportSection) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(str(cell) for cell in row) for row in section.table_rows)


def _others(left: Shown) -> Section | None:
    resting, rest = _take(left, "resting"), list(left.values())
    folds = [Section(picture.title, (), (), [picture]) for picture in (*resting, *rest)]
    return Section("More pictures", (), (), (), folds) if folds else None


def _method(result: RunResult) -> Section:
    numbers = [bounds_words(result), weights_words(result), air_words(result)]
    folds = [
        Section("The whole answer in words", _said([verdict(result), beside_words(result), adverse_words(result)])),
        Section("All counts", (), [outcome_table(result), flags_table(result), where_table(result)]),
        Section("How rates and bounds are made", _said(numbers)),
        Section("What this stands on", [stands_on_words(result)], [_assumed(result)]),
        Section("Faces and their sources", (), [faces_table(result)]),
    ]
    return Section("Method, limits, faces, sources", (), (), (), folds)


def _assumed(result: RunResult) -> Table:
    return Table("", ("what", "words"), tuple((label, words) for label, words in assumptions(result)), frozenset())


def _said(words: Sequence[str]) -> list[str]:
    return [text for text in words if text]
