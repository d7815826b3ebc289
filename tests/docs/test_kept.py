"""Answers that tests keep: worked out once, anew after an edit, and never half written."""

from __future__ import annotations

import os
import subprocess
import sys

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


def test_bytecode_is_kept_in_the_folder_of_answers_where_the_machine_wants_none_beside_the_sources(tmp_path):
    """Else each worker of each session, and each command that a test starts, compiles everything again."""
    (tmp_path / "test_one.py").write_text(
        "import os, sys\n\n\ndef test_one():\n"
        "    assert not sys.dont_write_bytecode and 'PYTHONDONTWRITEBYTECODE' not in os.environ\n"
        "    assert sys.pycache_prefix == os.environ['PYTHONPYCACHEPREFIX']\n"
    )
    conftest = kept_module.Path(__file__).parents[1] / "conftest.py"
    (tmp_path / "conftest.py").write_text(conftest.read_text())
    (tmp_path / "kept.py").write_text("alone = keep_in = str\n")  # the real one imports scipy, compiled anew here
    environment = os.environ | {"PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(tmp_path)}
    environment.pop("PYTHONPYCACHEPREFIX", None)
    environment |= {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}  # all but xdist are compiled anew here for nothing
    command = [sys.executable, "-m", "pytest", "-q", "-n", "1", "-p", "xdist", str(tmp_path)]
    ended = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=120)
    assert ended.returncode == 0, ended.stdout
    assert list((tmp_path / ".pytest_cache").rglob("bytecode/**/test_one*.pyc"))
