"""The commands check, new and schema: what they print and their exit codes."""

from __future__ import annotations

import json
import sys

import pytest

from flightsim.cli import main


def flightsim(monkeypatch, capsys, *words):
    """Exit code, output and error output of a command."""
    monkeypatch.setattr(sys, "argv", ["flightsim", *map(str, words)])
    with pytest.raises(SystemExit) as left:
        main()
    said = capsys.readouterr()
    return left.value.code, said.out, said.err


@pytest.fixture
def bay(tmp_path, monkeypatch, capsys):
    path = tmp_path / "bay.yaml"
    code, out, _ = flightsim(monkeypatch, capsys, "new", path, "--from", "garage")
    assert (code, out.splitlines()[0]) == (0, f"Wrote {path}.")
    return path


def test_check_describes_a_sound_bay_and_exits_0(bay, monkeypatch, capsys):
    code, out, err = flightsim(monkeypatch, capsys, "check", bay, "--set", "canopy.depth=1.4m")
    assert (code, err) == (0, "")
    assert out.startswith("Single garage\n")


def test_check_prints_warnings_and_still_exits_0(bay, monkeypatch, capsys):
    code, out, _ = flightsim(monkeypatch, capsys, "check", bay, "--set", "tee.from_left_wall=700 mm")
    assert code == 0
    assert "warning" in out
    assert "tee.mat.width: the mat, centred on the tee, reaches out of the room's width" in out


def test_check_prints_every_error_and_exits_2(bay, monkeypatch, capsys):
    bay.write_text(bay.read_text().replace("depth: 1.2 m", "depth: 1.2").replace("units: metric", "units: metre"))
    code, out, err = flightsim(monkeypatch, capsys, "check", bay)
    assert (code, out) == (2, "")
    assert "canopy.depth: 1.2 has no unit" in err
    assert "units: 'metre' is not known here" in err
    assert "Traceback" not in err


def test_check_of_a_tee_behind_the_screen_exits_2(bay, monkeypatch, capsys):
    code, _, err = flightsim(monkeypatch, capsys, "check", bay, "--set", "tee.from_end_wall=30 cm")
    assert code == 2
    assert "change tee.from_end_wall=30 cm: tee.from_end_wall: 300 mm from the end wall is behind the screen" in err


def test_a_missing_plugin_exits_3_and_names_it(bay, monkeypatch, capsys):
    code, _, err = flightsim(monkeypatch, capsys, "check", bay, "--set", "plugins=[no_such_thing]")
    assert code == 3
    assert "no_such_thing" in err


def test_new_does_not_replace_a_file(bay, monkeypatch, capsys):
    code, _, err = flightsim(monkeypatch, capsys, "new", bay, "--from", "hall")
    assert code == 2
    assert "--overwrite" in err


def test_schema_prints_a_schema_with_every_section(monkeypatch, capsys):
    code, out, _ = flightsim(monkeypatch, capsys, "schema")
    assert code == 0
    sections = ("room", "obstacles", "screen", "canopy", "side_nets", "ceiling", "launches")
    assert set(sections) < set(json.loads(out)["properties"])
