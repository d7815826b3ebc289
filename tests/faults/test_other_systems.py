"""A system without what POSIX alone has: file locks, SIGHUP, word of its memory, the replacing of an empty folder.

Windows lacks them. It is imitated here, not run: what else it does otherwise is not tested.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from flightsim.jobs import run_shots
from flightsim.report.pages import folder, held
from flightsim.report.pages.folder import built_beside, check_out

GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"


@pytest.fixture
def no_posix(monkeypatch):
    """Without locks, and without a way to swap or replace a folder."""
    rename = Path.rename

    def onto_nothing(self: Path, target: Path) -> Path:
        if Path(target).exists():
            raise FileExistsError(17, "File exists", str(target))
        return rename(self, target)

    monkeypatch.setattr(held, "fcntl", None)
    monkeypatch.setattr(folder, "swap", lambda one, other: False)
    monkeypatch.setattr(Path, "rename", onto_nothing)


def write(out: Path, words: str) -> None:
    with built_beside(out) as building:
        (building / "run.json").write_text(words)


@pytest.mark.usefixtures("no_posix")
def test_a_result_is_written_into_an_empty_folder_and_in_place_of_an_earlier_one(tmp_path):
    (tmp_path / "out").mkdir()
    for words in ("first", "second"):
        write(tmp_path / "out", words)
        assert (tmp_path / "out" / "run.json").read_text() == words
        assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.usefixtures("no_posix")
@pytest.mark.parametrize(("hours", "there"), [(1, True), (25, False)])
def test_without_locks_only_what_is_a_day_old_is_a_leftover(tmp_path, hours, there):
    left = tmp_path / ".out.abc.part"
    left.mkdir()
    then = left.stat().st_mtime - 3600.0 * hours
    os.utime(left, (then, then))
    check_out(tmp_path / "out")
    assert left.exists() == there


def test_a_machine_that_does_not_tell_its_memory_flies_what_is_asked(monkeypatch):
    monkeypatch.delattr(os, "sysconf")
    assert run_shots._memory() == float("inf")


def test_the_program_starts_and_reads_a_bay_there(tmp_path):
    code = (
        "import os, signal, sys\n"
        "sys.modules['fcntl'] = None\n"
        "for module, name in ((os, 'sysconf'), (signal, 'SIGHUP')): delattr(module, name)\n"
        "import flightsim.jobs.run_shots\n"
        "from flightsim.cli import main\n"
        f"sys.argv = ['flightsim', 'check', {str(GARAGE)!r}]\n"
        "main()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=tmp_path, check=False)
    assert done.returncode == 0, done.stderr
    assert "canopy" in done.stdout
