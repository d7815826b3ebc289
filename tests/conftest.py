"""What all tests share: answers that are kept, the compiled engine, and a limit of processor time for each test."""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: as many workers as cores, one thread each

import sys
import time
from collections.abc import Callable, Generator
from functools import partial
from importlib import import_module
from pathlib import Path

import pytest
from kept import alone, keep_in

NO_BYTECODE, BYTECODE = "PYTHONDONTWRITEBYTECODE", "PYTHONPYCACHEPREFIX"
PLUGIN_FILES = "FLIGHTSIM_PLUGIN_FILES"  # flightsim.plugin.loading.FILES, without its import
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


def pytest_collection_finish(session: pytest.Session) -> None:
    """Before any test runs against its clock: compile the engine, once for all workers, which share the work."""
    engine = sys.modules.get("flightsim.engine.follow")
    if engine is not None and session.items:
        lattice = import_module("flightsim.cloth.following")
        compiled: list[tuple[str, Callable[[], None]]] = [
            ("engine", engine.make_engine_ready),
            ("lattice", lattice.make_lattice_ready),
            ("fine lattice", partial(lattice.make_lattice_ready, fine=True)),
        ]
        first = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw")) % len(compiled)
        for name, make_ready in compiled[first:] + compiled[:first]:
            with alone(name):
                make_ready()


@pytest.fixture(autouse=True)
def plugin_files_as_before() -> Generator[None, None, None]:
    """A command hands `--plugin` files on by the environment: the next test shall not fly with them."""
    before = os.environ.get(PLUGIN_FILES)
    yield
    if before is None:
        os.environ.pop(PLUGIN_FILES, None)
    else:
        os.environ[PLUGIN_FILES] = before


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, None, None]:
    """Fail a test that takes more of the processor than a quick suite can give it."""
    start = time.process_time()
    result = yield
    spent = time.process_time() - start
    if spent > LONGEST and not any(item.get_closest_marker(mark) for mark in ("slow", "bench", "outside")):
        pytest.fail(f"{spent:.0f} s of processor time, at most {LONGEST:.0f} s: mark it slow, or make it quicker")
    return result
