"""The answer on the way to its reader: broken pipes, full disks, narrow alphabets. The exit code stays the verdict."""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import click
import pytest
from baselines import baseline

from flightsim import cli
from flightsim.cli.streams import Stream
from flightsim.errors import BadInputError, NotToldError, TerminatedError
from flightsim.jobs import run_shots as session
from flightsim.jobs.run_shots import Order, run_and_report
from flightsim.library.fly_bay import Run

GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"
GRID = "launches={grid: {ball_speed: 60 m/s, elevation: [10 deg, 20 deg], azimuth: 0 deg, spin_rate: 3000 rpm}}"


@pytest.fixture(scope="module")
def result():
    return baseline("single_garage")


def test_whoever_stops_reading_changes_nothing(result, monkeypatch, tmp_path):
    read, write = os.pipe()
    os.close(read)
    with open(write, "w", encoding="utf-8") as pipe:
        monkeypatch.setattr(sys, "stdout", pipe)
        session._tell(Run(None, result), tmp_path, False)
        monkeypatch.undo()


def test_an_answer_that_cannot_be_printed_is_told_with_the_place_of_the_result(result, monkeypatch, tmp_path):
    full = open("/dev/full", "w", encoding="utf-8")  # noqa: SIM115
    monkeypatch.setattr(sys, "stdout", Stream(full))
    with pytest.raises(
        NotToldError, match=rf"could not be printed: No space left.*\n  the result is complete: {tmp_path}"
    ):
        session._tell(Run(None, result), tmp_path, False)
    monkeypatch.undo()
    full.close()


@pytest.mark.parametrize(("stop", "code"), [(KeyboardInterrupt, 130), (TerminatedError, 143)])
def test_a_run_stopped_when_its_result_is_complete_says_so(result, monkeypatch, tmp_path, capsys, stop, code):
    def stopped(*args: object) -> None:
        raise stop

    monkeypatch.setattr(session, "print_verdict", stopped)
    with pytest.raises(stop) as caught:
        session._tell(Run(None, result), tmp_path, False)
    assert cli._stopped(caught.value) == code
    assert f"Stopped. The result is complete: {tmp_path}" in capsys.readouterr().err


def test_a_run_stopped_before_says_that_nothing_was_written(capsys):
    abort = click.Abort()
    abort.__cause__ = KeyboardInterrupt()
    assert cli._stopped(abort) == 130
    assert capsys.readouterr().err == "Stopped. Nothing was written.\n"


def test_an_end_of_the_answers_says_that_nothing_was_written(capsys):
    abort = click.Abort()
    abort.__context__ = EOFError("EOF when reading a line")
    assert cli._stopped(abort) == 130
    assert capsys.readouterr().err == "Stopped. Nothing was written.\n"


def test_what_the_system_ends_at_a_question_has_its_exit_code(monkeypatch, capsys):
    """click hides at a question what its Abort came from."""

    def stopped(*args: object) -> str:
        raise TerminatedError

    monkeypatch.setattr("builtins.input", stopped)
    monkeypatch.setattr(click.termui, "visible_prompt_func", stopped)
    with pytest.raises(click.Abort) as caught:
        click.confirm("Write it?")
    assert cli._stopped(caught.value) == 143
    assert "Stopped. Nothing was written.\n" in capsys.readouterr().err


def order(tmp_path: Path, **changes: object) -> Order:
    plain = {"shots": None, "seed": None, "workers": 1, "require": (), "sets": (), "yes": False}
    return Order(**{"scenario": GARAGE, "out": tmp_path / "out", **plain, **changes})  # type: ignore[arg-type]


def test_a_requirement_on_a_grid_is_refused_before_a_ball_flies(tmp_path, monkeypatch):
    monkeypatch.setattr(session, "fly_bay", lambda *args: pytest.fail("it flew"))
    with pytest.raises(BadInputError, match="a grid is no sample"):
        run_and_report(order(tmp_path, sets=(GRID,), require=("got_out < 1 in 100",)))


def test_a_place_that_cannot_be_written_is_told_before_a_ball_flies(tmp_path, monkeypatch):
    monkeypatch.setattr(session, "fly_bay", lambda *args: pytest.fail("it flew"))
    (tmp_path / "out").write_text("a file")
    with pytest.raises(BadInputError, match="is a file"):
        run_and_report(order(tmp_path))


def test_shots_that_do_not_fit_in_memory_are_told_without_a_traceback(tmp_path, monkeypatch):
    def no_room(*args: object) -> None:
        raise MemoryError

    monkeypatch.setattr(session, "fly_bay", no_room)
    with pytest.raises(BadInputError, match="20,000 shots did not fit in memory; nothing was written"):
        run_and_report(order(tmp_path))
    assert list(tmp_path.iterdir()) == []


def test_what_the_terminal_cannot_show_is_replaced_and_ends_nothing(result, monkeypatch, tmp_path):
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii", write_through=True))
    monkeypatch.setattr(sys, "argv", ["flightsim", "--version"])
    with pytest.raises(SystemExit):
        cli.main()
    named = replace(result, scenario=replace(result.scenario, name="Größe 車庫"))
    session._tell(Run(None, named), tmp_path, False)
    assert b"Gr??e ??" in raw.getvalue()


def test_a_fault_of_ours_is_not_taken_for_a_requirement_that_is_not_met(monkeypatch, capsys):
    def broken(**given: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(cli, "cli", broken)
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert ended.value.code == cli.OUR_FAULT == 70
    assert "a fault in flightsim" in capsys.readouterr().err


@pytest.mark.slow
@pytest.mark.parametrize(("limit", "code"), [("got_out < 1 in 2", 0), ("got_out < 1 in 1000000", 1)])
def test_the_exit_code_is_the_verdict_also_when_nobody_reads_on(tmp_path, limit, code):
    command = [
        sys.executable,
        "-m",
        "flightsim",
        "run",
        str(GARAGE),
        "--shots",
        "600",
        "--out",
        "out",
        "--require",
        limit,
    ]
    with subprocess.Popen(command, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        process.stdout.close()
        assert process.stderr is not None
        errors = process.stderr.read()
        assert process.wait(timeout=600) == code, errors
    assert errors == b""
    assert (tmp_path / "out" / "report.html").exists()


@pytest.mark.slow
def test_nohup_keeps_a_run_alive_when_its_terminal_goes(tmp_path):
    command = ["nohup", sys.executable, "-m", "flightsim", "run", str(GARAGE), "--shots", "600", "--out", "out"]
    with subprocess.Popen(command, cwd=tmp_path, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
        for _ in range(20):
            with suppress(subprocess.TimeoutExpired):
                process.wait(timeout=0.3)
            if process.poll() is None:
                process.send_signal(signal.SIGHUP)
        assert process.wait(timeout=600) == 0
    assert (tmp_path / "out" / "report.html").exists()
