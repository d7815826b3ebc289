"""A run whose columns are on disk: the same to the bit, and memory that hardly grows with its length."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from flightsim.errors import BadInputError
from flightsim.study.run import on_disk
from flightsim.study.run.column_file import read_columns
from flightsim.study.run.columns import columns, columns_as_asked
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.run_files import write_data
from flightsim.study.run.walk import run

GARAGE = Path(__file__).parents[3] / "scenarios" / "single_garage.yaml"
SHOTS = 1500


@pytest.fixture(scope="module")
def opened():
    return open_bay(GARAGE)


@pytest.fixture(scope="module")
def in_memory(opened):
    return run(opened, SHOTS)


@pytest.fixture
def mapped(opened, monkeypatch):
    monkeypatch.setattr(on_disk, "IN_MEMORY", 100)
    return run(opened, SHOTS)


def tables(result):
    return result.shots, result.contacts, result.fates


def test_the_columns_of_a_long_run_are_on_disk_and_those_of_a_short_one_are_not(in_memory, mapped):
    for result, there in ((in_memory, False), (mapped, True)):
        maps = [on_disk._map_of(getattr(table, each.name)) for table in tables(result) for each in fields(table)]
        assert [found is not None for found in maps] == [there] * len(maps)


def test_a_run_on_disk_is_to_the_bit_the_run_in_memory(in_memory, mapped):
    for table, other in zip(tables(in_memory), tables(mapped), strict=True):
        for each in fields(table):
            assert np.array_equal(getattr(table, each.name), getattr(other, each.name), equal_nan=True), each.name
    assert in_memory.rates == mapped.rates
    assert in_memory.findings == mapped.findings


def test_what_was_let_go_is_read_again(in_memory, mapped):
    on_disk.let_go(*tables(mapped))
    assert np.array_equal(mapped.fates.worst, in_memory.fates.worst, equal_nan=True)


def test_a_run_that_begins_with_another_may_be_on_disk(opened, in_memory, monkeypatch):
    monkeypatch.setattr(on_disk, "IN_MEMORY", 100)
    begun = run(opened, 700)
    assert np.array_equal(run(opened, SHOTS, begun=begun).fates.point, in_memory.fates.point, equal_nan=True)


def test_its_files_are_those_of_the_run_in_memory(in_memory, mapped, tmp_path):
    kept = []
    for name, result in (("memory", in_memory), ("disk", mapped)):
        folder = tmp_path / name
        folder.mkdir()
        write_data(result, (), folder)
        kept.append((folder / "shots.csv").read_bytes())
        assert list(read_columns(folder / "shots.npz")) == list(columns(result))
    assert kept[0] == kept[1]


def test_a_column_that_is_asked_for_is_that_of_the_file_and_cannot_be_written(in_memory):
    asked, whole = columns_as_asked(in_memory), columns(in_memory)
    assert list(asked) == list(whole)
    for name, column in whole.items():
        assert np.array_equal(asked[name], column, equal_nan=column.dtype.kind == "f"), name
        assert not asked[name].flags.writeable
    assert in_memory.fates.time.flags.writeable  # it was a copy


def test_a_full_disk_is_told_before_a_ball_is_flown(opened, monkeypatch):
    def full(*given):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(on_disk, "IN_MEMORY", 100)
    monkeypatch.setattr(on_disk.os, "posix_fallocate", full)
    with pytest.raises(BadInputError, match=r"1,500 shots do not fit into .*: No space left[^$]*try: fewer shots"):
        run(opened, SHOTS)


MEASURED = """
import json, sys, threading, time
from pathlib import Path
from flightsim.study.run import fly
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.run_files import write_data
from flightsim.study.run.walk import run

one = fly.Flyer.fly
kept, seen = {}, []

def again(self, first, count):  # one chunk, again and again: what is held does not hang on what it says
    if count not in kept:
        kept[count] = one(self, 0, count)
    return kept[count]

def watch():
    while True:
        lines = Path("/proc/self/status").read_text().splitlines()
        seen.append(int(next(line for line in lines if line.startswith("RssAnon")).split()[1]))
        time.sleep(0.02)

fly.Flyer.fly = again
threading.Thread(target=watch, daemon=True).start()
shots, folder = int(sys.argv[2]), Path(sys.argv[3])
opened = open_bay(sys.argv[1])
write_data(run(opened, shots), (), folder)
print(json.dumps(max(seen)))
"""


def peak(shots: int, folder: Path) -> float:
    """The most memory, MB, that a process holds which flies so many shots and writes them: without the pages of mapped
    files, which the system takes back when it needs them.
    """
    folder.mkdir()
    command = [sys.executable, "-c", MEASURED, str(GARAGE), str(shots), str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return json.loads(done.stdout.splitlines()[-1]) / 1024.0


@pytest.mark.slow
@pytest.mark.timeout(3600)
def test_ten_million_shots_hold_at_most_half_as_much_again_as_one(tmp_path, capsys):
    one, ten = peak(1_000_000, tmp_path / "one"), peak(10_000_000, tmp_path / "ten")
    with capsys.disabled():
        print(f"\n1,000,000 shots: {one:,.0f} MB at most; 10,000,000: {ten:,.0f} MB, {ten / one:.2f} times as much")
    assert ten <= 1.5 * one
