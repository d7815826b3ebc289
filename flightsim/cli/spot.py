"""`flightsim spot`: where a projector, lamp or sensor can hang."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.cli.options import json_answer, plugin_files


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--box", "box", required=True, metavar="300x250x120mm", help="Along the room, across it, upward.")
@click.option(
    "--see", "see", multiple=True, metavar="screen", help="A part or thing by name, or ball, to see. Repeatable."
)
@click.option("--throw", default=None, metavar="2.4m..3.2m", help="A projector's: lens to cloth, nearest to farthest.")
@click.option("--picture", default=None, metavar="3.2x1.8m", help="Its picture, in the middle of the screen.")
@click.option("--under-roof", default="600mm", show_default=True, help="How far below the roof it may hang.")
@click.option(
    "--shots", type=click.IntRange(min=1), default=4000, show_default=True, help="Shots flown for each place."
)
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Seed of the random streams.")
@click.option("--out", type=click.Path(path_type=Path), default=None, help="Results folder; default results/NAME-spot.")
@click.option("--set", "sets", multiple=True, metavar="KEY=VALUE", help="Try a change: canopy.depth=1.4m. Repeatable.")
@json_answer
@plugin_files
def spot(
    scenario: Path,
    box: str,
    see: tuple[str, ...],
    throw: str | None,
    picture: str | None,
    under_roof: str,
    shots: int,
    seed: int,
    out: Path | None,
    sets: tuple[str, ...],
    as_json: bool,
) -> int:
    """Find the places under the roof that the fewest balls come to, rebounds included, clear of the swing.

    Never behind a screen. With --picture its light must reach the whole picture, and who shades it is told.

    Exit code 0; 1 when no place is found; 2 for bad input; 3 when a plugin failed.
    """
    from flightsim.jobs.find_spot import SpotOrder, spot_and_report

    place = out or Path("results") / f"{scenario.stem}-spot"
    return spot_and_report(SpotOrder(scenario, box, see, under_roof, shots, seed, place, sets, throw, picture, as_json))
