"""Every answer is in the reader's units throughout: no stray metre in feet and inches, no stray mph in metres."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from flightsim.cli import cli

pytestmark = pytest.mark.usefixtures("no_pictures")  # texts are read

BAY = """\
name: Two-car garage
room:
  length: 22 ft
  width: 13 ft 6 in
  roof: {kind: flat, height: 9 ft 2 in, facing: gypsum}
  openings: [{name: side door, wall: right, from_end_wall: 16 ft, width: 2 ft 10 in, height: 6 ft 8 in}]
tee: {from_end_wall: 12 ft, from_left_wall: 6 ft 9 in, mat: {height: 1 3/4 in, length: 5 ft, width: 5 ft}}
obstacles:
  - {name: lamp, kind: box, from_end_wall: 7 ft 3 in, from_left_wall: 10 in, above_floor: 8 ft 10 in, length: 4 ft,
     width: 4 in, height: 3 in, fragile: true, facing: glass}
screen: {left_gap: 9 in, right_gap: 9 in, height: 8 ft 3 in, above_floor: 1 in, gap_behind: 15 in}
canopy: {depth: 3 ft 6 in, height: 8 ft 6 in, side_overhang: 2 in, thickness: 1/2 in, underside: foam on plywood}
side_nets: {right: {depth: 7 ft, height: 8 ft 3 in, above_floor: 3/4 in, offset: 2 1/2 in}}
people: {onlookers: [{name: bench, posture: seated, from_end_wall: 20 ft, from_left_wall: 3 ft, width: 4 ft}]}
launches: {use: [driver, wedge]}
"""
NUMBER = r"(?<![\w.])[0-9][0-9,]*(?:\.[0-9]+)?"
METRIC = re.compile(rf"{NUMBER} ?(?:mm|cm|m|km|m/s|km/h|kg|g|kN|N|J|kJ|MPa|N/m|kg/m2|kg/m3|g/m2|degC)(?![\w/])")
# `1 in 300` is a rate: inches alone cannot be told from it.
IMPERIAL = re.compile(rf"{NUMBER} ?(?:ft|mph|lbf|lb|ft-lb|oz|ksi|lbf/ft|lb/ft2|lb/ft3|degF)(?![\w/])")
GOODS = re.compile(r"(?:foam|plywood|pipe foam|foam strip|tube)[ \w.]*? [0-9.]+ mm")  # as price lists have them
COMMANDS = {
    "check": ("check", "BAY"),
    "run": ("run", "BAY", "--shots", "400", "--quick", "--full"),
    "compare": ("compare", "BAY", "--set", "canopy.depth=5ft", "--shots", "300"),
    "bays": ("compare", "BAY", "--variant", "deeper: canopy.depth=5ft", "--variant", "back: tee.from_end_wall=13ft",
             "--shots", "300"),
    "spot": ("spot", "BAY", "--box", "12x10x5in", "--throw", "8ft..12ft", "--picture", "8x4.5ft", "--shots", "100"),
}  # fmt: skip
SLOW = {
    "whole run": ("run", "BAY", "--shots", "2500", "--full"),
    "size": ("size", "BAY", "--vary", "canopy.depth=2ft..5ft", "--step", "1ft", "--target", "hit_unprotected < 1 in 50",
             "--shots", "3000", "--keep", "swing_room > 6 in"),
    "map": ("map", "BAY", "--club", "driver"),
    "build": ("build", "BAY"),
    "improve": ("improve", "BAY", "--minutes", "0.5"),
}  # fmt: skip


def said(folder: Path, monkeypatch: pytest.MonkeyPatch, command: tuple[str, ...], units: str) -> str:
    monkeypatch.chdir(folder)
    (folder / "bay.yaml").write_text(f"units: {units}\n{BAY}", encoding="utf-8")
    done = CliRunner().invoke(cli, [word.replace("BAY", "bay.yaml") for word in command], standalone_mode=False)
    assert done.exception is None, done.output
    assert len(done.output) > 100
    return GOODS.sub("", " ".join(done.output.split()))


@pytest.mark.parametrize("name", [*COMMANDS, *(pytest.param(name, marks=pytest.mark.slow) for name in SLOW)])
def test_a_bay_in_feet_is_told_in_feet_throughout(tmp_path, monkeypatch, name):
    text = said(tmp_path, monkeypatch, {**COMMANDS, **SLOW}[name], "imperial")
    assert METRIC.findall(text) == []
    assert name in ("compare", "bays") or " ft" in text


@pytest.mark.parametrize("name", [*COMMANDS, *(pytest.param(name, marks=pytest.mark.slow) for name in SLOW)])
def test_a_bay_in_metres_is_told_in_metres_throughout(tmp_path, monkeypatch, name):
    text = said(tmp_path, monkeypatch, {**COMMANDS, **SLOW}[name], "metric")
    typed = text.replace("canopy.depth=5ft", "").replace("tee.from_end_wall=13ft", "").replace("swing_room > 6 in", "")
    assert IMPERIAL.findall(typed) == []


@pytest.mark.parametrize(
    ("command", "stray"),
    [
        (
            ("fly", "--ball-speed", "90mph", "--elevation", "50deg", "--spin-rate", "6000rpm", "--units", "imperial"),
            METRIC,
        ),
        (("fly", "--ball-speed", "90mph", "--elevation", "50deg", "--spin-rate", "6000rpm"), IMPERIAL),
        (("strike", "--club", "7-iron", "--club-speed", "80mph", "--toe=-1in", "--units", "imperial"), METRIC),
        (("strike", "--club", "7-iron", "--club-speed", "80mph", "--toe=-1in"), IMPERIAL),
        (("cut", "--stock", "20ft", "--kerf", "1/8in", "3x13 ft 11 in", "2x9 ft 10 in"), METRIC),
        (("cut", "--stock", "6000mm", "3x4250mm"), IMPERIAL),
    ],
    ids=lambda value: value[0] if isinstance(value, tuple) else "",
)
def test_a_command_without_a_bay_keeps_to_its_units(command, stray):
    done = CliRunner().invoke(cli, command, standalone_mode=False)
    assert done.exception is None, done.output
    assert stray.findall(done.output) == []


def test_no_estimate_in_feet_has_eighths(tmp_path, monkeypatch):
    text = said(tmp_path, monkeypatch, COMMANDS["run"], "imperial")
    rough = re.findall(r"sinks it and the ball [^.]*\.|the club (?:hits|passes) [^.]*\.|first land [^.]*\.", text)
    assert rough
    for sentence in rough:
        assert re.findall(r"[0-9]+/8 in", sentence) == []
