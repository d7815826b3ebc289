"""A table of measured shots is read whole, or every place where it cannot be is told."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shot_tables import HEAD, plan, rows, write_table

from flightsim.scenario.reading.problems import ScenarioError
from flightsim.shots.measured_cells import read_number
from flightsim.shots.measured_plan import MeasuredPlan
from flightsim.shots.measured_rows import SHOWN, BadRowsError

GOOD = rows(12)


def planned(folder: Path, lines: list[list[str]] | None = None, **section: Any) -> MeasuredPlan:
    write_table(folder / "shots.csv", GOOD if lines is None else lines)
    return plan(folder, **section)


def refused(folder: Path, lines: list[list[str]] | None = None, **section: Any) -> str:
    with pytest.raises(ScenarioError) as raised:
        planned(folder, lines, **section)
    return str(raised.value).replace(str(folder), "DIR")


def of_text(folder: Path, text: str | bytes, **section: Any) -> str:
    (folder / "shots.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(ScenarioError) as raised:
        plan(folder, **section)
    return str(raised.value).replace(str(folder), "DIR")


def changed(row: int, column: str, cell: str) -> list[list[str]]:
    lines = [list(line) for line in GOOD]
    lines[row][HEAD.index(column)] = cell
    return lines


# The file


@pytest.mark.parametrize("text", ["", "\n\n", b"\xef\xbb\xbf"])
def test_an_empty_file_is_told(tmp_path: Path, text: str | bytes) -> None:
    assert "DIR/shots.csv: the table is empty" in of_text(tmp_path, text)


def test_a_file_with_names_only_is_told_with_its_line(tmp_path: Path) -> None:
    assert "DIR/shots.csv, line 2: there is no row below the columns' names" in of_text(tmp_path, "\n" + ",".join(HEAD))


def test_a_missing_file_names_the_one_that_is_there(tmp_path: Path) -> None:
    refusal = refused(tmp_path, file="shot.csv")
    assert "line" in refusal
    assert "measured.file: there is no file DIR/shot.csv" in refusal
    assert "try: shots.csv" in refusal


def test_a_folder_is_no_table(tmp_path: Path) -> None:
    assert "DIR is no file" in refused(tmp_path, file=".")


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"\xff\xfen\0o\0,", "line 1: the table is not UTF-16 text"),
        (b"no,club\n1,dr\xfcver\n", "line 2: the table is not UTF-8 text"),
        (b"no,club\n1,x\n\0", "line 3: a character that no text has"),
        (b'no,club\n1,x\n2,"driver\n3,x\n', "line 3: a quote is never closed"),
        (b'no,club\n1,"a"b\n', "line 2: ',' expected"),
    ],
)
def test_what_is_no_text_or_no_table_is_told_with_its_line(tmp_path: Path, raw: bytes, words: str) -> None:
    assert words in of_text(tmp_path, raw)


def test_a_byte_order_mark_quotes_blank_lines_and_line_ends_of_any_kind_do_not_matter(tmp_path: Path) -> None:
    plain = planned(tmp_path).rows.numbers
    text = "\r\n\r\n".join(",".join(f'"{cell}"' for cell in line) for line in [HEAD, *GOOD])
    (tmp_path / "shots.csv").write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert np.array_equal(plan(tmp_path).rows.numbers, plain)


def test_the_path_starts_at_the_scenario_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    planned(tmp_path)
    (tmp_path / "data").mkdir()
    shutil.move(tmp_path / "shots.csv", tmp_path / "data")
    monkeypatch.chdir(tmp_path.parent)
    assert len(plan(Path(tmp_path.name), file="data/shots.csv").rows) == len(GOOD)


# The columns


def test_a_missing_column_names_the_nearest_and_every_one_is_told(tmp_path: Path) -> None:
    columns = {"ball_speed": {"column": "ball (mhp)", "unit": "mph"}, "azimuth": {"column": "sid", "unit": "deg"}}
    refusal = refused(tmp_path, columns=columns)
    assert "measured.columns.ball_speed.column: the table has no column 'ball (mhp)'" in refusal
    assert "the names in line 1 of DIR/shots.csv: no, Ball (mph), launch" in refusal
    assert "try: Ball (mph)" in refusal
    assert "try: side" in refusal


def test_a_name_that_two_columns_have_is_told_only_where_it_is_used(tmp_path: Path) -> None:
    write_table(tmp_path / "shots.csv", [[*row, "x", "y"] for row in GOOD], (*HEAD, "other", "other"))
    assert len(plan(tmp_path).rows) == len(GOOD)
    write_table(tmp_path / "shots.csv", [[*row, "x"] for row in GOOD], (*HEAD, "spin"))
    with pytest.raises(ScenarioError, match="2 columns of the table are named 'spin'"):
        plan(tmp_path)


@pytest.mark.parametrize(("sign", "shown"), [(";", '";"'), ("\t", r'"\t"'), ("|", '"|"')])
def test_a_table_parted_by_another_sign_says_which(tmp_path: Path, sign: str, shown: str) -> None:
    write_table(tmp_path / "shots.csv", GOOD, delimiter=sign)
    with pytest.raises(ScenarioError) as raised:
        plan(tmp_path)
    assert f"try: delimiter: {shown}" in str(raised.value)
    assert len(plan(tmp_path, delimiter=sign).rows) == len(GOOD)


def test_decimal_commas_are_read_where_they_are_said(tmp_path: Path) -> None:
    plain = planned(tmp_path).rows.numbers
    write_table(tmp_path / "shots.csv", [[cell.replace(".", ",") for cell in row] for row in GOOD], delimiter=";")
    assert np.array_equal(plan(tmp_path, delimiter=";", decimal=",").rows.numbers, plain)
    with pytest.raises(ScenarioError, match="a decimal comma, or one between thousands"):
        plan(tmp_path, delimiter=";")


@pytest.mark.parametrize(
    ("section", "words"),
    [
        ({"decimal": ","}, "delimiter and decimal are the same"),
        ({"delimiter": "a"}, "'a' cannot part the cells"),
        ({"columns": {"spin_rate": None, "spin_tilt": None}}, "no spin is given"),
        ({"columns": {"backspin": {"column": "spin", "unit": "rpm"}}}, "both spin_rate and backspin are given"),
        ({"columns": {"sidespin": {"column": "no", "unit": "rpm"}}}, "sidespin does not go with spin_rate"),
        ({"columns": {"elevation": {"column": "side", "unit": "deg"}}}, "the column 'side' is named twice"),
        ({"columns": {"ball_speed": {"column": "Ball (mph)", "unit": "knots"}}}, "'knots' is not known here"),
        ({"columns": {"ball_speed": {"column": "Ball (mph)"}}}, "measured.columns.ball_speed.unit: missing"),
        ({"bandwidth": 0.5}, "bandwidth does nothing with spread: none"),
        ({"nu": 5.0, "spread": "kernel"}, "nu does nothing with spread: kernel"),
        ({"hand": "left"}, "does not say who hit the measured shots"),
        ({"shares": {"driver": 0.9}}, "the shares add to 0.9"),
        ({"columns": {"club": None}, "shares": {"driver": 1.0}}, "no column holds the club"),
        ({"shares": {"drivr": 1.0}}, "measured.shares.drivr: no row to fly is of 'drivr'"),
    ],
)
def test_what_does_not_go_together_is_told_at_its_key(tmp_path: Path, section: dict[str, Any], words: str) -> None:
    refusal = refused(tmp_path, **section)
    assert words in refusal
    assert "bay.yaml, line" in refusal


# The cells


@pytest.mark.parametrize(
    ("column", "cell", "words"),
    [
        ("launch", "abc", "line 4: launch: 'abc' is no number"),
        ("launch", "", "line 4: launch: the cell is blank"),
        ("launch", "NaN", "line 4: launch: 'NaN' is no number: nothing was measured"),
        ("launch", "1_0", "line 4: launch: '1_0' is no number"),
        ("launch", "12 mph", "line 4: launch: '12 mph' is in mph, and the column is said to be in deg"),
        ("launch", "12 gon", "line 4: launch: '12 gon' is no number"),
        ("side", "-3 L", "line 4: side: '-3 L' says its side twice, by a sign and by a letter"),
        ("launch", "1e999", "line 4: launch: '1e999' is no number that can be flown"),
        ("spin", "2,700", "line 4: spin: '2,700' is no number: a decimal comma, or one between thousands?"),
        ("spin", "-1", "line 4: spin: '-1' is -1 rpm, which is not within 0 and 15,000 rpm"),
        ("spin", "15001", "line 4: spin: '15001' is 15,001 rpm"),
        ("side", "91", "line 4: side: '91' is 91 deg, which is not within -90 and 90 deg"),
        ("launch", "-31", "line 4: launch: '-31' is -31 deg, which is not within -30 and 90 deg"),
        ("Ball (mph)", "6.7", "line 4: Ball (mph): '6.7' is 2.995 m/s, which is not within 3 and 100 m/s"),
        ("Ball (mph)", "224", "line 4: Ball (mph): '224' is 100.1 m/s"),
        ("club", " ", "line 4: club: the cell is blank: no club"),
    ],
)
def test_a_bad_cell_is_told_with_line_column_and_reason(tmp_path: Path, column: str, cell: str, words: str) -> None:
    refusal = refused(tmp_path, changed(2, column, cell))
    assert "measured.bad_rows: 1 of 12 rows of DIR/shots.csv cannot be flown" in refusal
    assert f"DIR/shots.csv, {words}" in refusal
    assert "bad_rows: leave_out" in refusal


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (["x", "150"], "the row has 2 cells where the first line has 7 names"),
        ([*GOOD[2], "9"], "the row has 8 cells where the first line has 7 names; a decimal comma?"),
        ([""] * 7, "the row is blank in every cell"),
        (GOOD[0], "the row is the same as line 2"),
    ],
)
def test_a_row_that_is_broken_or_a_repeat_is_told(tmp_path: Path, line: list[str], words: str) -> None:
    assert f"line 4: {words}" in refused(tmp_path, [*GOOD[:2], line, *GOOD[2:]])


def test_lines_are_counted_through_blank_lines_and_cells_of_several_lines(tmp_path: Path) -> None:
    head, one, two, three, *_ = [",".join(line) for line in [HEAD, *changed(2, "launch", "?")]]
    text = f'{head}\n\n"shot\none",{one.partition(",")[2]}\n{two}\n{three}\n'
    assert "DIR/shots.csv, line 6: launch: '?' is no number" in of_text(tmp_path, text)


def test_spin_that_is_too_much_only_in_sum_is_told(tmp_path: Path) -> None:
    head = ("no", "v", "e", "a", "b", "s")
    columns = {"spin_rate": None, "spin_tilt": None, "club": None, "backspin": {"column": "b", "unit": "rpm"},
               "sidespin": {"column": "s", "unit": "rpm"}, "ball_speed": {"column": "v", "unit": "m/s"},
               "elevation": {"column": "e", "unit": "deg"}, "azimuth": {"column": "a", "unit": "deg"}}  # fmt: skip
    lines = [[str(k), "60", "12", "3", "9000", "500"] for k in range(5)] + [["6", "60", "12", "3", "-11000", "11000"]]
    write_table(tmp_path / "shots.csv", lines, head)
    with pytest.raises(ScenarioError, match="line 7: the row spins at 15,556 rpm, back and side together"):
        plan(tmp_path, columns=columns)


def test_of_many_bad_cells_the_first_are_printed_and_all_are_counted_and_kept(tmp_path: Path) -> None:
    lines = rows(200)
    for k in range(0, 120, 2):
        lines[k][HEAD.index("launch")] = lines[k][HEAD.index("side")] = "?"
    with pytest.raises(BadRowsError) as raised:
        planned(tmp_path, lines)
    text = str(raised.value)
    assert "60 of 200 rows" in text
    assert text.count("is no number") == SHOWN
    assert f"... and {120 - SHOWN} more. Bad lines: 2, 4, 6," in text
    assert text.endswith("118, 120")
    assert len(raised.value.problems) == 1 + 120


def test_bad_rows_left_out_are_warned_of_one_by_one_and_kept_in_full(tmp_path: Path) -> None:
    lines = changed(2, "launch", "?")
    lines[7] = lines[7][:3]
    there = planned(tmp_path, lines, bad_rows="leave_out")
    warnings = [str(problem) for problem in there.warnings]
    assert "2 of 12 rows" in warnings[0]
    assert "may be one that went far astray" in warnings[0]
    assert "Bad lines: 4, 9" in warnings[0]
    assert "line 4: launch: left out: '?' is no number" in warnings[1]
    assert "line 9: left out: the row has 3 cells" in warnings[2]
    assert len(there.rows) == 10
    kept = there.provenance()["left_out"]
    assert [(cell["line"], cell["column"]) for cell in kept] == [(4, "launch"), (9, "")]
    assert set(there.rows.line) == {2, 3, 5, 6, 7, 8, 10, 11, 12, 13}


def test_a_club_that_loses_all_its_rows_is_named_and_its_share_refused(tmp_path: Path) -> None:
    lines = [*GOOD, *([*row[:2], "?", *row[3:]] for row in rows(2, "old wedge"))]
    warned = " ".join(str(problem) for problem in planned(tmp_path, lines, bad_rows="leave_out").warnings)
    assert "no row with 'old wedge' is left" in warned
    shares = {"driver": 0.5, "old wedge": 0.5}
    assert "no row to fly is of 'old wedge'" in refused(tmp_path, lines, bad_rows="leave_out", shares=shares)


def test_a_table_of_bad_rows_only_is_refused_even_where_they_may_be_left_out(tmp_path: Path) -> None:
    refusal = refused(tmp_path, [[*row[:2], "?", *row[3:]] for row in GOOD], bad_rows="leave_out")
    assert "12 of 12 rows" in refusal
    assert "leave_out flies" not in refusal


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [
        ("1.5", ".", 1.5),
        (" -2 ", ".", -2.0),
        ("−3", ".", -3.0),
        (".5", ".", 0.5),
        ("1,5", ",", 1.5),
        ("+1e2", ".", 100.0),
    ],
)
def test_a_number_is_read_as_it_is_written(text: str, decimal: str, value: float) -> None:
    assert read_number(text, decimal) == value


@pytest.mark.parametrize("text", ["0x10", "1e", "٣", "1 2", "--1", "inf", "Infinity", "1.2.3", "true"])
def test_what_is_no_plain_number_is_not_read_as_one(text: str) -> None:
    assert isinstance(read_number(text, "."), str)


# Thousands


def in_thousands(sign: str = ".") -> list[list[str]]:
    """GOOD with spins such as 2840 written 2.840, as half of the world does."""
    place, lines = HEAD.index("spin"), [list(line) for line in GOOD]
    for line in lines:
        whole = round(float(line[place]))
        line[place] = f"{whole // 1000}{sign}{whole % 1000:03d}"
    return lines


def test_spins_with_a_point_between_thousands_are_refused_with_line_column_and_a_way_out(tmp_path: Path) -> None:
    lines = in_thousands()
    refusal = refused(tmp_path, lines)
    spin = lines[0][HEAD.index("spin")]
    whole = spin.replace(".", "")
    assert "12 of 12 rows of DIR/shots.csv cannot be flown" in refusal
    assert f"DIR/shots.csv, line 2: spin: '{spin}' may be {whole} rpm with a point between thousands" in refusal
    assert f"write {whole}" in refusal
    assert "accept_units: true" in refusal


def test_one_spin_among_many_that_has_a_point_between_thousands_is_found(tmp_path: Path) -> None:
    refusal = refused(tmp_path, changed(2, "spin", "2.840"))
    assert "DIR/shots.csv, line 4: spin: '2.840' may be 2840 rpm with a point between thousands" in refusal
    there = planned(tmp_path, changed(2, "spin", "2.840"), bad_rows="leave_out")
    assert len(there.rows) == len(GOOD) - 1


def test_where_the_decimal_sign_is_a_comma_one_between_thousands_is_found_as_well(tmp_path: Path) -> None:
    lines = [[cell.replace(".", ",") for cell in row] for row in in_thousands()]
    write_table(tmp_path / "shots.csv", lines, delimiter=";")
    with pytest.raises(ScenarioError, match=r"may be [0-9]+ rpm with a comma between thousands"):
        plan(tmp_path, delimiter=";", decimal=",")


def test_accept_units_flies_such_spins_as_they_are_and_says_so(tmp_path: Path) -> None:
    there = planned(tmp_path, changed(2, "spin", "2.840"), accept_units=True)
    assert len(there.rows) == len(GOOD)
    assert there.rows.numbers[3, 2] ** 2 + there.rows.numbers[4, 2] ** 2 == pytest.approx((2.84 * np.pi / 30.0) ** 2)
    warnings = " ".join(str(problem) for problem in there.warnings)
    assert "line 4: spin: flown as it is: '2.840' may be 2840 rpm" in warnings


@pytest.mark.parametrize("cell", ["2.84", "2840.125", "0.350", "15.001", "2.8401"])
def test_what_is_not_written_as_thousands_is_none(tmp_path: Path, cell: str) -> None:
    assert "thousands" not in str(planned(tmp_path, changed(2, "spin", cell)).warnings)


def sides(*cells: str) -> tuple[list[list[str]], tuple[str, ...], dict[str, Any]]:
    head = ("no", "v", "e", "a", "b", "s")
    columns = {"spin_rate": None, "spin_tilt": None, "club": None, "backspin": {"column": "b", "unit": "rpm"},
               "sidespin": {"column": "s", "unit": "rpm"}, "ball_speed": {"column": "v", "unit": "m/s"},
               "elevation": {"column": "e", "unit": "deg"}, "azimuth": {"column": "a", "unit": "deg"}}  # fmt: skip
    return [[str(k), "60", "12", "3", "2700", cell] for k, cell in enumerate(cells)], head, columns


def test_sidespins_are_doubted_only_where_the_whole_column_is_written_so(tmp_path: Path) -> None:
    """A sidespin may be 1.2 rpm: a table of decimals has some that no thousands look like."""
    *table, columns = sides("-350", "1.200", "80", "-420", "610", "5")
    write_table(tmp_path / "shots.csv", *table)
    with pytest.raises(ScenarioError, match=r"line 3: s: '1\.200' may be 1200 rpm with a point between thousands"):
        plan(tmp_path, columns=columns)
    *table, columns = sides("-350.125", "1.200", "80.500", "-420.000", "610.250", "5.125")
    write_table(tmp_path / "shots.csv", *table)
    assert len(plan(tmp_path, columns=columns).rows) == 6


# What no unit explains


def test_a_column_far_from_all_that_is_likely_in_any_unit_is_refused(tmp_path: Path) -> None:
    lines = [list(line) for line in GOOD]
    for line in lines:
        line[HEAD.index("spin")] = f"{float(line[HEAD.index('spin')]) / 1000.0:.2f}"
    refusal = refused(tmp_path, lines)
    assert "measured.columns.spin_rate.unit: no unit explains these" in refusal
    assert "accept_units: true" in refusal


def test_a_column_that_is_odd_in_any_unit_flies_with_a_warning(tmp_path: Path) -> None:
    lines = [list(line) for line in GOOD]
    for k, line in enumerate(lines):
        line[HEAD.index("spin")] = f"{700 + k}"
    warnings = " ".join(str(problem) for problem in planned(tmp_path, lines).warnings)
    assert "measured.columns.spin_rate.unit: no unit explains these" in warnings
