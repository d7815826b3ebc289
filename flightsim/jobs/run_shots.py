"""One `run` from order to files: the walk, with progress on a terminal."""

from __future__ import annotations

import gc
import math
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import dataclass
from pathlib import Path
from shutil import disk_usage
from tempfile import gettempdir

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from flightsim.engine.notice import telling_with
from flightsim.errors import BadInputError, NotToldError, PluginError
from flightsim.jobs.print_json import print_json
from flightsim.library.fly_bay import Run, fly_bay
from flightsim.report.pages.folder import check_out
from flightsim.report.pages.shots_ahead import shots_ahead
from flightsim.report.words.terminal import print_result, print_verdict
from flightsim.study.run.fly import SHOT_BYTES
from flightsim.study.run.fly_on import STEPS
from flightsim.study.run.on_disk import HELD, IN_MEMORY, ON_DISK
from flightsim.study.run.open_bay import OpenBay, open_bay
from flightsim.study.run.require import judge_all, parse_requirements
from flightsim.study.run.result import Rates
from flightsim.study.run.walk import DEFAULT_SEED, DEFAULT_SHOTS

LARGE = 5_000_000  # shots from which on a run is asked about first
MET, NOT_MET = 0, 1


@dataclass(frozen=True)
class Order:
    """What the command line asks for; None where it leaves the choice to us."""

    scenario: Path
    shots: int | None
    seed: int | None
    out: Path
    workers: int
    require: tuple[str, ...]
    sets: tuple[str, ...]
    yes: bool
    quick: bool = False
    as_json: bool = False
    full: bool = False
    as_csv: bool = False


class _Answer(Console):
    """The terminal. Whoever stops reading (`| head`) changes neither the result nor its exit code."""

    def on_broken_pipe(self) -> None:
        with suppress(SystemExit):
            super().on_broken_pipe()


def run_and_report(order: Order) -> int:
    """Run, write everything, print the answer; 0, or 1 when a requirement is not met."""
    requirements = parse_requirements(order.require)
    opened = open_bay(order.scenario, order.sets)
    gc.freeze()  # what was loaded until now lives to the end: nobody looks for dead rings in it again
    shots, seed = _shots(order, opened), DEFAULT_SEED if order.seed is None else order.seed
    if requirements and not opened.plan.sampled:
        judge_all(requirements, Rates({}, (), 0.0), (), sampled=False)  # refused now, not after the flight
    check_out(order.out)
    on, as_csv = order.shots is None, order.as_csv or None
    ahead = shots_ahead(order.out, as_csv) if order.workers > 1 else nullcontext()
    with _progress(shots) as (step, say), _enough_memory(shots), ahead as files:
        begin = (lambda result: None) if files is None else files.begin
        flown = fly_bay(opened, shots, seed, requirements, order.quick, order.workers, step, say, on, begin)
        found, out = flown.saved(order.out, say, as_csv, files)
    _tell(found, out, order.as_json, order.full)
    if words := found.left_out(out):
        raise PluginError(words)
    return MET if found.met else NOT_MET


def _tell(found: Run, out: Path, as_json: bool, full: bool = False) -> None:
    """Print the answer. What goes wrong now takes nothing from the result."""
    console = _Answer(highlight=False)
    try:
        if as_json:
            print_json(found.summary)
            return
        print_verdict(found.result, found.judgements, console, _rest(found, out))
        if full:
            print_result(found.result, found.judgements, console)
    except NotToldError as error:
        raise NotToldError(f"{error}\n  the result is complete: {out}") from error
    except KeyboardInterrupt as stop:
        raise type(stop)(f"The result is complete: {out}") from None


def _rest(found: Run, out: Path) -> str:
    """Where all else is, and how many warnings stand there."""
    count = len(found.result.warnings) + sum(finding.level == "warning" for finding in found.result.findings)
    warned = f" ({count} warning{'s' if count > 1 else ''})" if count else ""
    return f"{out / 'report.html'}{warned}"


@contextmanager
def _enough_memory(shots: int) -> Iterator[None]:
    try:
        yield
    except MemoryError as error:
        fewer = "try: fewer shots, or --workers 1"
        raise BadInputError(f"{shots:,} shots did not fit in memory; nothing was written\n  {fewer}") from error


def _shots(order: Order, opened: OpenBay) -> int:
    """How many shots to fly; refuses what nobody meant to ask for, or what does not fit in memory."""
    if opened.plan.grid_size:
        if order.shots not in (None, opened.plan.grid_size):
            raise BadInputError(f"--shots {order.shots}: {_own_number(opened)}")
        shots = opened.plan.grid_size
    else:
        shots = DEFAULT_SHOTS if order.shots is None else order.shots
    chunks = "  try: 5,000,000 shots a run, with --seed 1, 2, 3, ..."
    on_disk = shots > IN_MEMORY
    need, have = shots * (HELD if on_disk else SHOT_BYTES), _memory()
    if need > 0.8 * have:
        words = f"{shots:,} shots need about {need / 1e9:,.0f} GB of memory, and this machine has {have / 1e9:,.0f} GB"
        raise BadInputError(f"{words}\n{chunks}")
    need, have = shots * ON_DISK, disk_usage(gettempdir()).free
    if on_disk and need > have:
        words = f"{shots:,} shots need about {need / 1e9:,.0f} GB in {gettempdir()}, which has {have / 1e9:,.0f}"
        raise BadInputError(f"{words}\n{chunks}, or TMPDIR set to a folder with room")
    if shots > LARGE and not order.yes:
        raise BadInputError(f"{shots:,} shots are a long run: say --yes if you mean it\n{chunks}")
    return shots


def _step(done: int) -> int:
    """The number of shots that a run flies on to which has flown so many."""
    return next((step for step in STEPS if step >= done), done)


def _memory() -> float:
    """Memory of this machine, bytes; infinite where the system does not say (Windows): then flying tells."""
    if not hasattr(os, "sysconf"):
        return math.inf
    return float(os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES"))


def _own_number(opened: OpenBay) -> str:
    """Why another number of shots than the scenario's own cannot be flown, and what to do."""
    n = opened.plan.grid_size
    if not opened.plan.sampled:
        return f"the scenario's launches are a grid of {n} shots\n  try: leave --shots out"
    return (
        f"the scenario flies each of its measured shots once from each spot, {n} in all: a repeat proves nothing\n"
        "  try: leave --shots out, or draw from a spread around them: --set measured.spread=kernel"
    )


@contextmanager
def _progress(shots: int) -> Iterator[tuple[Callable[[int], None], Callable[[str], None]]]:
    """A bar on a terminal's error stream; nothing in a pipe."""
    console = Console(stderr=True)
    if not console.is_terminal:  # a disabled bar still ends with a blank line in some versions of rich
        yield (lambda done: None), (lambda words: None)
        return
    bar = Progress(
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(),
        console=console, transient=True,
    )  # fmt: skip
    with bar, telling_with(bar.console.print):
        task = bar.add_task("flying", total=shots)
        yield (
            lambda done: bar.update(task, completed=done, total=shots if done <= shots else _step(done)),
            lambda words: bar.update(task, description=words),
        )
