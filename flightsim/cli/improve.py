"""`flightsim improve`: changes that meet the targets."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.cli.options import json_answer, plugin_files


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--seed", type=click.IntRange(min=0), default=None, help="Seed of the random streams; default 1.")
@click.option("--set", "sets", multiple=True, metavar="KEY=VALUE", help="A change made first. Repeatable.")
@click.option("--out", type=click.Path(path_type=Path), default=None, help="Folder; default results/NAME_improve.")
@click.option("--minutes", type=click.FloatRange(0.1, 600.0), default=3.0, show_default=True, help="For all of it.")
@json_answer
@plugin_files
def improve(
    scenario: Path, seed: int | None, sets: tuple[str, ...], out: Path | None, minutes: float, as_json: bool
) -> int:
    """Find what to change so that the bay meets its targets, and write the changed bay.

    Protection may be hung elsewhere, made larger or added, and the tee moved; room and obstacles stay. `may_change` in
    the scenario says otherwise. What is found is confirmed on fresh shots, with the worst cloth and sizes off.
    Ctrl-C keeps the best so far.

    Exit code 0; 1 when a target that is asked is not met; 2 for bad input; 3 when a plugin failed.
    """
    from flightsim.jobs.improve_bay import ImproveOrder, improve_and_report

    folder = out or Path("results") / f"{scenario.stem}_improve"
    return improve_and_report(ImproveOrder(scenario, seed, sets, folder, as_json, minutes))
