"""What flies no ball loads nothing of the compiled engine."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

GARAGE = str(Path(__file__).parents[2] / "scenarios" / "single_garage.yaml")
ASK = """
import sys
from flightsim.cli import main
try:
    main()
except SystemExit as end:
    print("numba" in sys.modules, end.code, file=sys.stderr)
"""


def loaded(*words: str) -> str:
    done = subprocess.run([sys.executable, "-c", ASK, *words], capture_output=True, text=True, check=True)
    return done.stderr.splitlines()[-1]


@pytest.mark.parametrize(
    "words",
    [
        ("--help",),
        ("run", "--help"),
        ("size", "--help"),
        ("check", GARAGE),
        ("schema",),
        ("plugins",),
        ("new", "--help"),
    ],
    ids=" ".join,
)
def test_commands_that_fly_no_ball_load_no_engine(words):
    assert loaded(*words) == "False 0"


def test_what_flies_balls_loads_it(tmp_path):
    flies = (
        "spot",
        GARAGE,
        "--box",
        "300x250x120mm",
        "--see",
        "screen",
        "--shots",
        "10",
        "--out",
        str(tmp_path / "out"),
    )
    assert loaded(*flies) == "True 0"
