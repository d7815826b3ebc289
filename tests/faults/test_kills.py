"""Killed at any moment, twice into one folder, or on a full disk: an earlier result is whole, or the new one."""

from __future__ import annotations

import builtins
import errno
import io
import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

import flightsim
from flightsim import cli
from flightsim.errors import BadInputError
from flightsim.library.fly_bay import Run
from flightsim.plugin.testing import SMALL_BAY
from flightsim.report.pages import folder as folder_of_results
from flightsim.report.pages import held, run_folder
from flightsim.report.pages.folder import LIST, built_beside, check_out, clear

KILLS = 50  # for each number of workers
FIRST, SECOND = 1, 2  # seeds
SHOTS = 40
BAY = SMALL_BAY + "launches: {use: [driver]}\n"
CHANGES = ("open", "os.rename", "os.remove", "os.rmdir", "os.mkdir", "os.chmod", "ctypes.dlsym")  # of a disk


def command(out: Path, seed: int, *more: str) -> list[str]:
    bay = out.with_name("bay.yaml")
    if not bay.exists():
        bay.write_text(BAY, encoding="utf-8")
    return ["run", str(bay), "--shots", str(SHOTS), "--quick", "--seed", str(seed), "--out", str(out), *more]


def program(*words: str) -> list[str]:
    return [sys.executable, "-m", "flightsim", *words]


def run(out: Path, seed: int, *more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(program(*command(out, seed, *more)), capture_output=True, text=True, check=False)


def forked(work: Callable[[], object]) -> int:
    """The number of a new process that does this, and that knows already all that is imported here."""
    child = os.fork()
    if child:
        return child
    try:
        for number in (1, 2):
            os.dup2(os.open(os.devnull, os.O_WRONLY), number)
        work()
    finally:
        os._exit(0)


def seed_of_whole(out: Path) -> int:
    """The seed of the result, which has all files that it lists, with all shots in them."""
    files = {str(path.relative_to(out)) for path in out.rglob("*") if path.is_file()}
    listed = set((out / LIST).read_text(encoding="utf-8").split("\n")) - {""}
    assert listed <= files
    json.loads((out / "summary.json").read_text(encoding="utf-8"))
    rows = (out / "shots.csv").read_text(encoding="utf-8").splitlines()
    assert len(rows) == SHOTS + 1
    assert "</html>" in (out / "report.html").read_text(encoding="utf-8")
    seed: int = json.loads((out / "run.json").read_text(encoding="utf-8"))["seed"]
    return seed


@pytest.mark.slow
@pytest.mark.timeout(3600)
@pytest.mark.parametrize("workers", ["1", "2"])
def test_a_run_killed_at_any_moment_leaves_the_earlier_result_or_its_own(
    workers: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A third of the kills at any time of a run; the others about the swap, which each kill places more closely."""
    monkeypatch.setattr(held, "LEFT_BEHIND", -1.0)  # what was left a moment ago is removed as well
    draw, out, met = random.Random(16 + int(workers)), tmp_path / "out", {"earlier": 0, "own": 0}

    def once(seed: int) -> float:
        monkeypatch.setattr(sys, "argv", ["flightsim", *command(out, seed, "--workers", workers)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        assert ended.value.code in (0, 1), capsys.readouterr().err
        return time.monotonic()

    once(FIRST)  # all is imported and compiled
    begun = time.monotonic()
    whole_run, seed, swaps = once(FIRST) - begun, FIRST, 1.0
    for kill in range(KILLS):
        other = FIRST + SECOND - seed
        child = forked(lambda other=other: once(other))
        early = kill % 3 == 0
        time.sleep(whole_run * (draw.uniform(0.0, 1.0) if early else swaps * draw.uniform(0.99, 1.01)))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        found = seed_of_whole(out)
        met["own" if found == other else "earlier"] += 1
        swaps *= 1.0 if early else 0.97 if found == other else 1.05
        seed = found
    with capsys.disabled():
        print(f"\n{KILLS} kills, {workers} workers: {met}")
    assert min(met.values()) > 0
    once(SECOND)
    assert seed_of_whole(out) == SECOND
    assert [path.name for path in tmp_path.iterdir() if path.name != "bay.yaml"] == ["out"]


def written(out: Path, word: str) -> None:
    """A result of three files, as a run writes it."""
    check_out(out)
    with built_beside(out) as folder:
        (folder / "figures").mkdir()
        for name in ("summary.json", "report.html", "figures/paths.png"):
            (folder / name).write_text(word, encoding="utf-8")


def whole(out: Path) -> set[str]:
    """What the files of the result say, which are all there."""
    names = ("summary.json", "report.html", "figures/paths.png")
    assert set((out / LIST).read_text(encoding="utf-8").split()) == set(names)
    return {(out / name).read_text(encoding="utf-8") for name in names}


def killed_at(number: int, folder: Path, work: Callable[[], object]) -> bool:
    """Do this in a process that kills itself before its change of this number to the disk; whether it was killed."""

    def with_a_trap() -> None:
        left = [number]

        def trap(event: str, given: tuple[object, ...]) -> None:
            if event in CHANGES and (event.startswith("ctypes") or str(folder) in str(given[0]) or "dir_fd" in event):
                if left[0] == 0:
                    os.kill(os.getpid(), signal.SIGKILL)
                left[0] -= 1

        sys.addaudithook(trap)
        work()

    _, status = os.waitpid(forked(with_a_trap), 0)
    return os.WIFSIGNALED(status)


@pytest.mark.parametrize("in_one_step", [True, False], ids=["swap", "two renames"])
def test_a_kill_before_any_change_to_the_disk_leaves_one_whole_result(
    in_one_step: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The moment of the swap among them; where the system cannot swap, the next run puts back what stood aside."""
    monkeypatch.setattr(held, "LEFT_BEHIND", -1.0)  # what was left a moment ago is removed as well
    if not in_one_step:
        monkeypatch.setattr(folder_of_results, "swap", lambda one, other: False)
    out, seen = tmp_path / "out", set()
    written(out, "earlier")
    for number in range(200):
        killed = killed_at(number, tmp_path, lambda: written(out, "own"))
        clear(out)
        (said,) = whole(out)
        seen.add((killed, said))
        if not killed:
            break
        if said == "own":
            written(out, "earlier")
    assert number > 10
    assert seen == {(True, "earlier"), (True, "own"), (False, "own")}
    written(out, "later")
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_two_runs_into_one_folder_leave_one_whole_result_and_both_end_with_a_word(tmp_path: Path) -> None:
    out = tmp_path / "out"
    both = [
        subprocess.Popen(program(*command(out, seed)), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for seed in (FIRST, SECOND)
    ]
    said = [process.communicate() for process in both]
    for process, (answer, error) in zip(both, said, strict=True):
        assert process.returncode in (0, 1, 2), error
        assert "Traceback" not in error
        assert answer.strip() if process.returncode < 2 else error.strip()
    assert seed_of_whole(out) in (FIRST, SECOND)
    assert [path.name for path in tmp_path.iterdir() if path.name != "bay.yaml"] == ["out"]


class Failing:
    """Files under a folder cannot be written from the one of this number on."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, folder: Path, number: int, error: int) -> None:
        self.seen, opening = 0, io.open

        def failing(file, mode="r", *given, **named):
            writes = isinstance(file, str | Path) and str(file).startswith(str(folder)) and set(mode) & set("wax+")
            if writes:
                self.seen += 1
                if number <= self.seen:
                    raise OSError(error, "No space left" if error == errno.ENOSPC else "Read-only", str(file))
            return opening(file, mode, *given, **named)

        for module in (builtins, io):
            monkeypatch.setattr(module, "open", failing)


def refusal(run: Run, out: Path) -> str:
    """What a run is refused with as it is saved, or ""."""
    try:
        run.save(out)
    except BadInputError as error:
        return str(error)
    return ""


@pytest.mark.slow
@pytest.mark.timeout(1800)
@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EROFS], ids=["full", "read-only"])
def test_a_disk_that_is_full_or_read_only_at_any_file_costs_no_earlier_result(
    error: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every file that a run writes, one by one; its pictures are drawn once, and written each time."""
    first, second = (flightsim.run(BAY, SHOTS, seed) for seed in (FIRST, SECOND))
    out, drawn = tmp_path / "out", []
    draw = run_folder.write_figures

    def kept_in_mind(result, folder, *given, **named):
        if not drawn:
            drawn.extend((info, info.path.read_bytes()) for info in draw(result, folder, *given, **named))
        folder.mkdir(exist_ok=True)
        for info, data in drawn:
            (folder / info.path.name).write_bytes(data)
        return [replace(info, path=folder / info.path.name) for info, _ in drawn]

    monkeypatch.setattr(run_folder, "write_figures", kept_in_mind)
    first.save(out)
    for number in range(1, 500):
        with monkeypatch.context() as patched:
            failing = Failing(patched, tmp_path, number, error)
            words = refusal(second, out)
        if not words:
            break
        assert str(out) in words
        assert "nothing was written there" in words
        assert seed_of_whole(out) == FIRST
        assert [path.name for path in tmp_path.iterdir()] == ["out"]
    with capsys.disabled():
        print(f"\n{number - 1} of {failing.seen} files at which the disk was {os.strerror(error)}")
    assert number - 1 == failing.seen > 20
    assert seed_of_whole(out) == SECOND
