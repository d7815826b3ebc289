"""`flightsim build`: what it takes to build a bay."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.cli.options import json_answer


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option(
    "--prices", type=click.Path(path_type=Path), default=None, help="Price list (YAML), instead of the bay's."
)
@click.option("--set", "sets", multiple=True, metavar="KEY=VALUE", help="Try a change: canopy.depth=1.4m. Repeatable.")
@click.option("--out", type=click.Path(path_type=Path), default=None, help="Folder; default results/NAME_build.")
@json_answer
def build(scenario: Path, prices: Path | None, sets: tuple[str, ...], out: Path | None, as_json: bool) -> int:
    """What to order, cut and check to build a bay: cut list, stock plan, screen order, boards, nets, floor, cost.

    The bay's file is the input: change the canopy there and every list follows. Each list is a CSV file beside
    build.json. What was measured once the frame stands goes into `build.measured`.

    Exit code 0; 1 when a check does not pass, or something measured does not fit; 2 for bad input; 3 when a plugin
    failed. Not a structural certificate.
    """
    from flightsim.jobs.build_bay import BuildOrder, build_and_report

    place = out or Path("results") / f"{scenario.stem}_build"
    return build_and_report(BuildOrder(scenario, sets, prices, place, as_json))
