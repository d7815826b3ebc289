"""`flightsim new`: write a new scenario file."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.cli.options import json_answer, plugin_files


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--from", "starter", metavar="NAME",
              help="Start from an invented bay: garage, hall, lean_to, or an installed plugin's.")  # fmt: skip
@click.option("--overwrite", is_flag=True, help="Replace FILE if it is there.")
@json_answer
@plugin_files
def new(file: Path, starter: str | None, overwrite: bool, as_json: bool) -> None:
    """Write a commented scenario to FILE: it asks in walking order and draws the bay back, or takes a starter."""
    from flightsim.jobs.write_new import write_new

    write_new(file, starter, overwrite, as_json)
