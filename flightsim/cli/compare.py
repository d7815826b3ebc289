"""`flightsim compare`: bays on the same shots."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.cli.options import json_answer, plugin_files


@click.command()
@click.argument("scenarios", nargs=-1, required=True, metavar="FIRST [SECOND...]", type=click.Path(path_type=Path))
@click.option("--set", "sets", multiple=True, metavar="KEY=VALUE",
              help="With one scenario: another bay is it with this change. Repeatable: all in one bay.")  # fmt: skip
@click.option("--variant", "variants", multiple=True, metavar="'NAME: KEY=VALUE; KEY=VALUE'",
              help="One more bay: the first with these changes. Repeatable.")  # fmt: skip
@click.option("--shots", type=click.IntRange(min=1), default=None, help="Shots in all; default 20000.")
@click.option("--seed", type=click.IntRange(min=0), default=None, help="Seed of the random streams; default 1.")
@click.option("--workers", type=click.IntRange(1, 256), default=1, show_default=True, help="Threads that fly.")
@click.option("--out", type=click.Path(path_type=Path), default=None, help="Folder; default results/NAME_compared.")
@json_answer
@plugin_files
def compare(
    scenarios: tuple[Path, ...], sets: tuple[str, ...], variants: tuple[str, ...], shots: int | None,
    seed: int | None, workers: int, out: Path | None, as_json: bool,
) -> int:  # fmt: skip
    """Fly the same shots in several bays, files or changes of the first, and say in which fewer get past.

    Of two bays every ball that changed its outcome is told; of more there is a table, a row each. The bays must be
    played by the same players with the same clubs; the tee may be elsewhere. Exit code 0; 2 for bad input; 3 when a
    plugin failed.
    """
    from flightsim.jobs.compare_bays import CompareOrder, compare_and_report

    folder = out or Path("results") / f"{scenarios[0].stem}_compared"
    return compare_and_report(CompareOrder(scenarios, variants, sets, shots, seed, workers, folder, as_json))
