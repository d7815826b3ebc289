"""That the engine is compiled has a line of its own, also while a line of progress is being redrawn."""

from __future__ import annotations

import re
from io import StringIO

import pytest
from rich.console import Console

from flightsim.engine import notice
from flightsim.jobs import map_directions, run_shots
from flightsim.report.words import say

PROGRESS = {
    "run": (run_shots, lambda: run_shots._progress(5)),
    "map": (map_directions, map_directions._progress),
    "others": (say, lambda: say.told_what_is_done("reading")),
}


@pytest.mark.parametrize("command", PROGRESS)
def test_what_the_engine_tells_has_a_line_of_its_own_above_the_progress(command, monkeypatch):
    room, begin = PROGRESS[command]
    screen, before = StringIO(), []
    monkeypatch.setattr(room, "Console", lambda stderr: Console(file=screen, force_terminal=True, width=200))
    monkeypatch.setattr(notice, "_told", before)
    with begin():
        notice.tell("Compiling the engine")
    line = next(line for line in screen.getvalue().split("\n") if "Compiling" in line)
    shown = re.sub(r"\x1b\[[?\d;]*[A-Za-z]", "", line.rpartition("\x1b[2K")[2])
    assert shown == "Compiling the engine"
    assert notice._told == []
