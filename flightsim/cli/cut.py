"""`flightsim cut`: the least stock for a list of lengths, and what to cut from each bar."""

from __future__ import annotations

from typing import Literal

import click

from flightsim.cli.options import json_answer, quantity


@click.command()
@click.argument("pieces", nargs=-1, required=True, metavar="PIECE...")
@click.option("--stock", "stocks", multiple=True, required=True, metavar="LENGTH[@PRICE][xCOUNT]",
              help="What can be bought: 6000mm, 6000mm@42.50, 2100mm@0x1. Repeatable.")  # fmt: skip
@quantity("--kerf", "length", "What each cut takes; default 3mm.", least=0.0, most=0.05, default=0.003)
@quantity("--trim", "length", "Cut off each bar first, its cut included; default none.",
          least=0.0, most=1.0, default=0.0)  # fmt: skip
@click.option("--units", type=click.Choice(["metric", "imperial"]), default=None,
              help="Of the text; default as the lengths are given.")  # fmt: skip
@json_answer
def cut(
    pieces: tuple[str, ...],
    stocks: tuple[str, ...],
    kerf: float,
    trim: float,
    units: Literal["metric", "imperial"] | None,
    as_json: bool,
) -> int:
    """Plan the cutting of any list of lengths: flightsim cut --stock 6000mm 3x4250mm 2x3000mm

    Least cost where every stock has a price, else least length bought; of these plans the one with the fewest
    bars, then the longest offcut. Give a price to each stock or to none; 0 for what you have already.

    Exit code 0; 2 for bad input, such as a piece longer than any stock.
    """
    from flightsim.jobs.cut_stock import cut_and_print
    from flightsim.making.cutting.read_order import units_of
    from flightsim.scenario.reading.display import Display

    return cut_and_print(pieces, stocks, kerf, trim, Display(units or units_of([*pieces, *stocks])), as_json)
