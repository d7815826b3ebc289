"""`flightsim map` as a person calls it."""

import json
import re
import sys
from functools import partial

import pytest

from flightsim.cli import main
from flightsim.study.map import bay_map

SHED = """name: Shed <b>&</b>
room: {length: 6.2 m, width: 3.4 m, roof: {kind: flat, height: 2.7 m}}
tee: {from_end_wall: 3.7 m, from_left_wall: 1.65 m}
ceiling: {baffles: [{name: screen, from_end_wall: 500 mm, from_left_wall: 200 mm, width: 3 m, drop: 2.65 m}]}
launches: {use: [mid_iron, wedge]}
"""


@pytest.fixture
def flightsim(tmp_path, monkeypatch, capsys):
    """The command line in this process, in a folder with a shed, on coarse cells: exit code, output, errors."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "shed.yaml").write_text(SHED)
    monkeypatch.setattr(bay_map, "MapOrder", partial(bay_map.MapOrder, step_deg=10.0, levels=1, budget=300))

    def call(*args: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["flightsim", *map(str, args)])
        with pytest.raises(SystemExit) as left:
            main()
        shown = capsys.readouterr()
        return int(left.value.code or 0), shown.out, shown.err

    return call


def test_a_map_writes_its_files_and_says_what_it_found(flightsim, tmp_path):
    code, shown, errors = flightsim("map", "shed.yaml", "--club", "wedge", "--out", "out")
    assert (code, errors) == (0, "")
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert names == {".flightsim", "map.json", "map.html", "1_wedge_map.png", "1_wedge_escapes.png"}
    words = " ".join(shown.split())
    for must in (
        "Every launch direction counts alike",
        "Nearest escapes",
        "deg higher",
        "String check",
        "blind and kill",
    ):
        assert must in words
    assert [club["club"] for club in json.loads((tmp_path / "out" / "map.json").read_text())["maps"]] == ["wedge"]
    page = (tmp_path / "out" / "map.html").read_text()
    assert "Shed &lt;b&gt;" in page
    assert "<b>&</b>" not in page
    assert page.count("data:image/png") == 2
    assert not re.search(r"\bsafe\b", re.sub(r"data:[^\"]+", "", page) + words, re.IGNORECASE)


def test_speeds_each_have_a_map_once_and_a_change_can_be_tried(flightsim, tmp_path):
    speeds = ("--speed", "0.7", "--speed", "0.9", "--speed", "0.7")
    code, _, _ = flightsim(
        "map", "shed.yaml", "--club", "wedge", *speeds, "--set", "ceiling.baffles.0.drop=1.2m", "--out", "o"
    )
    assert code == 0
    facts = json.loads((tmp_path / "o" / "map.json").read_text())
    assert [club["speed_factor"] for club in facts["maps"]] == [0.7, 0.9]
    assert facts["overrides"] == ["ceiling.baffles.0.drop=1.2m"]


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--club", "wegde"], "try: --club wedge"),
        (["--club", "putter"], "allowed: mid iron, wedge"),
        (["--speed", "0"], "0.1 to 1.5"),
        (["--speed", "fast"], "is not a number"),
        (["--speed", "nan"], "is not a number"),
        (["--set", "ceiling.baffels=2m"], "baffles"),
    ],
)
def test_bad_input_exits_2_with_a_way_out_and_writes_nothing(flightsim, tmp_path, args, words):
    code, _, errors = flightsim("map", "shed.yaml", *args, "--out", "out")
    assert code == 2
    assert words in errors
    assert "Traceback" not in errors
    assert [path.name for path in tmp_path.iterdir()] == ["shed.yaml"]


def test_a_folder_of_somebody_else_is_left_alone(flightsim, tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "photo.txt").write_text("mine")
    code, _, errors = flightsim("map", "shed.yaml", "--out", "out")
    assert code == 2
    assert "nothing there was touched" in errors
    assert (tmp_path / "out" / "photo.txt").read_text() == "mine"
