"""`flightsim size`: the least size that meets a target."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.cli.options import json_answer, number, plugin_files, quantity


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--vary", multiple=True, required=True, metavar="PATH=LOW..HIGH",
              help="What may change: canopy.depth=0.4m..2.5m. Repeatable; the last is searched finely.")  # fmt: skip
@click.option("--target", required=True, metavar="'escape < 1 in 2000'",
              help="What must hold for each player and tee spot, judged by the bound.")  # fmt: skip
@number("--confidence", 0.5, 0.9999, "Of the bound; default 0.95.", default=0.95)
@click.option("--keep", multiple=True, metavar="'swing_room > 0.15 m'", help="What must hold whatever the size.")
@click.option("--step", metavar="LENGTH", default=None, help="What can be bought or cut; default 50 mm, or 2 in.")
@quantity("--tolerance", "length", "What a build may be off in every size; default 20 mm.", least=0.0, most=0.2)
@click.option("--shots", type=click.IntRange(min=1), default=None,
              help="Search and confirmation together; default as many as the target takes.")  # fmt: skip
@click.option("--seed", type=click.IntRange(min=0), default=None, help="Seed of the random streams; default 1.")
@click.option("--price", "prices", multiple=True, metavar="PATH=NUMBER", help="For each metre: canopy.depth=40.")
@click.option(
    "--set", "sets", multiple=True, metavar="KEY=VALUE", help="A change beside: canopy.height=2.4m. Repeatable."
)
@click.option("--out", type=click.Path(path_type=Path), default=None, help="Folder; default results/NAME_size.")
@json_answer
@plugin_files
def size(
    scenario: Path,
    vary: tuple[str, ...],
    target: str,
    confidence: float,
    keep: tuple[str, ...],
    step: str | None,
    tolerance: float | None,
    shots: int | None,
    seed: int | None,
    prices: tuple[str, ...],
    sets: tuple[str, ...],
    out: Path | None,
    as_json: bool,
) -> int:
    """The least size that meets a target: how deep must this canopy be, how far back the side nets.

    Searched on one sample of shots and confirmed on fresh ones, four times as many, with every ball followed through
    all that it bounces off. Built off by the tolerance in every size, to the worse side. Any length, angle or number
    of any section can be varied.

    Exit code 0; 1 when no size in the range will do; 2 for bad input; 3 when a plugin failed.
    """
    from flightsim.jobs.find_size import SizeOrder, size_and_report

    folder = out or Path("results") / f"{scenario.stem}_size"
    return size_and_report(
        SizeOrder(
            scenario, vary, target, confidence, keep, step, tolerance, shots, seed, prices, sets, folder, as_json
        )
    )  # fmt: skip
