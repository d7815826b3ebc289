"""What goes wrong in a worker process is told as if it had gone wrong at home, and nothing is left running."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path

import numpy as np
import pytest

import flightsim.study.run.fly as flying
from flightsim.errors import BadInputError, PluginError
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.walk import run

GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"

PLUGIN = """
import os, signal, sys
from multiprocessing import parent_process

import numpy as np
from flightsim.bay.parts import Part, Role
from flightsim.bay.shapes import block
from flightsim.plugin.hookspecs import BayPieces, hookimpl

HOOK_API = 1
AT_WORK = parent_process() is not None
{at_import}

@hookimpl
def flightsim_parts(context):
    low = np.array([-1.0, 0.9, 2.0])
    return BayPieces([Part("crate", {shape}, Role.UNPROTECTED, "timber", "crate")])

@hookimpl
def flightsim_touch(context):
    {at_touch}
"""
SLOW = pytest.mark.slow
CRATE = "block(low, low + 0.2)"


@pytest.fixture(autouse=True)
def _small_chunks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(flying, "CHUNK", 1024)


@pytest.fixture
def scenario(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """A maker of scenarios that name an installed plugin, which behaves as told."""
    monkeypatch.syspath_prepend(str(tmp_path))

    def make(at_import: str = "", at_touch: str = "return None", shape: str = CRATE) -> Path:
        info = tmp_path / "flightsim_crate-2.1.dist-info"
        info.mkdir()
        (info / "METADATA").write_text("Metadata-Version: 2.1\nName: flightsim-crate\nVersion: 2.1\n")
        (info / "entry_points.txt").write_text("[flightsim]\ncrate = crate_plugin\n")
        (tmp_path / "crate_plugin.py").write_text(PLUGIN.format(at_import=at_import, at_touch=at_touch, shape=shape))
        sys.modules.pop("crate_plugin", None)
        path = tmp_path / "bay.yaml"
        path.write_text("plugins: [crate]\n" + GARAGE.read_text(encoding="utf-8"), encoding="utf-8")
        return path

    yield make
    sys.modules.pop("crate_plugin", None)


@pytest.mark.slow
def test_a_plugin_works_in_workers_as_at_home(scenario):
    opened = open_bay(scenario())
    one, two = run(opened, 3000, workers=1), run(opened, 3000, workers=2)
    assert np.array_equal(one.contacts.part, two.contacts.part)
    assert np.array_equal(one.contacts.point, two.contacts.point, equal_nan=True)
    assert "crate" in {part.name for part in opened.bay.parts}


@pytest.mark.parametrize(
    ("behaviour", "words"),
    [
        ({"at_touch": "return 1 / 0 if AT_WORK else None"}, "flightsim_touch failed: ZeroDivisionError"),
        pytest.param(
            {"at_touch": "return sys.exit(0) if AT_WORK else None"}, "flightsim_touch failed: SystemExit", marks=SLOW
        ),
        ({"at_import": "assert not AT_WORK, 'not here'"}, "cannot be imported.*not here"),
        pytest.param({"at_import": "if AT_WORK: sys.exit(0)"}, "cannot be imported.*SystemExit", marks=SLOW),
        ({"shape": "(lambda s: (object.__setattr__(s, 'odd', lambda: 0), s)[1])(block(low, low + 0.2))"},
         "part 'crate' cannot be sent to a worker process.*\n.*--workers 1"),
    ],
)  # fmt: skip
def test_a_plugin_that_fails_only_in_a_worker_is_blamed_by_name(scenario, capfd, behaviour, words):
    opened = open_bay(scenario(**behaviour))
    with pytest.raises(PluginError, match=rf"plugin 'crate' \(from flightsim-crate 2.1\): {words}"):
        run(opened, 3000, workers=2)
    assert "Traceback" not in capfd.readouterr().err


@pytest.mark.parametrize("way", ["os.kill(os.getpid(), signal.SIGKILL)", pytest.param("os._exit(0)", marks=SLOW)])
def test_a_worker_that_dies_is_told_with_a_way_out_and_the_run_is_over(scenario, way):
    opened = open_bay(scenario(at_touch=f"return {way} if AT_WORK else None"))
    with pytest.raises(BadInputError, match=r"a worker process died.*\n.*--workers 1"):
        run(opened, 5000, workers=2)


def children(pid: int) -> list[int]:
    """Processes whose parent this is."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == pid and fields[0] != "Z":
            found.append(int(stat.parent.name))
    return found


def flying_now(pid: int) -> bool:
    """Whether a process has worked for a good second and has not ended."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return False
    return fields[0] != "Z" and int(fields[11]) > 1.2 * os.sysconf("SC_CLK_TCK")


def gone(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True


def until(holds: Callable[[], bool], process: subprocess.Popen[str]) -> bool:
    """Look again, a tenth of a second later, until it holds or a minute is over."""
    for _ in range(600):
        if holds():
            return True
        with suppress(subprocess.TimeoutExpired):
            process.wait(timeout=0.1)
    return False


@pytest.mark.slow
@pytest.mark.parametrize("kind", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_no_worker_outlives_a_run_that_was_stopped(tmp_path, kind):
    command = [sys.executable, "-m", "flightsim", "run", str(GARAGE), "--shots", "4000000", "--workers", "2"]
    heard = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)  # a shell's background jobs are born deaf to it
    with subprocess.Popen(
        [*command, "--out", "out"], cwd=tmp_path, stderr=subprocess.PIPE, text=True, preexec_fn=heard
    ) as process:
        assert until(lambda: sum(map(flying_now, children(process.pid))) >= 2, process)
        workers = children(process.pid)
        process.send_signal(kind)
        _, errors = process.communicate(timeout=600)
        assert until(lambda: all(map(gone, workers)), process)
    assert process.returncode == {signal.SIGKILL: -9, signal.SIGTERM: 143, signal.SIGINT: 130}[kind]
    assert "Traceback" not in errors
    assert list(tmp_path.iterdir()) == []
