"""A plugin that ends, crashes or hangs the program: named from outside, and the run that it spoilt flown again."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

SCRIPT = """
import os, signal, sys, time
from flightsim.cli import watch
from flightsim.plugin.notes import given_up, noted

watch._others_are_installed = lambda: True
sys.argv = ["flightsim", "run"]

def work():
    if words := given_up("crate", "flightsim_judge"):
        print("without it:", words)
        sys.exit(3)
    print("at work", flush=True)
    with noted("crate", "flightsim-crate 2.1", "{hook}"):
        {deed}
    sys.exit(1)

watch.watched(work)
"""
CRATE = "plugin 'crate' (from flightsim-crate 2.1): "


def watched(deed: str, hook: str = "flightsim_parts", patience: str = "60") -> subprocess.CompletedProcess[str]:
    script = SCRIPT.format(deed=deed, hook=hook)
    return subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=600, check=False,
        env={**os.environ, "FLIGHTSIM_PLUGIN_SECONDS": patience},
    )  # fmt: skip


def test_work_that_ends_by_itself_ends_with_its_own_exit_code():
    ended = watched("pass")
    assert (ended.returncode, ended.stdout, ended.stderr) == (1, "at work\n", "")


@pytest.mark.parametrize(
    ("deed", "words"),
    [
        ("os._exit(0)", "flightsim_parts ended the program (exit code 0)"),
        ("os._exit(1)", "flightsim_parts ended the program (exit code 1)"),
        ("os.kill(os.getpid(), signal.SIGSEGV)", "flightsim_parts crashed (signal 11)"),
        ("os.kill(os.getpid(), signal.SIGKILL)", "flightsim_parts was killed (signal 9): out of memory?"),
    ],
)
def test_what_a_plugin_does_to_the_program_is_blamed_on_it(deed, words):
    ended = watched(deed)
    assert (ended.returncode, ended.stderr) == (3, f"{CRATE}{words}\n")


@pytest.mark.parametrize("deed", ["time.sleep(60)", "signal.pthread_sigmask(signal.SIG_BLOCK, [15]); time.sleep(60)"])
def test_a_hook_that_hangs_is_ended_and_named(deed):
    ended = watched(deed, patience="0.5")
    assert ended.returncode == 3
    assert ended.stderr.startswith(f"{CRATE}flightsim_parts did not come back within 0.5 s")


@pytest.mark.parametrize("deed", ["os._exit(0)", "time.sleep(60)"])
def test_what_fails_after_the_flight_is_left_out_of_a_second_try(deed):
    ended = watched(deed, "flightsim_judge", patience="0.5")
    assert ended.returncode == 3
    assert "goes on from the start without it" in ended.stderr
    assert "without it: " in ended.stdout


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_signals_are_passed_on_to_the_work(number):
    deed = f"signal.signal({int(number)}, lambda *_: os._exit(0)); print('ready', flush=True); time.sleep(60)"
    script = SCRIPT.format(deed="pass", hook="x").replace("with noted", f"{deed}\n    with noted")
    with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert [process.stdout.readline() for _ in range(2)] == ["at work\n", "ready\n"]
        process.send_signal(number)
        assert process.wait(timeout=600) == 0


def test_nothing_goes_on_unseen_when_the_watcher_is_killed():
    deed = "print(os.getpid(), flush=True); time.sleep(60)"
    script = SCRIPT.format(deed=deed, hook="flightsim_parts")
    with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        process.stdout.readline()
        at_work = int(process.stdout.readline())
        process.kill()
        assert process.stdout.read() == ""  # which ends only when the work has ended too
    state = Path(f"/proc/{at_work}/stat")
    deadline = time.monotonic() + 600.0
    while state.exists() and state.read_text().rpartition(")")[2].split()[0] != "Z" and time.monotonic() < deadline:
        os.sched_yield()
    assert not state.exists() or state.read_text().rpartition(")")[2].split()[0] == "Z"


def test_an_installed_plugin_that_ends_the_program_is_named_on_the_command_line(tmp_path):
    info = tmp_path / "flightsim_crate-2.1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: flightsim-crate\nVersion: 2.1\n")
    (info / "entry_points.txt").write_text("[flightsim]\ncrate = crate_plugin\n")
    (tmp_path / "crate_plugin.py").write_text("import os\nos._exit(0)\n")
    ended = subprocess.run(
        [sys.executable, "-m", "flightsim", "plugins"], capture_output=True, text=True, timeout=600, check=False,
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
    )  # fmt: skip
    assert (ended.returncode, ended.stderr) == (3, f"{CRATE}its import ended the program (exit code 0)\n")
