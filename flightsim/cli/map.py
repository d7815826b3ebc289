"""`flightsim map`: what happens in every launch direction, whatever a player does."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.cli.options import Number, json_answer, plugin_files, refusal


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--club", "clubs", multiple=True, metavar="NAME", help="Only this club of the scenario. Repeatable.")
@click.option("--speed", "speeds", multiple=True, metavar="FACTOR",
              help="Map at this part of the normal ball speed, 0.1 to 1.5: 0.7; default 1. Repeatable.")  # fmt: skip
@click.option("--set", "sets", multiple=True, metavar="KEY=VALUE", help="Try a change: canopy.depth=1.4m. Repeatable.")
@click.option("--out", type=click.Path(path_type=Path), default=None, help="Results folder; default results/NAME_map.")
@json_answer
@plugin_files
def map(  # noqa: A001 - the command's name
    scenario: Path,
    clubs: tuple[str, ...],
    speeds: tuple[str, ...],
    sets: tuple[str, ...],
    out: Path | None,
    as_json: bool,
) -> None:
    """Map a scenario's launch directions: for each club, what stops the ball first in every direction there is.

    It needs no population: no player's misses, no rates. It says how large the holes are as seen from the ball, the
    smallest turn of a normal shot that gets a ball past the protection, by each way, and what a string from the ball to
    each edge reads on a level.
    """
    from flightsim.jobs.map_directions import map_and_report
    from flightsim.study.map.bay_map import MapOrder

    param = next(p for p in click.get_current_context().command.params if p.name == "speeds")
    factors = tuple(dict.fromkeys(Number(0.1, 1.5).convert(speed, param, None) for speed in speeds)) or (1.0,)
    if any(not club.strip() for club in clubs):
        raise refusal(None, "a club without a name", "a club of the scenario", "--club driver")
    place = out or Path("results") / f"{scenario.stem}_map"
    map_and_report(scenario, sets, MapOrder(clubs, factors), place, as_json)
