"""Tables of cloths that a machine keeps: bit for bit what was worked out, or worked out again."""

from __future__ import annotations

import os

import numpy as np
import pytest

from flightsim.cloth import kept_tables, square_hits
from flightsim.cloth.fabric import Cloth
from flightsim.cloth.kept_tables import kept_arrays
from flightsim.cloth.table import depth_table

ANSWER = {"depths": np.array([0.1, np.nan, 1.0 / 3.0]), "up": np.arange(4.0)}


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setattr(kept_tables, "_folder", lambda: tmp_path / "cloth")
    return tmp_path / "cloth"


def asked(times: list[int], what: str = "a cloth") -> dict[str, np.ndarray]:
    def work() -> dict[str, np.ndarray]:
        times.append(1)
        return ANSWER

    return kept_arrays(what, work)


def same(found: dict[str, np.ndarray]) -> bool:
    return list(found) == list(ANSWER) and all(np.array_equal(found[k], ANSWER[k], equal_nan=True) for k in ANSWER)


def test_what_is_kept_is_bit_for_bit_what_was_worked_out(home):
    times: list[int] = []
    assert same(asked(times))
    assert same(asked(times))
    assert len(times) == 1


def test_another_question_or_another_source_has_an_answer_of_its_own(home, monkeypatch):
    times: list[int] = []
    asked(times)
    asked(times, "another cloth")
    monkeypatch.setattr(kept_tables, "_sources", lambda: "edited")
    asked(times)
    assert len(times) == 3


@pytest.mark.parametrize("place", [0, 40, -1])
def test_a_file_with_a_wrong_bit_is_worked_out_again_and_mended(home, place):
    times: list[int] = []
    asked(times)
    (file,) = home.iterdir()
    data = bytearray(file.read_bytes())
    data[place] ^= 1
    file.write_bytes(data)
    assert same(asked(times))
    assert same(asked(times))
    assert len(times) == 2


@pytest.mark.parametrize("data", [b"", b"half"])
def test_a_file_that_is_cut_short_is_worked_out_again(home, data):
    times: list[int] = []
    asked(times)
    (file,) = home.iterdir()
    file.write_bytes(data)
    assert same(asked(times))
    assert len(times) == 2


def test_where_nothing_can_be_kept_every_question_is_worked_out(home):
    home.write_text("a file where the folder would be")
    times: list[int] = []
    assert same(asked(times))
    assert same(asked(times))
    assert len(times) == 2


def test_there_are_never_many(home, monkeypatch):
    monkeypatch.setattr(kept_tables, "MOST", 3)
    times: list[int] = []
    for k in range(8):
        asked(times, f"cloth {k}")
        assert len(list(home.iterdir())) <= 3


def test_when_there_are_too_many_those_go_that_were_read_longest_ago(home, monkeypatch):
    monkeypatch.setattr(kept_tables, "MOST", 3)
    times: list[int] = []
    for k in range(3):
        asked(times, f"cloth {k}")
        (new,) = set(home.iterdir()) - {file for file in home.iterdir() if file.stat().st_mtime < 1e6}
        os.utime(new, (k, k))  # seconds after 1970
    asked(times, "cloth 0")  # read: now the newest
    asked(times, "cloth 3")  # so the first that goes is 1
    assert len(times) == 4
    for kept in ("cloth 0", "cloth 2", "cloth 3"):
        asked(times, kept)
    assert len(times) == 4
    asked(times, "cloth 1")
    assert len(times) == 5


def test_a_cloths_table_is_the_same_from_the_lattice_and_from_where_it_is_kept(home, monkeypatch):
    cloth = Cloth(shear_ratio=0.02)  # held all round: symmetric, so that a quarter of it is worked
    depth_table.cache_clear()
    first = depth_table(cloth, to_deepest=True)
    depth_table.cache_clear()
    monkeypatch.setattr(square_hits, "strike", lambda *given, **how: pytest.fail("the lattice was asked"))
    again = depth_table(cloth, to_deepest=True)
    depth_table.cache_clear()
    assert again.cloth == first.cloth
    for name in ("speeds", "across", "up", "depths", "restitutions", "edges"):
        assert np.array_equal(getattr(again, name), getattr(first, name), equal_nan=True), name


def test_each_system_keeps_them_where_it_keeps_such_things(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "x"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "l"))
    monkeypatch.setenv("HOME", str(tmp_path))
    for system, place in (("linux", "x"), ("win32", "l"), ("darwin", "Library/Caches")):
        monkeypatch.setattr(kept_tables.sys, "platform", system)
        assert kept_tables._folder() == tmp_path / place / "flightsim" / "cloth"
