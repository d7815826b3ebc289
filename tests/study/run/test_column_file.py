"""shots.npz holds what shots.csv holds, column by column, whatever the chunks."""

from __future__ import annotations

import numpy as np
import pytest
from baselines import baseline

from flightsim.study.run import run_files
from flightsim.study.run.column_file import read_columns, write_columns
from flightsim.study.run.columns import columns
from flightsim.study.run.run_files import write_data


@pytest.mark.parametrize("rows", [137, 20_000])
def test_every_column_reads_back_as_it_is(tmp_path, monkeypatch, rows):
    monkeypatch.setattr(run_files, "_ROWS", rows)
    result = baseline("single_garage")
    write_data(result, (), tmp_path)
    kept, table = read_columns(tmp_path / "shots.npz"), columns(result)
    assert list(kept) == list(table)
    for name, column in table.items():
        if column.dtype.kind == "f":
            assert np.array_equal(kept[name], column, equal_nan=True), name
        else:
            assert kept[name].tolist() == column.tolist(), name


def test_a_long_table_is_written_as_csv_only_where_it_is_asked_for(tmp_path, monkeypatch):
    monkeypatch.setattr(run_files, "MOST_ROWS", 10)
    for name, as_csv, there in (("plain", None, False), ("asked", True, True)):
        folder = tmp_path / name
        folder.mkdir()
        write_data(baseline("single_garage"), (), folder, as_csv)
        assert (folder / "shots.csv").exists() is there
        assert sorted(path.name for path in folder.iterdir() if path.suffix != ".csv") == [
            "run.json", "shots.npz", "summary.json"
        ]  # fmt: skip


def test_what_cannot_be_written_leaves_no_pieces(tmp_path):
    def chunks():
        yield {"a": np.arange(3.0), "b": np.array(["x", "y", "x"], dtype=object)}
        raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space"):
        write_columns(chunks(), tmp_path / "shots.npz")
    assert list(tmp_path.iterdir()) == []


def test_numpy_reads_it_with_its_words(tmp_path):
    write_columns([{"who": np.array(["b", "a", "b"], dtype=object), "k": np.arange(3)}], tmp_path / "shots.npz")
    with np.load(tmp_path / "shots.npz") as kept:
        assert kept["who.words"][kept["who"]].tolist() == ["b", "a", "b"]
        assert kept["k"].tolist() == [0, 1, 2]
