"""One `new` from a starter, or from answers, to a scenario file and what `check` says of it."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.errors import BadInputError
from flightsim.jobs.check_bay import check_facts
from flightsim.jobs.print_json import print_json
from flightsim.scenario.new.new_file import new_file
from flightsim.scenario.reading.describe import describe
from flightsim.study.run.open_bay import open_bay


def write_new(file: Path, starter: str | None, overwrite: bool, as_json: bool) -> None:
    """Write it, check it, tell. Raises BadInputError."""
    if as_json and starter is None:
        raise BadInputError("--json: there is nobody to ask\n  allowed: with a starter\n  try: --from garage")
    new_file(file, starter, overwrite)
    opened = open_bay(file)
    if as_json:
        print_json({"file": str(file), **check_facts(opened)})
        return
    click.echo(f"Wrote {file}.")
    click.echo(describe(opened.scenario, opened.bay.parts, opened.bay.openings, opened.warnings))
