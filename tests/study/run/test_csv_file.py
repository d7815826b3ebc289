"""Columns as text: what the csv module would write of each value, and what reads back to the same bits."""

from __future__ import annotations

import csv
from io import StringIO

import numpy as np

from flightsim.study.run.csv_file import cells, write_rows

ENDS = (0.0, -0.0, 1.0, -7.0, 1e-4, 9.999e-5, 1e-5, -3e-9, 5e-324, 1e15, 1e16, -1.5e16, 1.7e308, 0.1, 1 / 3, np.pi)


def by_csv(values: list) -> list[str]:
    text = StringIO()
    csv.writer(text, lineterminator="\n").writerows([value, "end"] for value in values)
    return [line.removesuffix(",end") for line in text.getvalue().splitlines()]


def test_floats_of_all_sizes_are_written_as_python_prints_them():
    random = np.random.default_rng(1)
    numbers = random.normal(size=4000) * 10.0 ** random.integers(-30, 30, 4000)
    column = np.concatenate([ENDS, numbers, np.round(numbers, 3), random.integers(-9, 9, 50)])
    assert cells(column) == [repr(value) for value in column.tolist()]
    assert (np.array([float(cell) for cell in cells(column)]) == column).all()


def test_what_is_no_number_is_blank_and_infinity_is_told():
    assert cells(np.array([np.nan, 1.5, np.inf, -np.inf])) == ["", "1.5", "inf", "-inf"]
    assert cells(np.empty(0)) == []


def test_whole_numbers_and_answers_are_written_as_python_prints_them():
    assert cells(np.array([-3, 0, 2**62])) == ["-3", "0", str(2**62)]
    assert cells(np.array([True, False])) == ["True", "False"]


def test_words_are_quoted_as_csv_does_and_formulas_are_made_harmless():
    words = ["", "screen", 'a "net", left', "two\tcolumns", " lamp"]
    assert cells(np.array(words, dtype=object)) == by_csv(words)
    assert cells(np.array(["=1+1", "plain"])) == ["'=1+1", "plain"]
    assert cells(np.array([None, 3], dtype=object)) == ["", "3"]


def test_rows_read_back_with_their_names():
    text = StringIO()
    table = {"shot": np.arange(3), "speed, m/s": np.array([1.25, np.nan, 3e-9]), "part": np.array(["a,b", "c", "é"])}
    write_rows(text, table, named=True)
    write_rows(text, table, named=False)
    read = list(csv.reader(StringIO(text.getvalue())))
    assert read[0] == list(table)
    assert read[1:4] == read[4:] == [["0", "1.25", "a,b"], ["1", "", "c"], ["2", "3e-09", "é"]]
