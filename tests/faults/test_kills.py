"""Killed at any moment, twice into one folder, or on a full disk: an earlier result is whole, or the new one."""

from __future__ import annotations

import builtins
import errno
import io
import json
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from flightsim import cli
from flightsim.report.pages.folder import LIST

ROOT = Path(__file__).parents[2]
KILLS = 50  # for each number of workers
FIRST, SECOND = 1, 2  # seeds
SHOTS = 400


def command(out: Path, seed: int, *more: str) -> list[str]:
    bay = ROOT / "scenarios" / "lean_to.yaml"
    asked = ["run", str(bay), "--shots", str(SHOTS), "--quick", "--seed", str(seed), "--out", str(out), *more]
    return [sys.executable, "-m", "flightsim", *asked]


def run(out: Path, seed: int, *more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command(out, seed, *more), capture_output=True, text=True, check=False)


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
def test_a_run_killed_at_any_moment_leaves_the_earlier_result_or_its_own(workers: str, tmp_path: Path) -> None:
    """Half of the kills at any time of a run, half in its last fifth, where it writes and swaps."""
    draw, out = random.Random(16 + int(workers)), tmp_path / "out"
    assert run(out, FIRST, "--workers", workers).returncode in (0, 1)
    begun = time.monotonic()
    run(tmp_path / "other", SECOND, "--workers", workers)
    whole_run, met = time.monotonic() - begun, {FIRST: 0, SECOND: 0}
    for kill in range(KILLS):
        process = subprocess.Popen(
            command(out, SECOND, "--workers", workers), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            start_new_session=True,
        )  # fmt: skip
        try:
            process.wait(whole_run * draw.uniform(0.0 if kill % 2 else 0.8, 1.02))
        except subprocess.TimeoutExpired:
            process.send_signal(signal.SIGKILL)
            process.wait()
        seed = seed_of_whole(out)
        met[seed] += 1
        if seed == SECOND:
            assert run(out, FIRST, "--workers", workers).returncode in (0, 1)
    print(met)
    assert met[FIRST] > 0


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_two_runs_into_one_folder_leave_one_whole_result_and_both_end_with_a_word(tmp_path: Path) -> None:
    out = tmp_path / "out"
    both = [
        subprocess.Popen(command(out, seed), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for seed in (FIRST, SECOND)
    ]
    said = [process.communicate() for process in both]
    for process, (answer, error) in zip(both, said, strict=True):
        assert process.returncode in (0, 1, 2), error
        assert "Traceback" not in error
        assert answer.strip() if process.returncode < 2 else error.strip()
    assert seed_of_whole(out) in (FIRST, SECOND)
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


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


@pytest.mark.slow
@pytest.mark.timeout(1800)
@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EROFS])
def test_a_disk_that_is_full_or_read_only_at_any_file_costs_no_earlier_result(
    error: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    out, files = tmp_path / "out", []
    assert run(out, FIRST).returncode in (0, 1)
    for number in range(1, 60):
        with monkeypatch.context() as patched:
            failing = Failing(patched, tmp_path, number, error)
            patched.setattr(sys, "argv", command(out, SECOND, "--workers", "1")[2:])
            with pytest.raises(SystemExit) as ended:
                cli.main()
        told = capsys.readouterr()
        if failing.seen < number:
            assert ended.value.code in (0, 1), told.err
            break
        files.append(number)
        assert ended.value.code == 2, told.err
        assert "Traceback" not in told.err
        assert "out" in told.err
        assert seed_of_whole(out) == FIRST
        assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert len(files) >= 4
    assert seed_of_whole(out) == SECOND
