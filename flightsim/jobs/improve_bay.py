"""One `improve` from order to files: the search, improved.yaml, and what to do in words."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from flightsim.jobs.print_json import print_json
from flightsim.library.find_changes import FILE, PAGE, Improvement, improve
from flightsim.report.pages.folder import check_out
from flightsim.report.words.improve_told import print_improved
from flightsim.report.words.say import Paper, told_what_is_done
from flightsim.study.improve.improve import MINUTES
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.walk import DEFAULT_SEED

MET, NOT_MET = 0, 1


@dataclass(frozen=True)
class ImproveOrder:
    """What the command line asks for; None where it leaves the choice to us."""

    scenario: Path
    seed: int | None
    sets: tuple[str, ...]
    out: Path
    as_json: bool = False
    minutes: float = MINUTES


def improve_and_report(order: ImproveOrder) -> int:
    """Search, write everything, print the answer; 0, or 1 when a target that is asked is not met.

    Ctrl-C in the search keeps the best so far: it is written and told, and then ends as Ctrl-C does.
    """
    opened = open_bay(order.scenario, order.sets)
    check_out(order.out)
    seed = DEFAULT_SEED if order.seed is None else order.seed
    with told_what_is_done("reading the scenario") as say:
        found = improve(opened, seed=seed, say=say, minutes=order.minutes)
    found.save(order.out)
    if order.as_json:
        print_json(found.summary)
    else:
        _tell(found, order.out)
    if found.found.stopped is not None:
        raise found.found.stopped(f"The best so far, not confirmed: {order.out / FILE}")
    return MET if found.met else NOT_MET


def _tell(found: Improvement, out: Path) -> None:
    console = Paper(highlight=False)
    print_improved(found.found, console, found.currency)
    console.print(f"\nThe changed bay: {out / FILE}; the page: {out / PAGE}", soft_wrap=True)
    console.print(f"Fly it: flightsim run {out / FILE}", soft_wrap=True)
