"""What all tests share: answers that are kept, the compiled engine, and a limit of processor time for each test."""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: as many workers as cores, one thread each

import sys
import time
from collections.abc import Generator
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest
from kept import alone, keep_in
from PIL import Image

NO_BYTECODE, BYTECODE = "PYTHONDONTWRITEBYTECODE", "PYTHONPYCACHEPREFIX"
PLUGIN_FILES = "FLIGHTSIM_PLUGIN_FILES"  # flightsim.plugin.loading.FILES, without its import
TESTS = Path(__file__).parent
FLY_NOTHING = ("making", "scenario", "strike")  # rooms whose tests neither fly a ball nor hang a cloth
WORKER = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))
LONGEST = 60.0  # s of processor time, of a test that is not marked slow; a wall clock would judge the neighbours


def pytest_configure(config: pytest.Config) -> None:
    """Keep answers in pytest's cache folder, where it has one, and bytecode."""
    if (cache := getattr(config, "cache", None)) is not None:
        folder = Path(cache.mkdir("flightsim"))
        keep_in(folder)
        _keep_bytecode(folder / "bytecode")


def _keep_bytecode(folder: Path) -> None:
    """Of this process and of those that tests start, where the machine wants none beside the sources.

    Else each worker rewrites 5,000 asserts in each session, and each command that a test starts compiles the package.
    """
    if sys.dont_write_bytecode or os.environ.get(BYTECODE) == str(folder):  # the latter: a worker of such a session
        os.environ.pop(NO_BYTECODE, None)
        os.environ[BYTECODE] = sys.pycache_prefix = str(folder)
        sys.dont_write_bytecode = False


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector: pytest.Collector) -> Generator[None, pytest.CollectReport, object]:
    """Every second worker reads the files from the last one on: each loads the bytecode that another has written.

    Where none is kept yet, asserts are rewritten for 10 s, and all workers would rewrite them side by side.
    """
    report = yield
    if isinstance(collector, pytest.Session | pytest.Directory) and report.result and WORKER % 2:
        report.result.reverse()
    return report


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All workers but the first begin with what flies nothing, while that one compiles the engine.

    `--dist worksteal` gives each worker as many tests in a row, and what is left when one is done.
    """
    workers = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    if workers > 1:
        items.sort(key=lambda item: item.path)  # as all workers have them
    quiet = [item for item in items if room_of(item) in FLY_NOTHING]
    if workers == 1 or not quiet:
        return
    others = [item for item in items if room_of(item) not in FLY_NOTHING]
    ordered, share = [], -(-len(quiet) // (workers - 1))
    for worker in range(workers):
        most = (len(items) - len(ordered)) // (workers - worker)
        first = quiet[(worker - 1) * share : worker * share][:most] if worker else []
        ordered += first + others[: most - len(first)]
        del others[: most - len(first)]
    given = set(map(id, ordered))
    items[:] = ordered + [item for item in items if id(item) not in given]


def room_of(item: pytest.Item) -> str:
    """The folder under `tests` that a test is in."""
    return item.path.relative_to(TESTS).parts[0] if item.path.is_relative_to(TESTS) else ""


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """Before the first test that may fly a ball, and outside of its clock."""
    if room_of(item) not in FLY_NOTHING and "flightsim.engine.follow" in sys.modules:
        compile_all()


@cache
def compile_all() -> None:
    """Compile the engine and the lattice, or load them: once for all workers, the others wait."""
    engine, lattice = (import_module(f"flightsim.{name}") for name in ("engine.follow", "cloth.following"))
    with alone("engine"):
        engine.make_engine_ready()
        lattice.make_lattice_ready()
        lattice.make_lattice_ready(fine=True)


@pytest.fixture(autouse=True)
def plugin_files_as_before() -> Generator[None, None, None]:
    """A command hands `--plugin` files on by the environment: the next test shall not fly with them."""
    before = os.environ.get(PLUGIN_FILES)
    yield
    if before is None:
        os.environ.pop(PLUGIN_FILES, None)
    else:
        os.environ[PLUGIN_FILES] = before


@pytest.fixture
def no_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    """A run writes none, which take most of a short one; other pictures are drawn and left unpainted."""
    monkeypatch.setattr("flightsim.report.pages.run_folder.write_figures", lambda *_, **__: [])
    monkeypatch.setattr("flightsim.report.draw.style.pixels", lambda *_: Image.new("RGB", (8, 8), "white"))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, None, None]:
    """Fail a test that takes more of the processor than a quick suite can give it."""
    start = time.process_time()
    result = yield
    spent = time.process_time() - start
    if spent > LONGEST and not any(item.get_closest_marker(mark) for mark in ("slow", "bench", "outside")):
        pytest.fail(f"{spent:.0f} s of processor time, at most {LONGEST:.0f} s: mark it slow, or make it quicker")
    return result
