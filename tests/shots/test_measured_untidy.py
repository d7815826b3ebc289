"""Tables as they come: titles, unit rows, sums, letters for sides, other encodings. Read as meant, or told."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shot_tables import COLUMNS, HEAD, plan, rows, write_table

from flightsim.scenario.reading.problems import ScenarioError, Severity
from flightsim.shots.clubs_in_use import hands_in_use
from flightsim.shots.measured_cells import cell_value, header_unit, unit_meant
from flightsim.shots.measured_plan import MeasuredPlan
from flightsim.shots.measured_section import MEASURED_SECTION, SideAngleColumn, SpinColumn

GOOD = rows(12)
SIDE = SideAngleColumn(column="side", unit="deg")
SPIN = SpinColumn(column="spin", unit="rpm")


def of_bytes(folder: Path, raw: str | bytes, **section: Any) -> MeasuredPlan:
    (folder / "shots.csv").write_bytes(raw if isinstance(raw, bytes) else raw.encode())
    return plan(folder, **section)


def text(lines: list[list[str]] = GOOD, sign: str = ",") -> str:
    return "".join(sign.join(line) + "\n" for line in [list(HEAD), *lines])


def warnings_of(measured: MeasuredPlan) -> str:
    assert all(problem.severity is Severity.WARNING for problem in measured.warnings)
    return "\n".join(map(str, measured.warnings))


@pytest.fixture
def plain(tmp_path: Path) -> np.ndarray:
    write_table(tmp_path / "shots.csv", GOOD)
    return plan(tmp_path).rows.numbers


@pytest.mark.parametrize(
    "word",
    ["Average", "AVG", "Avg (12 shots)", "Mean:", "Std. Dev.", "StdDev", "Standard deviation", "St Dev", "Median",
     "Total", "Min", "Maximum", "Deviation", "Summary"],
)  # fmt: skip
@pytest.mark.parametrize("place", [0, 6])
def test_a_row_that_sums_up_others_never_flies_and_is_told(tmp_path, plain, word, place):
    row = ["", "151.2", "11.9", "1.1", "2690", "1.9", ""]
    row[place] = word
    plan_read = of_bytes(tmp_path, text([*GOOD, row]))
    assert np.array_equal(plan_read.rows.numbers, plain)
    assert f"line 14: not flown: {word!r} begins a row that sums up others: it is no shot" in warnings_of(plan_read)
    assert plan_read.provenance()["set_aside"][0]["line"] == 14


def test_a_player_called_max_is_no_maximum(tmp_path):
    lines = [[f"Max {k}", *line[1:]] for k, line in enumerate(GOOD)]
    assert len(of_bytes(tmp_path, text(lines)).rows) == 12


def test_a_table_of_sums_alone_is_no_table_of_shots(tmp_path):
    with pytest.raises(ScenarioError, match="no row below is a shot"):
        of_bytes(tmp_path, text([["Average", *GOOD[0][1:]], ["Std. Dev.", *GOOD[1][1:]]]))


def test_names_that_are_repeated_and_a_row_of_units_are_no_shots(tmp_path, plain):
    units = ["", "[mph]", "(deg)", "°", "rpm", "degrees", ""]
    plan_read = of_bytes(tmp_path, text([units, *GOOD[:6], list(HEAD), *GOOD[6:]]))
    assert np.array_equal(plan_read.rows.numbers, plain)
    assert "line 2: not flown: the row holds the columns' units" in warnings_of(plan_read)
    assert "line 9: not flown: the row repeats the columns' names" in warnings_of(plan_read)


def test_a_row_of_units_that_says_otherwise_is_told_with_the_key(tmp_path):
    units = ["", "m/s", "deg", "deg", "rpm", "deg", ""]
    with pytest.raises(ScenarioError, match=r"columns.ball_speed.unit: the table says m/s for 'Ball \(mph\)'"):
        of_bytes(tmp_path, text([units, *GOOD]))


def test_a_unit_in_a_name_that_says_otherwise_is_told_with_the_key(tmp_path):
    columns = {"ball_speed": {"column": "Ball (mph)", "unit": "km/h"}}
    lines = [[line[0], str(float(line[1]) * 1.6), *line[2:]] for line in GOOD]
    with pytest.raises(ScenarioError, match=r"the table says mph for .* and the scenario km/h"):
        of_bytes(tmp_path, text(lines), columns=columns)
    assert len(of_bytes(tmp_path, text(lines), columns=columns, accept_units=True).rows) == 12


def test_titles_above_the_names_are_passed_over_where_that_is_said(tmp_path, plain):
    raw = "A session on a Sunday\n\nPlayer,Ann\n" + text()
    with pytest.raises(ScenarioError, match="try: header_line: 4, under measured"):
        of_bytes(tmp_path, raw)
    assert np.array_equal(of_bytes(tmp_path, raw, header_line=4).rows.numbers, plain)
    with pytest.raises(ScenarioError, match="has no line 400 with names"):
        of_bytes(tmp_path, raw, header_line=400)


def test_a_first_line_that_says_what_parts_the_cells_is_heeded(tmp_path, plain):
    raw = "sep=;\r\n" + text(sign=";")
    assert np.array_equal(of_bytes(tmp_path, raw).rows.numbers, plain)
    with pytest.raises(ScenarioError, match=r"line 1 of .* says that ';' parts the cells"):
        of_bytes(tmp_path, raw, delimiter="|")


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig"])
def test_a_byte_order_mark_says_what_the_text_is_in(tmp_path, plain, encoding):
    raw = text([[*line[:6], "Größe 7"] for line in GOOD]).encode(encoding)
    plan_read = of_bytes(tmp_path, raw)
    assert np.array_equal(plan_read.rows.numbers, plain)
    assert plan_read.rows.clubs == ("Größe 7",)


def test_windows_text_is_read_where_that_is_said(tmp_path):
    raw = text([[*line[:6], "Größe 7"] for line in GOOD]).encode("cp1252")
    with pytest.raises(ScenarioError, match=r"not UTF-8 text\n.*\n  try: encoding: windows-1252"):
        of_bytes(tmp_path, raw)
    assert of_bytes(tmp_path, raw, encoding="windows-1252").rows.clubs == ("Größe 7",)


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("3.2", 3.2), ("-3.2", -3.2), ("3.2 R", 3.2), ("3.2R", 3.2), ("R 3.2", 3.2), ("L3.2", -3.2), ("3.2 left", -3.2),
        ("3.2° L", -3.2), ("3.2 deg R", 3.2), ("0 L", 0.0), ("\u22123.2", -3.2),
        ("-3.2 L", "says its side twice, by a sign and by a letter"), ("L", "is no number"), ("", "is blank"),
    ],
)  # fmt: skip
def test_a_letter_says_the_side(cell, value):
    assert cell_value(cell, "azimuth", SIDE, ".", None) == value


def test_a_letter_means_its_side_also_where_the_column_counts_left_as_positive():
    left = SideAngleColumn(column="side", unit="deg", left_is_positive=True)
    assert cell_value("3 R", "azimuth", left, ".", None) * left.sign == 3.0
    assert cell_value("3 L", "azimuth", left, ".", None) * left.sign == -3.0
    assert cell_value("3", "azimuth", left, ".", None) * left.sign == -3.0


@pytest.mark.parametrize(
    ("cell", "decimal", "between", "value"),
    [
        ("2,840", ".", ",", 2840.0), ("2.840", ",", ".", 2840.0), ("2 840 rpm", ".", " ", 2840.0),
        ("2\u202f840", ",", " ", 2840.0), ("1'234.5", ".", "'", 1234.5), ("12,345,678.5", ".", ",", 12345678.5),
        ("2840 rpm", ".", None, 2840.0), ("2840RPM", ".", None, 2840.0), ("1e3", ".", None, 1000.0),
        ("2,84", ".", ",", "is no number: a decimal comma, or one between thousands? decimal is '.'"),
        ("2840 mph", ".", None, "is in mph, and the column is said to be in rpm"),
        ("2840 R", ".", None, "is no number"),
    ],
)  # fmt: skip
def test_units_and_thousands_in_a_cell(cell, decimal, between, value):
    assert cell_value(cell, "spin_rate", SPIN, decimal, between) == value


def test_thousands_that_the_scenario_names_are_not_doubted(tmp_path, plain):
    lines = [[*line[:4], f"{float(line[4]):,.2f}", *line[5:]] for line in GOOD]
    plan_read = of_bytes(tmp_path, text(lines, ";"), delimiter=";", thousands=",")
    assert np.allclose(plan_read.rows.numbers, plain)
    with pytest.raises(ScenarioError, match="thousands and decimal are the same"):
        of_bytes(tmp_path, text(lines, ";"), delimiter=";", thousands=",", decimal=",")


@pytest.mark.parametrize(
    ("words", "unit"),
    [("(mph)", "mph"), ("[m/s]", "m/s"), ("Deg", "deg"), ("r.p.m.", "rpm"), ("KM/H", "km/h"), ("fps", "ft/s"),
     ("m_s", "m/s"), ("mm", None), ("yards", None)],
)  # fmt: skip
def test_units_as_tables_spell_them(words, unit):
    assert unit_meant(words) == unit


def test_only_brackets_at_a_names_end_are_its_unit():
    assert header_unit("Ball speed [km/h]") == "km/h"
    assert header_unit("(mph) ball") is None
    assert header_unit("deg") is None


def hands(folder: Path, **section: Any) -> MeasuredPlan:
    """Twelve rows with a column of hands: four by a left-hander."""
    words = ["R", "right", "RH", "Right-handed", "r", "right", "R", "R", "L", "left", "LH", "Left-handed"]
    lines = [[*line, word] for line, word in zip(GOOD, words, strict=True)]
    write_table(folder / "shots.csv", lines, (*HEAD, "who"))
    return plan(folder, columns={**COLUMNS, "hand": {"column": "who"}}, **section)


def test_each_row_is_flown_by_the_hand_that_hit_it(tmp_path, plain):
    plan_read = hands(tmp_path)
    assert np.array_equal(plan_read.rows.numbers, plain)
    assert [(kind.label, kind.hand, round(kind.share, 9)) for kind in plan_read.types] == [
        ("driver measured, right-handed", "right", round(8 / 12, 9)),
        ("driver measured, left-handed", "left", round(4 / 12, 9)),
    ]
    assert plan_read.group.tolist() == [0] * 8 + [1] * 4
    assert abs(plan_read.weights(12).sum() - 1.0) < 1e-12
    assert {club["hand"]: club["rows"] for club in plan_read.provenance()["clubs"]} == {"right": 8, "left": 4}


@pytest.mark.parametrize("hand", ["right", "left"])
def test_rows_of_the_other_hand_are_mirrored_to_the_hand_that_plays(tmp_path, plain, hand):
    plan_read = hands(tmp_path, hand=hand)
    turned = np.array([hand == "right"] * 8 + [hand == "left"] * 4)
    side = np.where(turned, 1.0, -1.0)
    assert np.allclose(plan_read.rows.numbers[[2, 4]], plain[[2, 4]] * side)
    assert np.array_equal(plan_read.rows.numbers[[0, 1, 3]], plain[[0, 1, 3]])
    assert {kind.hand for kind in plan_read.types} == {hand}
    assert len(plan_read.types) == 1


def test_zones_are_there_for_both_hands_where_the_table_says_who_hit(tmp_path):
    from flightsim.scenario.reading.load import load_scenario

    hands(tmp_path)
    assert hands_in_use(load_scenario(tmp_path / "bay.yaml", (MEASURED_SECTION,))) == ["right", "left"]


def test_a_cell_that_names_no_hand_is_told(tmp_path):
    write_table(tmp_path / "shots.csv", [[*line, "both"] for line in GOOD], (*HEAD, "who"))
    with pytest.raises(ScenarioError, match="line 2: who: 'both' is neither R nor L"):
        plan(tmp_path, columns={**COLUMNS, "hand": {"column": "who"}})


def test_two_words_for_who_hit_the_shots_are_refused(tmp_path):
    with pytest.raises(ScenarioError, match=r"both columns\.hand and measured_hand"):
        hands(tmp_path, measured_hand="left")
