"""What is compiled is kept in the engine's own folder, checked before it is used, and made again if it is broken."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numba
import pytest

from flightsim.engine import cache, notice, ready
from flightsim.engine.cache import Kept

SHOOT = """
import sys
import numpy as np
from flightsim.bay.parts import Bay
from flightsim.engine import notice
from flightsim.engine.follow import first_contacts
from flightsim.flight.integrator import Physics
from flightsim.flight.launches import launch
notice.tell_with(print)
shots = launch(np.zeros((3, 1)), 30.0, 0.2, 0.0, 0.0, 0.0)
found = first_contacts(Physics(), shots, Bay((), (), -np.ones(3), np.ones(3)))
print("left by", found.opening[0], "at", round(float(found.time[0]), 6))
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "inner").mkdir()
    (tmp_path / "inner" / "play.1.nbc").write_bytes(b"machine code")
    return tmp_path


def shoot(**environment: str) -> list[str]:
    done = subprocess.run(
        [sys.executable, "-c", SHOOT], env={**os.environ, **environment}, capture_output=True, text=True, check=True
    )
    return done.stdout.splitlines()


def test_a_folder_is_sound_once_it_is_sealed(folder):
    assert not Kept(folder).is_sound()
    Kept(folder).seal()
    assert Kept(folder).is_sound()


@pytest.mark.parametrize(
    "spoil",
    [
        lambda folder: (folder / "inner" / "play.1.nbc").write_bytes(b"machine c"),
        lambda folder: (folder / "inner" / "play.1.nbc").unlink(),
        lambda folder: (folder / "inner" / "play.2.nbc").write_bytes(b"of another run"),
        lambda folder: (folder / cache.LIST).write_text("{"),
        lambda folder: (folder / cache.LIST).unlink(),
    ],
)
def test_a_folder_that_was_changed_is_not_sound_and_is_cleared(folder, spoil):
    Kept(folder).seal()
    spoil(folder)
    assert not Kept(folder).is_sound()
    Kept(folder).clear()
    assert [file for file in folder.rglob("*") if file.is_file()] == []


def test_folders_of_other_versions_go_once_nobody_has_used_them_for_a_month(tmp_path):
    kept, used, old, foreign = (tmp_path / name for name in ("engine-now", "engine-used", "engine-old", "lattice-old"))
    for folder in (kept, used, old, foreign):
        folder.mkdir()
        (folder / "play.nbc").write_bytes(b"machine code")
        Kept(folder).seal()
    month = time.time() - cache.OLD - 60.0
    for folder in (used, old, foreign):
        os.utime(folder / cache.LIST, (month, month))
    assert Kept(used).is_sound()  # somebody uses it: it is no longer old
    Kept(kept).seal()
    assert sorted(folder.name for folder in tmp_path.iterdir()) == ["engine-now", "engine-used", "lattice-old"]


def test_a_cache_that_does_not_load_is_cleared_and_compiled_again_and_told(folder, monkeypatch):
    Kept(folder).seal()
    monkeypatch.setattr(ready, "_done", set())
    monkeypatch.setattr(notice, "_told", [])
    said, calls = [], []
    notice.tell_with(said.append)

    def compile_it():
        calls.append(len(list(folder.rglob("*.nbc"))))
        if calls == [1]:
            raise ValueError("it does not load")

    ready.make_ready(compile_it, Kept(folder))
    assert calls == [1, 0]
    assert said == [ready.COMPILING]


def test_the_users_own_cache_folder_is_left_as_it_was():
    assert os.environ.get("NUMBA_CACHE_DIR", "") == numba.config.CACHE_DIR


@dataclass(frozen=True)
class Machine:
    """An install that nobody may write to, on a machine that has not compiled it; what the first command said."""

    install: Path
    cache: Path
    first: list[str]
    files: dict[Path, int]

    def shoot(self, cache: Path) -> list[str]:
        """A ball flown by this install, compiled things kept in this folder."""
        return shoot(XDG_CACHE_HOME=str(cache), PYTHONPATH=str(self.install), PYTHONDONTWRITEBYTECODE="1")


def files_of(install: Path) -> dict[Path, int]:
    return {file: file.stat().st_mtime_ns for file in install.rglob("*")}


@pytest.fixture(scope="module")
def fresh_machine(tmp_path_factory):
    """Compiling takes some 35 s of a processor: these tests share it."""
    root = tmp_path_factory.mktemp("machine")
    shutil.copytree(cache.PACKAGE, root / "install" / "flightsim", ignore=shutil.ignore_patterns("__pycache__"))
    for each in (root / "install").rglob("*"):
        each.chmod(each.stat().st_mode & ~0o222)
    files = files_of(root / "install")
    first = shoot(XDG_CACHE_HOME=str(root / "cache"), PYTHONPATH=str(root / "install"), PYTHONDONTWRITEBYTECODE="1")
    return Machine(root / "install", root / "cache", first, files)


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_a_read_only_install_compiles_once_and_leaves_nothing_beside_its_sources(fresh_machine):
    again = fresh_machine.shoot(fresh_machine.cache)
    assert fresh_machine.first == [ready.COMPILING, *again]
    assert len(again) == 1
    assert "left by" in again[0]
    assert files_of(fresh_machine.install) == fresh_machine.files


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_an_unwritable_cache_works_and_says_what_it_costs(fresh_machine, tmp_path):
    (tmp_path / "file").write_text("no folder")
    lines = fresh_machine.shoot(tmp_path / "file")
    assert lines == [ready.NOT_KEPT, *fresh_machine.first[1:]]
    assert (tmp_path / "file").read_text() == "no folder"


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_a_broken_cache_is_compiled_again_and_gives_the_same(fresh_machine, tmp_path):
    shutil.copytree(fresh_machine.cache, tmp_path / "cache")
    broken = list((tmp_path / "cache").rglob("*.nbc"))
    assert broken
    for file in broken:
        file.write_bytes(file.read_bytes()[:1000])
    assert fresh_machine.shoot(tmp_path / "cache") == fresh_machine.first
