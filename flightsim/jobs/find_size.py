"""One `size` from order to files: search, answer on the terminal, size.json and a picture."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from flightsim.errors import BadInputError
from flightsim.jobs.print_json import print_json
from flightsim.library.search_sizes import SizeFound, SizeQuestion
from flightsim.report.pages.folder import check_out
from flightsim.report.words.print_size import print_size
from flightsim.report.words.say import Paper, told_what_is_done
from flightsim.study.run.built_off import TOLERANCE
from flightsim.study.run.open_bay import BayOrigin
from flightsim.study.run.walk import DEFAULT_SEED

FOUND, NONE_WILL_DO = 0, 1


@dataclass(frozen=True)
class SizeOrder:
    """What the command line asks for; None where it leaves the choice to us. tolerance in m."""

    scenario: Path
    vary: tuple[str, ...]
    target: str
    confidence: float
    keep: tuple[str, ...]
    step: str | None
    tolerance: float | None
    shots: int | None
    seed: int | None
    prices: tuple[str, ...]
    sets: tuple[str, ...]
    out: Path
    as_json: bool = False


def size_and_report(order: SizeOrder) -> int:
    """Search, write everything, print the answer; 0, or 1 when no size will do."""
    question = SizeQuestion(
        BayOrigin(order.scenario), order.sets, order.vary, order.target, order.keep, order.step,
        TOLERANCE if order.tolerance is None else order.tolerance, order.confidence, order.prices, order.shots,
        DEFAULT_SEED if order.seed is None else order.seed,
    )  # fmt: skip
    with told_what_is_done("reading the scenario") as say:
        found = question.answer(lambda: check_out(order.out), say)
    found.save(order.out)
    _tell(found, order.out, order.as_json)
    return FOUND if found.found else NONE_WILL_DO


def _tell(found: SizeFound, out: Path, as_json: bool) -> None:
    console = Paper(highlight=False)
    try:
        if as_json:
            print_json(found.summary)
            return
        print_size(found.report, console, found.cost)
        console.print(
            f"\nPage {out / 'size.html'}, picture {out / 'misses.png'}; all of it as data: {out / 'size.json'}"
        )
    except OSError as error:
        words = error.strerror or str(error)
        raise BadInputError(f"the answer could not be printed: {words}\n  the result is complete: {out}") from error
