"""A dozen tables, as no maker's layout is assumed, all invented: what `flightsim measured` tells of each, alone."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
import yaml

from flightsim import cli

NAMES = "Ball Speed (mph),Launch Angle (deg),Direction (deg R+),Spin (rpm),Spin Axis (deg R+)\n"
ROWS = "146.2,11.4,-2.1,2840,-3.5\n149.0,9.8,1.7,2610,2.0\n138.5,14.9,6.3,3320,9.5\n"
FIRST = "the ball leaves at 65.4 m/s (146 mph), 11.4 deg up and 2.1 deg to the left"


@dataclass(frozen=True)
class Table:
    """A table, words that its answer has, keys that its section has, and how many shots fly."""

    raw: bytes
    words: tuple[str, ...]
    keys: dict[str, object]
    shots: int = 3


TABLES = {
    "titles": Table(
        f"A session on a Sunday\nPlayer,Ann\n\n{NAMES}{ROWS}".encode(),
        (FIRST, "the names stand in line 4"),
        {"header_line": 4},
    ),
    "units below": Table(
        ("Ball Speed,Launch Angle,Direction (R+),Spin,Spin Axis (R+)\nmph,deg,deg,rpm,deg\n" + ROWS).encode(),
        (FIRST, "line 2: not flown: the row holds the columns' units"),
        {},
    ),
    "sep": Table(("sep=;\r\n" + (NAMES + ROWS).replace(",", ";")).encode(), (FIRST,), {}),
    "mark": Table((NAMES + ROWS).encode("utf-8-sig"), (FIRST,), {}),
    "cp1252": Table(
        ("Schläger," + NAMES + "".join(f"Eisen größer,{row}\n" for row in ROWS.split())).encode("cp1252"),
        (FIRST, "it is not UTF-8"),
        {"encoding": "windows-1252"},
    ),
    "utf16": Table((NAMES + ROWS).replace(",", "\t").encode("utf-16"), (FIRST,), {"delimiter": "\t"}),
    "thousands": Table(
        (NAMES + ROWS).replace(",", ";").replace(".", ",").replace("2840", "2.840").replace("2610", "2.610")
        .replace("3320", "3.320").encode(),
        (FIRST, "2,840 rpm of backspin"),
        {"delimiter": ";", "decimal": ",", "thousands": "."},
    ),
    "units inside": Table(
        (
            b"Ball Speed,Launch Angle,Direction (R+),Spin,Spin Axis (R+)\n"
            b"146.2 mph,11.4 deg,-2.1 deg,2840 rpm,-3.5 deg\n149.0 mph,9.8 deg,1.7 deg,2610 rpm,2.0 deg\n"
            b"138.5 mph,14.9 deg,6.3 deg,3320 rpm,9.5 deg\n"
        ),
        (FIRST, "2,840 rpm of backspin"),
        {},
    ),
    "letters": Table(
        (
            b"Ball Speed (mph),Launch Angle (deg),Direction,Spin (rpm),Spin Axis\n"
            b"146.2,11.4,2.1 L,2840,3.5 L\n149.0,9.8,1.7 R,2610,2.0 R\n138.5,14.9,6.3 R,3320,9.5 R\n"
        ),
        (FIRST, "its axis 3.5 deg over, which curves it left"),
        {},
    ),
    "hands, clubs, sums": Table(
        (
            "Shot,Club,Hand," + NAMES + "1,Driver,R,146.2,11.4,-2.1,2840,-3.5\n2,Driver,L,149.0,9.8,1.7,2610,2.0\n"
            "3,9 Iron,R,98.4,21.6,-1.2,7350,-2.5\nAverage,,,131.2,14.3,-0.5,4266,-1.3\nStd. Dev.,,,20,6,2,2000,2\n"
        ).encode(),
        (FIRST, "'Average' begins a row that sums up others", "'Std. Dev.' begins a row that sums up others",
         "3 shots of Driver, 9 Iron"),
        {},
    ),
    "more sums than shots": Table(
        (
            "Shot," + NAMES + "".join(f"{k},{row}\n" for k, row in enumerate(ROWS.split(), 1))
            + "".join(f"{word},144,12,2,2900,1\n" for word in ("Average", "Min", "Max", "Range", "Mittelwert"))
        ).encode(),
        (FIRST, "'Min' begins a row that sums up others", "'Mittelwert' begins a row that sums up others"),
        {},
    ),
    "a side beside the unit": Table(
        (NAMES + "146.2,11.4,-2.1,2840,-0.5\n149.0,9.8,1.7,2610,1.0\n138.5,14.9,0.3,3320,1.5\n").encode(),
        ("its axis 0.5 deg over",),
        {},
    ),
}  # fmt: skip


def test_two_columns_of_one_name_are_told(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    Path("t.csv").write_text(
        "Ball Speed (mph),Launch Angle (deg),Launch Angle (deg),Direction (deg R+),Spin (rpm)\n1,2,3,4,5\n"
    )
    monkeypatch.setattr(sys, "argv", ["flightsim", "measured", "t.csv", "--yes"])
    with pytest.raises(SystemExit) as left:
        cli.main()
    assert left.value.code == 2
    assert "the name 'Launch Angle (deg)' stands twice" in capsys.readouterr().err


@pytest.mark.parametrize("name", list(TABLES))
def test_a_hostile_table_is_read_as_meant_and_told_how(tmp_path, monkeypatch, capsys, name):
    table = TABLES[name]
    monkeypatch.chdir(tmp_path)
    Path("t.csv").write_bytes(table.raw)
    monkeypatch.setattr(sys.stdin, "isatty", lambda: False, raising=False)
    monkeypatch.setattr(sys, "argv", ["flightsim", "measured", "t.csv", "--yes", "--out", "section.yaml"])
    with pytest.raises(SystemExit) as left:
        cli.main()
    shown = capsys.readouterr()
    assert (left.value.code or 0, shown.err) == (0, "")
    output = " ".join(shown.out.split())
    for words in (*table.words, f"{table.shots} shots of "):
        assert words in output
    section = yaml.safe_load(Path("section.yaml").read_text(encoding="utf-8"))["measured"]
    layout = {key: value for key, value in section.items() if key not in ("file", "columns")}
    assert layout == table.keys
    assert ("hand" in section["columns"]) == (name == "hands, clubs, sums")
