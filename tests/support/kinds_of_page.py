"""A page of each command, of bays whose name means harm; each is made by the command itself, small and quick."""

from __future__ import annotations

import os
from functools import partial
from pathlib import Path

import pytest
from click.testing import CliRunner
from improved_by_hand import improved
from shared_pages import made_once, session_folder
from size_bays import HALL, LOFTED

import flightsim
from flightsim.cli import cli
from flightsim.library.find_changes import Improvement

NAME = "<script>document.title = 'run'</script> & shed"
SCENARIOS = Path(__file__).parents[2] / "scenarios"
CALLS = {
    "size": ("size", "hall.yaml", "--vary", "canopy.depth=0.5m..1.5m", "--step", "500mm",
             "--target", "escape < 1 in 4"),
    "map": ("map", "hall.yaml", "--club", "iron"),
    "spot": ("spot", "hall.yaml", "--box", "300x300x150mm", "--shots", "60", "--under-roof", "100mm"),
    "compare": ("compare", "hall.yaml", "--set", "canopy.depth=0.5m", "--shots", "60"),
    "variants": ("compare", "hall.yaml", "--variant", "shallow: canopy.depth=0.5m",
                 "--variant", "deep: canopy.depth=1.5m", "--shots", "60"),
    "build": ("build", str(SCENARIOS / "single_garage.yaml"), "--set", f"name={NAME}"),
    "strike": ("strike", "--club", "7-iron", "--club-speed", "38m/s", "--toe", "-30mm"),
    "strikes": ("strike", "--player", "mid", "--club", "7-iron", "--strikes", "1200"),
}  # fmt: skip
KINDS = ("run", *CALLS, "improve")


def named(text: str) -> str:
    """A scenario under a name that means harm."""
    kept = [line for line in text.splitlines(keepends=True) if not line.startswith("name:")]
    return f'name: "{NAME}"\n' + "".join(kept)


def page_of(factory: pytest.TempPathFactory, kind: str) -> Path:
    """The page of a kind, made where no worker of this session has made it."""
    folder = made_once(factory, kind, partial(_make, kind, session_folder(factory)))
    return next(folder.glob("*.html"))


def _make(kind: str, home: Path, folder: Path) -> None:
    bays = home / f"bays of {kind}"
    bays.mkdir()
    if kind == "run":
        bay = flightsim.load(SCENARIOS / "single_garage.yaml").with_changes({"name": NAME})
        flightsim.run(bay, 500, 3).save(folder)
        return
    if kind == "improve":
        Improvement(improved(bays, NAME), 3).save(folder)
        return
    (bays / "hall.yaml").write_text(named(HALL) + LOFTED, encoding="utf-8")
    before = os.getcwd()
    os.chdir(bays)
    try:
        answer = CliRunner().invoke(cli, [*CALLS[kind], "--out", str(folder)], standalone_mode=False)
    finally:
        os.chdir(before)
    assert answer.exception is None, answer.output
