"""`--json` on every command: one JSON object on the standard output, nothing else, and as docs/outputs.md tells it."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click
import pytest
from improve_bays import ONE_SIZE, bare_hall
from size_bays import hall

from flightsim.cli import COMMANDS, cli, main

DOCS = Path(__file__).parents[2] / "docs" / "outputs.md"
SHOTS_TABLE = "club,ball speed (mph),launch angle,azimuth,backspin\ndriver,150,12,1.5,2600\ndriver,148,11,-2,2900\n"
# Each command with few shots; a key that its answer must have; the file that holds the same, if any.
CALLS = {
    "build": (("garage.yaml", "--out", "o"), "members", "build.json"),
    "check": (("hall.yaml",), "parts", ""),
    "compare": (("hall.yaml", "--set", "canopy.depth=0.5m", "--shots", "60", "--out", "o"), "changed", "compare.json"),
    "cut": (("--stock", "6000mm", "3x1250mm"), "plan", ""),
    "fly": (("--ball-speed", "60m/s", "--elevation", "12deg", "--spin-rate", "3000rpm"), "carry_m", ""),
    "improve": (("bare/hall.yaml", "--out", "o"), "steps", "improve.json"),
    "map": (("hall.yaml", "--club", "iron", "--out", "o"), "maps", "map.json"),
    "measured": (("shots.csv", "--set", "columns.azimuth.left_is_positive=false"), "section", ""),
    "new": (("fresh.yaml", "--from", "garage"), "file", ""),
    "plugins": ((), "plugins", ""),
    "run": (("hall.yaml", "--shots", "60", "--quick", "--out", "o"), "total", "summary.json"),
    "schema": ((), "properties", ""),
    "size": (("hall.yaml", "--vary", "canopy.depth=0.5m..1.5m", "--step", "500mm", "--target", "escape < 1 in 4",
              "--out", "o"), "looks", "size.json"),
    "spot": (("hall.yaml", "--set", "room.width=7m", "--set", "tee.from_left_wall=3.5m", "--set", "room.length=6m",
              "--box", "300x300x150mm", "--shots", "60", "--under-roof", "100mm", "--out", "o"), "places", "spot.json"),
    "strike": (("--club", "7-iron", "--club-speed", "38m/s"), "ball_speed_m_s", ""),
}  # fmt: skip


@pytest.fixture
def flightsim(tmp_path, monkeypatch, capsys, no_pictures):
    monkeypatch.chdir(tmp_path)
    hall(tmp_path)
    (tmp_path / "bare").mkdir()
    bare_hall(tmp_path / "bare", ONE_SIZE, hit_unprotected="1 in 8")
    monkeypatch.setattr("flightsim.study.improve.improve.Improver.shots", 1024)
    monkeypatch.setattr("flightsim.study.improve.improve.shots_to_confirm", lambda opened, limits, looks: 1500)
    garage = Path(__file__).parents[2] / "flightsim" / "scenario" / "new" / "garage.yaml"
    (tmp_path / "garage.yaml").write_text(garage.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "shots.csv").write_text(SHOTS_TABLE, encoding="utf-8")

    def call(*words):
        monkeypatch.setattr(sys, "argv", ["flightsim", *words])
        with pytest.raises(SystemExit) as left:
            main()
        shown = capsys.readouterr()
        return int(left.value.code or 0), shown.out, shown.err

    return call


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_command_prints_one_json_object_and_nothing_else(command, flightsim, tmp_path):
    words, key, file = CALLS[command]
    code, out, err = flightsim(command, *words, "--json")
    assert code in (0, 1), err
    answer = json.loads(out)
    assert isinstance(answer, dict)
    assert key in answer
    assert out.isascii()
    if file:
        assert answer == json.loads((tmp_path / "o" / file).read_text(encoding="utf-8"))


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_command_has_the_option_and_the_docs_tell_its_answer(command):
    options = [word for param in cli.get_command(click.Context(cli), command).params for word in param.opts]
    assert "--json" in options
    assert f"| `{command} --json` |" in DOCS.read_text(encoding="utf-8")


def test_bad_input_prints_no_json_and_says_so_on_the_error_stream(flightsim):
    code, out, err = flightsim("check", "hall.yaml", "--set", "canopy.depth=1.2", "--json")
    assert (code, out) == (2, "")
    assert "1.2 has no unit" in err


def test_new_with_json_asks_nobody(flightsim, tmp_path):
    code, out, err = flightsim("new", "mine.yaml", "--json")
    assert (code, out) == (2, "")
    assert "--from garage" in err
    assert not (tmp_path / "mine.yaml").exists()
