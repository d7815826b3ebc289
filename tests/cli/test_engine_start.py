"""What flies no ball loads nothing of the compiled engine."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from size_bays import hall

GARAGE = str(Path(__file__).parents[2] / "scenarios" / "single_garage.yaml")
ASK = """
import json, sys
from flightsim.cli import main
for words in json.loads(sys.argv[1]):
    sys.argv = ["flightsim", *words]
    try:
        main()
    except SystemExit as end:
        print("numba" in sys.modules, end.code, file=sys.stderr)
"""
FLIES_NOTHING = (
    ("--help",), ("run", "--help"), ("size", "--help"), ("new", "--help"), ("schema",), ("plugins",), ("check", GARAGE),
)  # fmt: skip


def loaded(*commands: tuple[str, ...]) -> list[str]:
    """Of one process in which these commands run one after another: whether the compiler is loaded, and exit codes."""
    command = [sys.executable, "-c", ASK, json.dumps(commands)]
    return subprocess.run(command, capture_output=True, text=True, check=True).stderr.splitlines()


@pytest.fixture(scope="module")
def after_each() -> dict[tuple[str, ...], str]:
    return dict(zip(FLIES_NOTHING, loaded(*FLIES_NOTHING), strict=True))


@pytest.mark.parametrize("words", FLIES_NOTHING, ids=" ".join)
def test_commands_that_fly_no_ball_load_no_engine(after_each, words):
    assert after_each[words] == "False 0"


def test_what_flies_balls_loads_it(tmp_path):
    small = ("--set", "room.width=7m", "--set", "tee.from_left_wall=3.5m", "--set", "room.length=6m")
    box = ("--box", "300x250x120mm", "--under-roof", "100mm", "--shots", "10")
    assert loaded(("spot", hall(tmp_path), *small, *box, "--out", str(tmp_path / "out")))[-1] == "True 0"
