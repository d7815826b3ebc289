"""The dialogue of docs/new.md: what somebody types who types what comes to mind, and what comes back."""

from __future__ import annotations

import os
import re
from pathlib import Path

from click.testing import CliRunner

from flightsim.cli import cli

# One line an answer, in the order of the questions; slips are left in.
TYPED = """
meters|Hay shed
6.3|m|3,5 m|3.5 m|?|gabel|gable|along|2.4 m|2.2 m|3.3 m|wall
yes|right|side door|4.6|4.6 m|850|mm|2.8 m|2 m|0|n|n
3.9 m|17.5 m|back|3.8 m|1.75 m|40|mm
y|lamp|2.4 m|1.6 m|2.6 m|1.2 m|150 mm|80 mm|y|n
3.2 m|60|cm|back|400 mm|20 mm|2.6 m|2.35 m
1.2 m|2.45 m
y|standing|legs|y|y|35|2.2 m|37|2.25 m
1.5 m|2.2 m|2 m|2.2 m|n
both|6 ft 2|in|1.5 m
yes|child|Mia|5.6 m|2.2 m|none|1.2 m|y|sofa|couch|5.3 m|450 mm|along|1.8 m|none|n|y
good|mid, kids|driver, wedge|Driver, 7 iron and pw
n|28|200 mm|y
"""
DRAWN = re.compile(r"Plan: .*?One character across is [^\n]*\n", re.DOTALL)
LEFT_OUT = "(the bay as it is now, drawn)\n"
LISTED = re.compile(r"  1\. Units.*?\nWhich answer", re.DOTALL)
AGAIN = "(the answers again)\nWhich answer"


def typed() -> list[str]:
    """Every answer, in order."""
    return [answer for line in TYPED.split("\n") if line for answer in line.split("|")]


def talk(folder: Path) -> str:
    """The whole dialogue as it stands on the terminal, without drawings but the last, and without the second list."""
    before = Path.cwd()
    os.chdir(folder)
    try:
        done = CliRunner().invoke(cli, ["new", "hay_shed.yaml"], input="\n".join(typed()) + "\n")
    finally:
        os.chdir(before)
    assert done.exception is None, done.output
    drawings = list(DRAWN.finditer(done.output))
    last = drawings[-1]
    said = DRAWN.sub(LEFT_OUT, done.output[: last.start()]) + done.output[last.start() :]
    first = LISTED.search(said)
    assert first is not None
    return said[: first.end()] + LISTED.sub(AGAIN, said[first.end() :])
