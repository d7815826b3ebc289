"""What once ended as a fault of ours or of a plugin, and is the file's or the command line's: exit code 2, with a way
out.
"""

import csv
import io
import os
import sys
from pathlib import Path

import pytest

from flightsim import cli
from flightsim.errors import BadInputError
from flightsim.jobs.find_spot import SpotOrder, spot_and_report
from flightsim.report.pages.folder import check_out
from flightsim.scenario.reading.problems import ScenarioError
from flightsim.scenario.reading.text import harmless
from flightsim.study.run.csv_file import cells
from flightsim.study.run.open_bay import open_bay

GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"
ROOM = """\
name: A bay
room: {length: 6 m, width: 3.4 m, roof: {kind: flat, height: 2.7 m}}
tee: {from_end_wall: 3.6 m, from_left_wall: 1.7 m}
screen: {width: 2.8 m, height: 2.4 m, gap_behind: 350 mm}
launches: {use: [driver]}
"""


def refused(tmp_path: Path, text: str, *sets: str) -> list[tuple[int | None, str, str]]:
    """Line, key and what was found of every problem of a scenario's text."""
    path = tmp_path / "bay.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ScenarioError) as raised:
        open_bay(path, sets)
    assert all(problem.allowed for problem in raised.value.problems)
    return [(problem.line, problem.key, problem.found) for problem in raised.value.problems]


@pytest.mark.parametrize("name", ["[1]", "{a: 1}", "[[]]"])
def test_a_name_that_is_a_list_or_group_is_told(tmp_path, name):
    found = refused(tmp_path, ROOM + f"canopy: {{name: {name}, depth: 1 m, height: 2.3 m}}\n")
    assert [each[:2] for each in found] == [(6, "canopy.name")]
    assert "is not text" in found[0][2]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ('"  "', "a blank name"),
        ('"a\\nb"', "a name with a tab, or of several lines"),
        ('"a\\tb"', "a name with a tab, or of several lines"),
        ("x" * 300, "a name of 300 characters"),
    ],
)
@pytest.mark.parametrize("where", ["name", "pad", "obstacle", "opening"])
def test_a_name_that_fits_no_table_is_told_with_line_and_key(tmp_path, text, found, where):
    pad = "{name: NAME, from_end_wall: 1.8 m, from_left_wall: 300 mm, length: 1 m, width: 2 m, thickness: 50 mm}"
    box = (
        "{name: NAME, kind: box, from_end_wall: 4.6 m, from_left_wall: 1.4 m, above_floor: 2.3 m, length: 450 mm, "
        "width: 300 mm, height: 200 mm}"
    )
    hole = "[{name: NAME, wall: left, from_end_wall: 4 m, width: 900 mm, height: 2 m}]"
    line, key, scenario = {
        "name": (1, "name", ROOM.replace("A bay", "NAME")),
        "pad": (6, "ceiling.pads.0.name", f"{ROOM}ceiling: {{pads: [{pad}]}}\n"),
        "obstacle": (6, "obstacles.0.name", f"{ROOM}obstacles: [{box}]\n"),
        "opening": (2, "room.openings.0.name", ROOM.replace("2.7 m}}", f"2.7 m}}, openings: {hole}}}")),
    }[where]
    assert refused(tmp_path, scenario.replace("NAME", text)) == [(line, key, found)]


@pytest.mark.parametrize("word", ["''", '" "'])
@pytest.mark.parametrize(("before", "key"), [("roof: {", "room.roof.facing"), ("room: {", "room.wall_facing")])
def test_a_blank_facing_is_the_files_and_no_plugins(tmp_path, word, before, key):
    room = ROOM.replace(before, f"{before}{key.rpartition('.')[2]}: {word}, ")
    assert refused(tmp_path, room) == [(2, key, "a blank facing")]


@pytest.mark.parametrize("sign", ["\u202e", "\u2066", "\u200f", "\u061c"])
def test_a_sign_that_turns_the_direction_of_text_is_refused_wherever_it_stands(tmp_path, sign):
    assert refused(tmp_path, ROOM + f"# a remark {sign}\n")[0][0] == 6
    assert "unprintable" in refused(tmp_path, ROOM, f"name=a{sign}b")[0][2]


def test_a_byte_of_the_command_line_that_is_no_text_is_told(tmp_path):
    ((line, _, found),) = refused(tmp_path, ROOM, os.fsdecode(b"name=a\xffb"))
    assert (line, found) == (None, "a byte that is no UTF-8 text, '\\udcff'")


def test_a_cloth_of_a_size_that_no_model_knows_is_told_with_its_line(tmp_path):
    hall = ROOM.replace("6 m, width: 3.4 m", "60 m, width: 45 m").replace("height: 2.7 m", "height: 32 m")
    wide = hall.replace("width: 2.8 m", "width: 40 m").replace("1.7 m}", "20 m}")
    ((line, key, found),) = refused(tmp_path, wide)
    assert (line, key) == (4, "screen")
    assert found == "screen is 40.00 m wide and 2.40 m high: how it gives is not known"


def test_clubs_that_are_left_blank_are_the_files_to_fill_in(tmp_path):
    blank = ROOM.replace("{use: [driver]}", "{use: }")
    assert (5, "launches.use", "nothing is written here") in refused(tmp_path, blank)


@pytest.mark.parametrize("kind", ["pipe", "folder", "device"])
def test_a_scenario_that_is_no_file_is_refused_and_not_waited_for(tmp_path, kind):
    place = tmp_path / "bay.yaml"
    {"pipe": os.mkfifo, "folder": os.mkdir, "device": lambda path: os.symlink("/dev/zero", path)}[kind](place)
    with pytest.raises(ScenarioError, match=f"this is a {'folder' if kind == 'folder' else 'pipe or a device'}"):
        open_bay(place)


@pytest.mark.parametrize("name", ["loop", "a" * 300, "nul\0"])
def test_a_results_folder_that_no_system_can_have_is_refused(tmp_path, name):
    (tmp_path / "loop").symlink_to("loop")
    with pytest.raises(BadInputError, match=r"folder=[^\n]*\n  try: another folder"):
        check_out(tmp_path / name)


@pytest.mark.parametrize("under", ["-5m", "-1mm", "1e6m"])
def test_spot_refuses_a_distance_under_the_roof_that_cannot_be(tmp_path, under):
    with pytest.raises(BadInputError, match=r"--under-roof .*: out of range\n  allowed: from 0 m to 30 m"):
        spot_and_report(SpotOrder(GARAGE, "1x1x1mm", (), under, 10, 1, tmp_path / "out", ()))


@pytest.mark.parametrize(
    ("option", "value", "allowed"),
    [
        ("--spin-rate", "1e9rpm", "at most 20000 rpm"),
        ("--spin-rate", "-1e9rpm", "at least -20000 rpm"),
        ("--elevation", "1e300deg", "at most 180 deg"),
        ("--azimuth", "-181deg", "at least -180 deg"),
        ("--spin-tilt", "4rad", "at most 180 deg"),
        ("--ball-speed", "500km/h", "at most 120 m/s"),
    ],
)
def test_fly_refuses_what_no_ball_does(monkeypatch, capsys, option, value, allowed):
    given = {"--ball-speed": "70m/s", "--elevation": "11deg", "--spin-rate": "2700rpm", option: value}
    monkeypatch.setattr(sys, "argv", ["flightsim", "fly", *(f"{name}={text}" for name, text in given.items())])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    errors = capsys.readouterr().err
    assert ended.value.code == 2
    assert errors.startswith(f"{option}: '{value}' is out of range\n  allowed: {allowed}\n  try: ")


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@cmd", "\t=1", "\r=1", "\uff1d1"])
def test_a_cell_that_a_spreadsheet_would_run_is_made_harmless(text):
    import numpy as np

    assert harmless(text) == f"'{text}"
    assert read_back(cells(np.array([text, "screen"], dtype=object))) == [f"'{text}", "screen"]
    assert read_back(cells(np.array(["screen", text])))[1] == f"'{text}"
    assert read_back(cells(np.array([-1.5, 2.0]))) == ["-1.5", "2.0"]


def read_back(row: list[str]) -> list[str]:
    """A row's cells as a reader of CSV has them."""
    return next(csv.reader(io.StringIO(",".join(row), newline="")))


LONG = "a" * 300


@pytest.mark.parametrize(
    "line",
    [
        ["measured", LONG],
        ["measured", "t.csv", "--yes", "--out", LONG],
        ["new", f"{LONG}.yaml", "--from", "garage"],
        ["new", f"{'a' * 246}.yaml", "--from", "garage"],  # a name that fits; the one beside it does not
        ["strike", "--player", "mid", "--club", "driver", "--strikes", "100", "--figure", f"{LONG}.png"],
        ["strike", "--player", "mid", "--club", "driver", "--strikes", "100", "--figure", f"{'a' * 248}.png"],
        ["check", str(GARAGE), "--plugin", f"{LONG}.py"],
    ],
)
def test_a_file_whose_name_is_too_long_is_the_command_lines(monkeypatch, capsys, tmp_path, line):
    monkeypatch.chdir(tmp_path)
    head = "Ball Speed (mph),Launch Angle (deg),Direction (deg R+),Spin (rpm),Spin Axis (deg R+)\n"
    Path("t.csv").write_text(f"{head}146.2,11.4,-2.1,2840,-3.5\n")
    monkeypatch.setattr(sys, "argv", ["flightsim", *line])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    errors = capsys.readouterr().err
    assert ended.value.code == 2, errors[-1000:]
    assert "aaa" in errors
    assert [path.name for path in tmp_path.iterdir()] == ["t.csv"]
