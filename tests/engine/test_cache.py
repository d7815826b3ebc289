"""What is compiled is kept in the engine's own folder, checked before it is used, and made again if it is broken."""

from __future__ import annotations

import os
import subprocess
import sys
import time

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


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_a_fresh_machine_compiles_once_and_an_unwritable_cache_costs_it_every_time(tmp_path):
    fresh, again = (shoot(XDG_CACHE_HOME=str(tmp_path)) for _ in range(2))
    assert fresh == [ready.COMPILING, *again]
    (tmp_path / "file").write_text("no folder")
    nowhere = [shoot(XDG_CACHE_HOME=str(tmp_path / "file")) for _ in range(2)]
    assert nowhere == [[ready.NOT_KEPT, *again]] * 2


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_a_broken_cache_is_compiled_again_and_gives_the_same(tmp_path):
    fresh = shoot(XDG_CACHE_HOME=str(tmp_path))
    for file in tmp_path.rglob("*.nbc"):
        file.write_bytes(file.read_bytes()[:1000])
    assert shoot(XDG_CACHE_HOME=str(tmp_path)) == fresh
