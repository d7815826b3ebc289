"""A `launches` section that cannot be: refused by the real loader, at its line and key, with a way out."""

from __future__ import annotations

import pytest
from own_shots import GRID, line_of, one_type, refused

from flightsim.shots.shipped_types import CLUBS

SECTIONS = {
    "a club that is not shipped": (
        "launches:\n  use: [driver, drvier]\n",
        "use",
        "no shot types are shipped for 'drvier'",
        ", ".join(CLUBS),
        "driver",
    ),
    "a club by its other name": ("launches:\n  use: {mid iron: 1}\n", "use", "for 'mid iron'", "mid_iron", "mid_iron"),
    "a club that nothing is near to": ("launches:\n  use: [putter]\n", "use", "for 'putter'", "driver", "types"),
    "a club used twice": ("launches:\n  use: [driver, driver]\n", "use", "'driver' stands twice", "once", "0.6"),
    "shares of clubs that do not add to 1": (
        "launches:\n  use: {driver: 0.5, wedge: 0.4}\n",
        "use",
        "the shares add to 0.9",
        "add to 1",
        "driver: 0.555555555556, wedge: 0.444444444444",
    ),
    "shares of types that do not add to 1": (
        one_type(share="0.9"),
        "types",
        "the shares add to 0.9",
        "add to 1",
        "iron clean: 1",
    ),
    "shares of clubs and types that do not add to 1": (
        one_type(share="0.4").replace("launches:\n", "launches:\n  use: {driver: 0.5}\n"),
        "types",
        "the shares of use and types add to 0.9",
        "add to 1",
        "iron clean: 0.444444444444",
    ),
    "clubs without shares beside types": (
        one_type(share="0.5").replace("launches:\n", "launches:\n  use: [driver, wedge]\n"),
        "use",
        "clubs without shares",
        "a share for each",
        "{driver: 0.25, wedge: 0.25}",
    ),
    "a shipped type given again": (
        one_type(club="driver", strike="clean", share="0.5").replace(
            "launches:\n", "launches:\n  use: {driver: 0.5}\n"
        ),
        "types.0.strike",
        "the shot type 'driver clean' is there twice",
        "names that differ",
        "clean 2",
    ),
    "no shots": ("launches:\n  use: []\n", "", "no shots", "or a grid", "use: [driver, mid_iron, wedge]"),
    "a grid and shot types": (
        GRID.replace("launches:\n", "launches:\n  use: [driver]\n"),
        "",
        "both a grid and shot types",
        "or a grid",
        "remove",
    ),
    "an enormous grid": (
        GRID.replace("steps: 4", "steps: 40000").replace("steps: 5", "steps: 500"),
        "grid",
        "the grid has 120,000,000 shots",
        "at most 5,000,000",
        "fewer steps",
    ),
    "a grid axis that stands still": (
        GRID.replace("from: 20 deg, to: -20 deg", "from: 20 deg, to: 20 deg"),
        "grid.azimuth.to",
        "the same as from",
        "different",
        "one value",
    ),
    "a grid axis of one step": (
        GRID.replace("steps: 5", "steps: 1"),
        "grid.azimuth.steps",
        "1 is out of range",
        "at least 2",
        "",
    ),
    "a bare number in a grid": (
        GRID.replace("[20 m/s,", "[20,"),
        "grid.ball_speed.0",
        "20 has no unit",
        "m/s, mph",
        "20 m/s",
    ),
    "a misspelt hand": (
        "launches:\n  hand: lft\n  use: [driver]\n",
        "hand",
        "'lft' is not known",
        "right, left",
        "left",
    ),
    "an unknown key": (
        "launches:\n  hnd: left\n  use: [driver]\n",
        "hnd",
        "unknown key",
        "hand, use, types, grid",
        "hand:",
    ),
}


@pytest.mark.parametrize("what", SECTIONS)
def test_a_section_that_cannot_be_is_refused_at_its_line_and_key_with_a_way_out(tmp_path, what):
    text, key, found, allowed, fix = SECTIONS[what]
    (problem,) = refused(tmp_path, text)
    assert problem.file == str(tmp_path / "bay.yaml")
    assert problem.key == (f"launches.{key}" if key else "launches")
    last = [step for step in key.split(".") if not step.isdigit()]
    inner = {"to": "azimuth", "steps": "azimuth"}.get(last[-1], last[-1])
    assert problem.line == line_of(text, inner or "launches")
    assert found in problem.found
    assert allowed in problem.allowed
    assert fix in problem.fix


def test_two_types_of_the_same_name_are_refused_however_it_is_put_together(tmp_path):
    first = one_type(club="iron off", strike="the toe", share="0.5")
    text = first + one_type(club="iron", strike="off the toe", share="0.5").split("types:\n")[1]
    (problem,) = refused(tmp_path, text)
    assert (problem.key, problem.found) == (
        "launches.types.1.strike",
        "the shot type 'iron off the toe' is there twice",
    )
