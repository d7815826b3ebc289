"""`flightsim check`: read a scenario and build its bay, without flying a ball."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.cli.options import json_answer, plugin_files


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--set", "sets", multiple=True, metavar="KEY=VALUE", help="Try a change: canopy.depth=1.4m. Repeatable.")
@json_answer
@plugin_files
def check(scenario: Path, sets: tuple[str, ...], as_json: bool) -> None:
    """Read a scenario, build its bay, and say what is wrong with it.

    Exit code 0 when it can be flown, warnings or not; 2 when it cannot; 3 when a plugin failed.
    """
    from flightsim.jobs.check_bay import check_and_print

    check_and_print(scenario, sets, as_json)
