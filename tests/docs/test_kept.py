"""Answers that tests keep: worked out once, anew after an edit, and never half written."""

from __future__ import annotations

import kept as kept_module
import pytest
from kept import keep_in, kept, write_at_once


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder of its own to keep answers in, and a tree of its own to hash."""
    monkeypatch.setattr(kept_module, "_folder", [])
    monkeypatch.setattr(kept_module, "ROOT", tmp_path / "tree")
    kept_module.sources.cache_clear()
    (tmp_path / "tree" / "room").mkdir(parents=True)
    (tmp_path / "tree" / "room" / "file.py").write_text("one")
    (tmp_path / "kept").mkdir()
    keep_in(tmp_path / "kept")
    yield tmp_path / "kept"
    kept_module.sources.cache_clear()


def asked(times: list[int], question: object = 3) -> int:
    def work() -> int:
        times.append(1)
        return 7

    return kept("sum", question, ("room",), work)


def test_an_answer_is_worked_out_once_and_for_each_question(folder):
    times: list[int] = []
    assert [asked(times), asked(times), asked(times, 4)] == [7, 7, 7]
    assert len(times) == 2


def test_an_edit_of_a_source_asks_anew(folder):
    times: list[int] = []
    asked(times)
    (kept_module.ROOT / "room" / "file.py").write_text("two")
    kept_module.sources.cache_clear()  # as a new session begins
    asked(times)
    assert len(times) == 2


def test_a_write_that_fails_leaves_what_was_there(folder):
    write_at_once(folder / "a", b"first")
    with pytest.raises(TypeError):
        write_at_once(folder / "a", "no bytes")  # type: ignore[arg-type]
    assert (folder / "a").read_bytes() == b"first"


def test_without_a_folder_every_question_is_worked_out(monkeypatch):
    monkeypatch.setattr(kept_module, "_folder", [])
    times: list[int] = []
    assert [asked(times), asked(times)] == [7, 7]
    assert len(times) == 2
