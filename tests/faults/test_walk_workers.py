"""Several threads fly as one does; and a run that is stopped leaves nothing behind, whenever that is."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import threading
from contextlib import suppress
from functools import partial
from pathlib import Path

import numpy as np
import pytest

import flightsim.study.run.crew as crews
from flightsim.errors import TerminatedError, ask_to_stop, forget_stop
from flightsim.library.fly_bay import fly_bay
from flightsim.study.run.crew import crew, each_chunk, shared_out, side_by_side
from flightsim.study.run.fly import fly_shots
from flightsim.study.run.open_bay import open_bay

GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"
PROMISED = 2.0  # s in which any command ends


@pytest.mark.parametrize("workers", [2, 3])
def test_threads_give_the_same_bits_as_one(monkeypatch, workers):
    monkeypatch.setattr(crews, "CHUNK", 512)
    opened = open_bay(GARAGE)
    one = fly_shots(opened, 3000, 1)
    with crew(workers):
        more = fly_shots(opened, 3000, 1)
    for table, other in zip(one, more, strict=True):
        for name in table.__dataclass_fields__:
            assert np.array_equal(getattr(table, name), getattr(other, name), equal_nan=True), name


def test_what_is_asked_to_stop_is_heard_once_the_chunks_in_the_air_are_down():
    done: list[int] = []

    def fly(first: int, count: int) -> int:
        done.append(first)
        return count

    def stop_after_two() -> None:
        for number, _ in enumerate(each_chunk([(k, 1) for k in range(1000)], fly)):
            if number == 1:
                ask_to_stop(TerminatedError)

    with crew(2), pytest.raises(TerminatedError):
        stop_after_two()
    forget_stop()
    flown = len(done)
    assert 2 <= flown < 20
    assert len(done) == flown  # nobody flies on


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_tasks_side_by_side_come_in_their_order_each_flown_by_one_thread(workers):
    def work(task: int) -> list[int]:
        return [first for (first, _), _ in each_chunk(shared_out(3000), lambda first, count: count)]

    with crew(workers):
        found = list(side_by_side(iter(range(7)), work))
    assert [task for task, _ in found] == list(range(7))
    assert all(chunks == [0] for _, chunks in found)  # not shared out again


def test_what_a_task_raises_is_raised_in_its_turn_and_the_others_end_at_their_next_look():
    begun = threading.Event()
    looked: list[int] = []

    def work(task: int) -> int:
        if task == 0:
            assert begun.wait(60.0)
            raise ValueError("the bay fell down")
        for number, _ in enumerate(each_chunk([(k, 1) for k in range(1_000_000)], lambda first, count: count)):
            begun.set()
            looked.append(number)
        return task

    with crew(2), pytest.raises(ValueError, match="the bay fell down"):
        list(side_by_side(iter(range(5)), work))
    assert 0 < len(looked) < 1_000_000


def test_what_is_asked_to_stop_is_heard_while_tasks_fly_and_ends_them():
    def work(task: int) -> int:
        ask_to_stop(TerminatedError)
        while True:  # until nobody waits for it
            list(each_chunk([(k, 1) for k in range(100)], lambda first, count: task))

    with crew(2), pytest.raises(TerminatedError):
        list(side_by_side(iter(range(5)), work))
    forget_stop()


def test_failures_and_remedies_are_the_same_whatever_the_workers():
    opened = open_bay(GARAGE)
    one = fly_bay(opened, 2400, 1).result
    two = fly_bay(opened, 2400, 1, workers=2).result
    assert one.what_if == two.what_if
    assert [trouble.tried for trouble in one.troubles] == [trouble.tried for trouble in two.troubles]
    assert any(trouble.tried for trouble in one.troubles)


def test_what_flying_raises_in_a_thread_is_raised_at_home():
    def fly(first: int, count: int) -> int:
        return 1 // (first - 3)

    with crew(3), pytest.raises(ZeroDivisionError):
        list(each_chunk([(k, 1) for k in range(8)], fly))


@pytest.mark.parametrize(("kind", "code"), [("KeyboardInterrupt", 130), ("TerminatedError", 143)])
def test_a_stop_while_the_engine_is_compiled_ends_there_and_then(kind, code):
    """An exception in the compiler's callbacks ended a process with a fault of memory now and then."""
    words = f"from flightsim.errors import *; c = compiling(); c.__enter__(); ask_to_stop({kind}); print('went on')"
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (code, "")
    assert done.stderr == "Stopped. Nothing was written.\n"


STOPPED_AT = """
import os, signal, sys
from flightsim import cli

def stop(event, given):
    if event == {event!r} and {of!r} in repr(given) and not heard:
        heard.append(event)
        os.kill(os.getpid(), signal.{kind})

heard = []
sys.addaudithook(stop)
cli.start()
"""


def stopped_at(tmp_path: Path, event: str, of: str, kind: str) -> subprocess.CompletedProcess[str]:
    """`python -m flightsim schema`, stopped at the first such event of the interpreter."""
    (tmp_path / "stopped.py").write_text(STOPPED_AT.format(event=event, of=of, kind=kind))
    command = [sys.executable, "-m", "stopped", "schema"]
    path = os.pathsep.join((str(tmp_path), os.environ.get("PYTHONPATH", "")))
    return subprocess.run(
        command, capture_output=True, text=True, check=False, env={**os.environ, "PYTHONPATH": path},
        preexec_fn=partial(signal.signal, signal.SIGINT, signal.default_int_handler),
    )  # fmt: skip


@pytest.mark.parametrize(("kind", "code"), [("SIGINT", 130), ("SIGTERM", 143)])
@pytest.mark.parametrize(
    ("event", "of"),
    [("import", "flightsim.cli.watch"), ("import", "flightsim.scenario"), ("exec", "<string>")],
    ids=["before the work", "at the work", "as a dataclass is made"],
)
def test_a_stop_at_any_step_of_the_start_has_its_exit_code_and_no_traceback(tmp_path, event, of, kind, code):
    """Python 3.11 ends `python -m` by the signal once a KeyboardInterrupt has passed through an `exec` of text."""
    done = stopped_at(tmp_path, event, of, kind)
    assert (done.returncode, done.stdout) == (code, "")
    assert done.stderr in ("Stopped.\n", "Stopped. Nothing was written.\n")


def test_a_stop_as_the_interpreter_is_taken_down_changes_nothing(tmp_path):
    done = stopped_at(tmp_path, "cpython._PySys_ClearAuditHooks", "", "SIGINT")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.endswith("}\n")


def processor_seconds(pid: int) -> float:
    """What a process has used of the processor; endless once it has ended."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return float("inf")
    return float("inf") if fields[0] == "Z" else (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def ended(process: subprocess.Popen[str]) -> bool:
    """Whether it ends within a hundredth of a second."""
    with suppress(subprocess.TimeoutExpired):
        process.wait(timeout=0.01)
    return process.returncode is not None


def stopped(folder: Path, kind: signal.Signals, after: float, words: list[str]) -> tuple[float, int, str]:
    """A command that is stopped when it has used so much of the processor: the processor time that it took to end, its
    exit code, and what it said.
    """
    command = [sys.executable, "-m", "flightsim", *words]
    heard = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)  # a shell's background jobs are born deaf to it
    with subprocess.Popen(
        command, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, preexec_fn=heard
    ) as process:
        while processor_seconds(process.pid) < after and not ended(process):
            pass
        before = processor_seconds(process.pid)
        process.send_signal(kind)
        took = 0.0
        while not ended(process):
            now = processor_seconds(process.pid)
            took = took if now == float("inf") else now - before
        return took, process.wait(), process.communicate()[1]


ENDS = {signal.SIGTERM: 143, signal.SIGINT: 130, signal.SIGKILL: -9}


def check_stopped(tmp_path: Path, kind: signal.Signals, after: float, workers: int, earlier: bool = True) -> None:
    many = ["run", str(GARAGE), "--shots", "4000000", "--out", "out", "--workers", str(workers)]
    if earlier:
        earlier_result(tmp_path)
    took, code, said = stopped(tmp_path, kind, after, many)
    assert took < PROMISED
    assert "Stopped" in said
    assert "Traceback" not in said
    assert code == ENDS[kind]
    assert [path.name for path in tmp_path.iterdir()] == ["out"] * earlier
    assert not earlier or (tmp_path / "out" / "run.json").read_text() == "earlier"


def earlier_result(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / ".flightsim").write_text("run.json\n")
    (tmp_path / "out" / "run.json").write_text("earlier")


@pytest.mark.parametrize(
    ("kind", "after", "workers", "earlier"), [(signal.SIGTERM, 1.6, 1, True), (signal.SIGINT, 2.2, 2, False)]
)
def test_a_run_that_is_stopped_ends_at_once_and_leaves_no_more_than_the_earlier_result(
    tmp_path, kind, after, workers, earlier
):
    check_stopped(tmp_path, kind, after, workers, earlier)


@pytest.mark.slow
@pytest.mark.parametrize("number", range(40))
def test_forty_stops_at_any_moment(tmp_path, number):
    draw = random.Random(number)
    kind = draw.choice([signal.SIGTERM, signal.SIGINT])
    check_stopped(tmp_path, kind, draw.uniform(0.6, 6.0), draw.choice([1, 2]))


BAY = str(GARAGE)
OUT = ["--out", "out"]
OTHERS = {
    "improve": ["improve", BAY, *OUT],
    "size": ["size", BAY, "--vary", "canopy.depth=0.4m..2.4m", "--target", "escape < 1 in 5000", *OUT],
    "map": ["map", BAY, *OUT],
    "spot": ["spot", BAY, "--box", "300x250x120mm", "--shots", "400000", *OUT],
    "compare": ["compare", BAY, "--set", "canopy.depth=1.4m", "--shots", "2000000", *OUT],
    "build": ["build", BAY, *OUT],
    "cut": ["cut", "--stock", "6000mm", "--stock", "5000mm", *(f"{7 + k}x{611 + 97 * k}mm" for k in range(24))],
}


@pytest.mark.slow
@pytest.mark.parametrize("number", range(3))
@pytest.mark.parametrize("command", OTHERS)
def test_any_command_that_is_stopped_ends_at_once_and_leaves_the_earlier_result(tmp_path, command, number):
    """`improve` keeps the best so far, in place of the earlier result; a command may be done before it is stopped."""
    draw = random.Random(f"{command} {number}")
    kind = draw.choice([signal.SIGTERM, signal.SIGINT])
    earlier_result(tmp_path)
    took, code, said = stopped(tmp_path, kind, draw.uniform(0.6, 8.0), OTHERS[command])
    assert took < PROMISED
    assert "Traceback" not in said
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert code in (0, 1, ENDS[kind])
    if code == ENDS[kind] and "best so far" not in said:
        assert (tmp_path / "out" / "run.json").read_text() == "earlier"
