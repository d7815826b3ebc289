"""Names in any script: tables keep their columns, verdict lines their width, and a long name is cut and shows it."""

from __future__ import annotations

import io

import pytest
from rich.cells import cell_len

from flightsim.report.words.plain_table import Table
from flightsim.report.words.say import Paper, show
from flightsim.report.words.verdict_words import joined, listed

NAMES = (
    "screen",
    "屏幕",
    "ひだり側のネット",
    "המסך הגדול",
    "الشبكة",
    "côté gauche",
    "e\u0301cran",
    "한국어 그물",
    "a" * 40,
)


def printed(table: Table) -> list[str]:
    text = io.StringIO()
    show(Paper(file=text, width=120, highlight=False), table)
    return text.getvalue().splitlines()


def test_the_columns_of_a_table_stand_below_one_another_whatever_the_script():
    rows = tuple((name, f"{k} m/s", "held") for k, name in enumerate(NAMES))
    lines = [line for line in printed(Table("Names", ("part", "speed", "end"), rows, frozenset({1}))) if "m/s" in line]
    assert len(lines) == len(NAMES)
    assert len({cell_len(line[: line.index("m/s")]) for line in lines}) == 1
    assert len({cell_len(line[: line.index("held")]) for line in lines}) == 1


@pytest.mark.parametrize("name", NAMES)
def test_a_verdict_line_keeps_its_columns_and_shows_where_a_name_was_cut(name):
    line = joined([name * 12, ", and more"], 40)
    assert cell_len(line) <= 40
    assert line.endswith("...")
    assert cell_len(listed([name] * 9, 60)) <= 60


def test_a_name_that_fits_by_letters_but_not_by_columns_is_cut():
    assert joined(["屏幕" * 12], 40) != "屏幕" * 12


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_no_cell_of_a_number_is_cut_and_words_stay_whole_where_there_is_room(width):
    head = ("who", "height", "shots", "5.0+", "7.5+", "9.7+", "fastest")
    row = ("right-hander at tee", "below", "41", "142", "27", "4.1", "22.7")
    text = io.StringIO()
    show(Paper(file=text, width=width, highlight=False), Table("", head, (row,), frozenset(range(2, 7))))
    said = text.getvalue()
    if width >= 60:
        assert all(word in said for word in (*head, *row[1:], "right-hander"))
    assert all(cell_len(line) <= width for line in said.splitlines())
    assert "22.7" in said.replace("\n", "") or width < 60
