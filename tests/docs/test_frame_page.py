"""docs/frame.md shows a frame that can be built, and what its three bays give."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from flightsim.making.strength.check import Checks, checked
from flightsim.plugin.hookspecs import BaySetup
from flightsim.plugin.testing import scenario_of, with_plugins
from flightsim_plugins.frame import flightsim_parts, flightsim_structures

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "frame.md").read_text(encoding="utf-8")
(SHOWN,) = (yaml.safe_load(block) for block in re.findall(r"```yaml\n(.*?)```", PAGE, flags=re.DOTALL))
PLUGINS = with_plugins()
FRAME = {"wall_bars": "braced", "front_support": "legs", "feet": "anchored"}
BAYS = {"lean-to": "lean_to", "garage": "single_garage", "hall": "village_hall"}


def built(scenario: str, frame: dict[str, Any]) -> Checks:
    bay = yaml.safe_load((ROOT / "scenarios" / f"{scenario}.yaml").read_text(encoding="utf-8"))
    for flown in ("shots", "launches"):
        bay.pop(flown, None)
    if scenario == "village_hall":  # no wider than the screen; the upper net hangs from the roof
        bay["canopy"][0].pop("side_overhang")
        frame = {**frame, "canopies": ["canopy"]}
    found = scenario_of(yaml.safe_dump({**bay, "frame": frame}), PLUGINS)
    setup = BaySetup(found.entries("frame"), found)
    assert not flightsim_parts(setup).problems
    return checked(flightsim_structures(setup))


def test_the_frame_that_is_shown_loads_and_passes_in_the_lean_to() -> None:
    found = built("lean_to", SHOWN["frame"])
    assert found.ok, [check for check in found.checks if not check.ok]


@pytest.mark.parametrize("bay", ["lean-to", *(pytest.param(bay, marks=pytest.mark.slow) for bay in ("garage", "hall"))])
def test_the_table_of_bays_says_what_they_give(bay: str) -> None:
    (row,) = (line for line in PAGE.splitlines() if line.startswith(f"| {bay}"))
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    found = built(BAYS[bay], {**FRAME, "braces": cells[1].split(", ")})
    mass = sum(float(str(member["mass_kg"])) for member in found.members)
    assert f"{mass:.0f} kg" == cells[2]
    stress = max((c for c in found.checks if c.name.startswith("stress of frame")), key=lambda c: c.value or 0.0)
    assert f"{stress.value:.0f}" in cells[3]
    assert cells[3].split(",")[0] in stress.name
    sag = next(check for check in found.checks if check.name == "sag of frame top bar")
    assert f"{sag.value:.1f} of {sag.limit:.1f} mm" == cells[4]
    pull = max(anchor.pull for anchor in found.anchors if anchor.to == "wall")
    assert f"{pull / 1e3:.2f} kN" == cells[5]
    assert all(
        c.ok for c in found.checks if c.name.startswith(("frame stands", "stress of frame", "sag of frame", "sway"))
    )


@pytest.mark.slow
def test_the_cantilever_and_the_frame_that_only_stands_are_as_told() -> None:
    for braces, sway in (("front", 28), ("plan", 3)):
        found = built("lean_to", {**FRAME, "braces": [braces]})
        corner = next(check for check in found.checks if check.name.startswith("sway of the front end"))
        assert corner.value == pytest.approx(sway, abs=0.6)
    arms = built("lean_to", {"wall_bars": "braced"})
    stress = next(check for check in arms.checks if check.name == "stress of frame left side bar")
    assert f"{stress.value:.0f} MPa with somebody on a tip" in PAGE
    assert not next(check for check in arms.checks if check.name == "frame stands with pinned joints").ok
    standing = built("lean_to", {"base_length": "800 mm", "braces": ["canopy", "base", "head"]})
    (tipping,) = (check for check in standing.checks if check.name == "tipping")
    assert f"(factor {tipping.value:.2f})" in PAGE
    ballast = re.search(r"or (\d+) kg of ballast", tipping.passes)
    assert ballast
    assert f"{ballast[1]} kg of ballast" in PAGE
