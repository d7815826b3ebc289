"""`flightsim new`: write a new scenario file."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--from", "starter", type=click.Choice(["garage", "hall", "lean_to"]), help="Start from an invented bay.")
@click.option("--overwrite", is_flag=True, help="Replace FILE if it is there.")
def new(file: Path, starter: str | None, overwrite: bool) -> None:
    """Write a commented scenario to FILE: it asks in walking order and draws the bay back, or takes a starter."""
    from flightsim.scenario.new.new_file import new_file
    from flightsim.scenario.reading.describe import describe
    from flightsim.study.run.open_bay import open_bay

    new_file(file, starter, overwrite)
    click.echo(f"Wrote {file}.")
    opened = open_bay(file)
    click.echo(describe(opened.scenario, opened.bay.parts, opened.bay.openings, opened.warnings))
