"""`flightsim measured`: a first section for a table of measured shots."""

from __future__ import annotations

from pathlib import Path

import click

from flightsim.cli.options import json_answer


@click.command()
@click.argument("table", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--set", "sets", multiple=True, metavar="KEY=VALUE",
              help="What the table does not tell: columns.azimuth.left_is_positive=true. Repeatable.")  # fmt: skip
@click.option("--out", type=click.Path(path_type=Path), default=None, help="Write the section here; never over a file.")
@click.option("--yes", is_flag=True, help="The rows were read and are right: do not ask.")
@json_answer
def measured(table: Path, sets: tuple[str, ...], out: Path | None, yes: bool, as_json: bool) -> int:
    """Draft the `measured` section for a table of measured shots (CSV), read some rows back in words, and ask.

    Columns are told by plain words in their names, units by names, cells and numbers. What cannot be told is asked.
    Exit code 0; 1 when you say that the rows are not right; 2 for bad input.
    """
    from flightsim.jobs.draft_measured import DraftOrder, draft_and_ask

    return draft_and_ask(DraftOrder(table, sets, out, yes, as_json))
