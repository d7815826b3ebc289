"""One `new` from a starter, or from answers, to a scenario file and what `check` says of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from flightsim.errors import BadInputError, PluginError
from flightsim.jobs.check_bay import check_facts
from flightsim.jobs.print_json import print_json
from flightsim.plugin.loading import installed
from flightsim.plugin.manager import load_plugins
from flightsim.plugin.offered import starters
from flightsim.report.words.asked import asked_words
from flightsim.report.words.char_sketch import sketch
from flightsim.scenario.new.new_file import STARTERS, new_file
from flightsim.scenario.new.wizard import Drawn, ask_bay
from flightsim.scenario.new.write_yaml import write_yaml
from flightsim.scenario.reading.asking import Draft
from flightsim.scenario.reading.describe import describe
from flightsim.scenario.reading.models import Section, Tee
from flightsim.scenario.reading.problems import Problem, ScenarioError, Severity
from flightsim.scenario.reading.written import Written
from flightsim.study.run.open_bay import all_sections, open_bay

_ANY_SHOT = {"launches": {"use": ["mid_iron"]}}  # where nobody has said yet what is hit
_SHOTS = ("launches", "shots", "measured")


def write_new(file: Path, starter: str | None, overwrite: bool, as_json: bool) -> None:
    """Write it, check it, tell, and say what comes next. Raises BadInputError."""
    if as_json and starter is None:
        raise BadInputError("--json: there is nobody to ask\n  allowed: with a starter\n  try: --from garage")

    def asked() -> str:
        used = _used_plugins()
        sections = all_sections(load_plugins(used))
        always: dict[str, Any] = {"plugins": used} if used else {}
        draft = ask_bay(sections, lambda draft: _shown(draft, sections, always), str(file))
        return text_of(draft, sections, always)

    bundled = starter is None or starter in STARTERS
    more = {} if bundled else {name: each.text for name, each in starters().items()}
    new_file(file, starter, overwrite, asked, more)
    if as_json:
        print_json({"file": str(file), **check_facts(open_bay(file))})
        return
    click.echo(f"Wrote {file}.")
    opened = open_bay(file)  # one that does not fit together stands there all the same, and is to be mended
    asked_for = asked_words(opened.scenario, opened.bay)
    click.echo(describe(opened.scenario, opened.bay.parts, opened.bay.openings, opened.warnings, asked_for))
    click.echo(f"\nNext:  flightsim run {file}")


def _used_plugins() -> list[str]:
    """The installed plugins whose sections ask something, and that somebody wants in this bay."""
    used: list[str] = []
    for name in installed():
        try:
            section = load_plugins([name]).section_of.get(name)
        except PluginError as error:
            click.echo(f"Left out: {error}", err=True)
            continue
        wanted = f"The plugin {name} is installed. Is there this in your bay: {section.title if section else ''}"
        if section is not None and section.ask is not None and click.confirm(wanted, default=False):
            used.append(name)
    return used


def text_of(draft: Draft, sections: Sequence[Section], more: dict[str, Any] | None = None) -> str:
    """The scenario file of a draft; more: what stands for what was not asked yet."""
    return write_yaml({**draft.data, **(more or {})}, sections, {"tee": Tee})


def _shown(draft: Draft, sections: Sequence[Section], always: Mapping[str, Any]) -> Drawn:
    """The bay as it is now, drawn, with the first findings; or why it is none yet."""
    needed = [section.key for section in sections if section.required]
    if any(key not in draft.data for key in needed):
        return Drawn()
    more = {**always, **({} if any(key in draft.data for key in _SHOTS) else _ANY_SHOT)}
    where_it_is = "tee" in draft.data
    if not where_it_is:
        more |= _middle(draft)
    try:
        opened = open_bay(Written(text_of(draft, sections, more), "your bay"))
    except ScenarioError as error:
        problems = tuple(_told(problem) for problem in error.problems)
        return Drawn("", problems, False, tuple(problem.key for problem in error.problems))
    except (BadInputError, PluginError) as error:
        return Drawn("", (f"{error}",), fits=False)
    odd = tuple(f"Look at this: {_told(problem)}" for problem in opened.warnings) if where_it_is else ()
    return Drawn(sketch(opened, where_it_is), odd)


def _middle(draft: Draft) -> dict[str, Any]:
    """A tee in the middle of a room that has its sizes, where nobody has said yet where it is."""
    sizes = {"from_end_wall": draft.facts.get("length"), "from_left_wall": draft.facts.get("width")}
    return {"tee": {key: "1 m" if size is None else f"{size.metres / 2.0:.3f} m" for key, size in sizes.items()}}


def _told(problem: Problem) -> str:
    must = problem.severity is Severity.ERROR and problem.allowed
    fix = (f" Allowed: {problem.allowed}." if must else "") + (f" Try: {problem.fix}." if problem.fix else "")
    return f"{problem.key.partition('.')[0].replace('_', ' ')}: {problem.found}.{fix}"
