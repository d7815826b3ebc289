"""`flightsim check`: read a scenario and build its bay, without flying a ball."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.cli.options import plugin_files


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--set", "sets", multiple=True, metavar="KEY=VALUE", help="Try a change: canopy.depth=1.4m. Repeatable.")
@plugin_files
def check(scenario: Path, sets: tuple[str, ...]) -> None:
    """Read a scenario, build its bay, and say what is wrong with it.

    Exit code 0 when it can be flown, warnings or not; 2 when it cannot; 3 when a plugin failed.
    """
    from flightsim.scenario.reading.describe import describe
    from flightsim.study.run.open_bay import open_bay

    opened = open_bay(scenario, sets)
    click.echo(describe(opened.scenario, opened.bay.parts, opened.bay.openings, opened.warnings))
