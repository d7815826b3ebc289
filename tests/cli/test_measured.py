"""`flightsim measured`: a table of any origin drafted, read back in words, and asked."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
import yaml

from flightsim import cli
from flightsim.scenario.reading.load import load_scenario
from flightsim.shots.column_words import counts_left, meaning_of
from flightsim.shots.measured_rows import read_rows
from flightsim.shots.measured_section import MEASURED_SECTION

# Invented, as all tables here: titles, a row of units, decimal commas, points between thousands, sides by letter, sums.
UNTIDY = """\
Session;Sunday
Player;Ann

Shot;Club;Ball Speed (km/h);Launch Angle;Launch Direction;Spin Rate;Spin Axis;Carry (m)
;;;deg;deg;rpm;deg;
1;Driver;235,2;11,4;2,1 L;2.840;3,5 L;201
2;Driver;239,8;9,8;1,7 R;2.610;2,0 R;210
3;Driver;222,9;14,9;6,3 R;3.320;9,5 R;180
4;7 Iron;172,0;18,1;0,5 L;6.350;1,5 L;140
Average;;217,0;13,5;1,3;3.780;2,0;182
"""
PLAIN = "n,ball speed,launch angle,side,spin,axis\n1,66,11,-2,2700,3\n2,67,12,1,2600,-2\n3,60,9,4,3000,9\n"
SIDES = ("--set", "columns.azimuth.left_is_positive=false", "--set", "columns.spin_tilt.left_is_positive=false")


@pytest.fixture
def measured(tmp_path, monkeypatch, capsys):
    """The command in an empty folder with this table: exit code, standard output in one line, standard error."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys.stdin, "isatty", lambda: False, raising=False)

    def call(table: str | bytes, *args: str) -> tuple[int, str, str]:
        Path("t.csv").write_bytes(table if isinstance(table, bytes) else table.encode())
        monkeypatch.setattr(sys, "argv", ["flightsim", "measured", "t.csv", *args])
        with pytest.raises(SystemExit) as left:
            cli.main()
        shown = capsys.readouterr()
        return int(left.value.code or 0), " ".join(shown.out.split()), shown.err

    return call


def test_an_untidy_table_is_read_back_in_words_with_nothing_to_ask(measured):
    code, output, errors = measured(UNTIDY)
    assert (code, errors) == (0, "")
    assert "line 6: Driver: the ball leaves at 65.3 m/s (146 mph), 11.4 deg up and 2.1 deg to the left" in output
    assert "with 2,840 rpm of backspin, its axis 3.5 deg over, which curves it left" in output
    assert "'Average' begins a row that sums up others" in output
    assert "header_line: 4" in output


def test_the_section_written_gives_the_rows_that_were_read_back(measured, tmp_path):
    code, _, _ = measured(UNTIDY, "--yes", "--out", "section.yaml")
    assert code == 0
    head = {"name": "x", "tee": {"from_end_wall": "3 m", "from_left_wall": "1.5 m"}}
    path = tmp_path / "bay.yaml"
    path.write_text(yaml.safe_dump(head) + Path("section.yaml").read_text(), encoding="utf-8")
    scenario = load_scenario(path, (MEASURED_SECTION,))
    rows = read_rows(scenario, scenario.entries("measured")[0])
    assert rows.clubs == ("Driver", "7 Iron")
    assert np.allclose(rows.numbers[0] * 3.6, [235.2, 239.8, 222.9, 172.0])
    assert np.allclose(np.degrees(rows.numbers[2]), [-2.1, 1.7, 6.3, -0.5])
    assert np.allclose(np.hypot(*rows.numbers[3:]) * 30 / np.pi, [2840, 2610, 3320, 6350])


def test_a_file_that_is_there_is_never_written_over(measured):
    Path("section.yaml").write_text("mine")
    code, _, errors = measured(UNTIDY, "--yes", "--out", "section.yaml")
    assert (code, Path("section.yaml").read_text()) == (2, "mine")
    assert "there is such a file already" in errors


def test_what_the_table_does_not_tell_is_refused_where_nobody_can_be_asked(measured):
    code, output, errors = measured(PLAIN)
    assert (code, output) == (2, "")
    assert "--set columns.azimuth.left_is_positive=false or true" in errors
    assert "--set columns.spin_tilt.left_is_positive=false or true" in errors
    assert "Does the column 'side' count a ball that starts to the LEFT as positive?" in errors
    assert "--set columns.ball_speed.unit" not in errors  # 66 mph is no driver's, but 66 m/s is


def test_a_unit_that_the_numbers_leave_open_is_asked(measured):
    code, _, errors = measured(PLAIN.replace(",66,", ",150,").replace(",67,", ",152,").replace(",60,", ",140,"), *SIDES)
    assert code == 2
    assert "In which unit is the column 'ball speed' (150, 152, 140, ...)?" in errors
    assert "columns.ball_speed.unit=mph or km/h or ft/s" in errors


def test_answers_by_option_turn_the_rows(measured):
    _, right, _ = measured(PLAIN, *SIDES)
    _, left, _ = measured(PLAIN, *(text.replace("false", "true") for text in SIDES))
    assert "2.0 deg to the left" in right
    assert "2.0 deg to the right" in left
    assert "left_is_positive: true" in left


def test_on_a_terminal_it_asks_and_takes_no_for_an_answer(measured, monkeypatch):
    asked = []
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("click.confirm", lambda words: asked.append(words) is not None)
    code, output, _ = measured(PLAIN, "--out", "section.yaml")
    assert code == 1
    assert not Path("section.yaml").exists()
    assert "Nothing was written" in output
    assert [words.split()[0] for words in asked] == ["Does", "Does", "Were"]


def test_an_answer_that_cannot_be_is_told_by_its_key(measured):
    code, _, errors = measured(PLAIN, *SIDES, "--set", "columns.ball_speed.unit=knots")
    assert code == 2
    assert "columns.ball_speed.unit" in errors
    assert "mph" in errors


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("", "no line names columns of ball speed"),
        ("a,b\n1,2\n", "no line names columns of ball speed, launch angle up, launch direction, left or right, spin"),
        ("ball speed,launch angle,side,spin\n", "there is no row below the columns' names"),
        (b"ball speed,launch angle,side,spin\n1,2,3,\x81\n", "not UTF-8 text"),
        ('ball speed,launch angle,side,spin\n"1,2,3,4\n', "it cannot be parted into cells"),
        ("ball speed,launch angle,carry side (yds),spin\n66,11,4,2700\n", "launch direction"),
        (b"\x00\x01\x02", "NUL"),
    ],
)
def test_what_is_no_table_of_launches_ends_with_a_way_out(measured, table, words):
    code, output, errors = measured(table, *SIDES)
    assert (code, output) == (2, "")
    assert words in errors


@pytest.mark.parametrize(
    ("name", "ours", "unit"),
    [
        ("Ball Speed (mph)", "ball_speed", "mph"), ("ball_speed_m_s", "ball_speed", "m/s"),
        ("BallSpeed", "ball_speed", None),
        ("Club Speed", None, None), ("Launch Angle", "elevation", None), ("launch deg", "elevation", "deg"),
        ("Vertical Launch Angle [deg]", "elevation", "deg"), ("Horizontal Launch Angle", "azimuth", None),
        ("Launch Direction", "azimuth", None), ("Side (yds)", None, None), ("Attack Angle", None, None),
        ("Landing Angle", None, None), ("Spin", "spin_rate", None), ("Total Spin (rpm)", "spin_rate", "rpm"),
        ("Back Spin", "backspin", None), ("SideSpin", "sidespin", None),
        ("Spin Axis", "spin_tilt", None),
        ("spin_along_rpm", "spin_along", "rpm"),
        ("Club", "club", None),
        ("Club Type", "club", None),
        ("Player Hand", "hand", None),
        ("Handedness", "hand", None),
        ("Club Head Speed", None, None),
        ("Carry", None, None),
        ("Club Path", None, None), ("Face Angle", None, None), ("Max Height (m)", None, None),
    ],
)  # fmt: skip
def test_names_in_plain_words(name, ours, unit):
    meaning = meaning_of(name)
    assert (meaning and meaning.name, meaning and meaning.unit) == (ours, unit)


@pytest.mark.parametrize(
    ("name", "left"),
    [("Side (+ right)", False), ("direction (left +)", True), ("axis R positive", False), ("side", None),
     ("left-right angle", None)],
)  # fmt: skip
def test_a_name_may_say_which_side_is_positive(name, left):
    assert counts_left(name) is left
