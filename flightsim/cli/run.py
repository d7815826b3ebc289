"""`flightsim run`: the main job."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.cli.options import json_answer, plugin_files


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option(
    "--shots",
    type=click.IntRange(min=1),
    default=None,
    help="Shots in all; default 20000, and up to 200000 to show a target.",
)
@click.option("--seed", type=click.IntRange(min=0), default=None, help="Seed of the random streams; default 1.")
@click.option("--out", type=click.Path(path_type=Path), default=None, help="Results folder; default results/NAME.")
@click.option("--workers", type=click.IntRange(1, 256), default=1, show_default=True, help="Threads that fly.")
@click.option("--require", "require", multiple=True, metavar="'escape < 1 in 1000'",
              help="Exit 1 unless this bound holds, or `targets` all do; `... at worst`: adverse cloth.")  # fmt: skip
@click.option("--set", "sets", multiple=True, metavar="KEY=VALUE", help="Try a change: canopy.depth=1.4m. Repeatable.")
@click.option("--yes", is_flag=True, help="Fly more than 5,000,000 shots without asking.")
@click.option("--quick", is_flag=True, help="Without adverse cloth, what if a guard fails, and what would help.")
@click.option("--full", is_flag=True, help="Print the whole answer below the verdict; the page has it anyhow.")
@click.option("--csv", "as_csv", is_flag=True, help="Write shots.csv of more than 1,000,000 shots too.")
@json_answer
@plugin_files
def run(
    scenario: Path,
    shots: int | None,
    seed: int | None,
    out: Path | None,
    workers: int,
    require: tuple[str, ...],
    sets: tuple[str, ...],
    yes: bool,
    quick: bool,
    full: bool,
    as_csv: bool,
    as_json: bool,
) -> int:
    """Fly a scenario's shots, follow each ball to its end, and say what got past the protection.

    Exit code 0; 1 when a --require is not met; 2 for bad input; 3 when a plugin failed.
    """
    from flightsim.jobs.run_shots import Order, run_and_report

    place = out or Path("results") / scenario.stem
    order = Order(scenario, shots, seed, place, workers, require, sets, yes, quick, as_json, full, as_csv)
    return run_and_report(order)
