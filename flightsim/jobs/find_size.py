"""One `size` from order to files: search, answer on the terminal, size.json and a picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console

from flightsim.errors import BadInputError
from flightsim.report.draw.size_figure import size_figure
from flightsim.report.draw.style import save
from flightsim.report.pages.folder import built_beside, check_out
from flightsim.report.pages.size_data import size_data
from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.say import Paper, say, show, told_what_is_done
from flightsim.report.words.size_words import (
    LUCK,
    Told,
    backward_words,
    cost_words,
    doubts_table,
    front_table,
    headline,
    looks_table,
    present_words,
    worse_table,
)
from flightsim.study.run.open_bay import OpenBay, open_bay
from flightsim.study.run.require import Requirement, parse_requirements
from flightsim.study.run.run_files import write_json
from flightsim.study.size.builds import TOLERANCE, Builds
from flightsim.study.size.keep import parse_keeps
from flightsim.study.size.least_size import Answer, Search
from flightsim.study.size.vary import Vary, parse_varies

FOUND, NONE_WILL_DO = 0, 1
DEFAULT_SEED = 1
INCH_STEP = "2 in"  # what sizes are rounded up to in a scenario in feet and inches


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


def size_and_report(order: SizeOrder) -> int:
    """Search, write everything, print the answer; 0, or 1 when no size will do."""
    requirement, keeps = target_of(order.target), parse_keeps(order.keep)
    now, refused = _as_it_is(order)
    inches = now is not None and now.scenario.units == "imperial"
    varies = parse_varies(order.vary, INCH_STEP if order.step is None and inches else order.step)
    check_out(order.out)
    tolerance = TOLERANCE if order.tolerance is None else order.tolerance
    search = Search(
        Builds(str(order.scenario), order.sets, varies, (), tolerance), requirement, order.confidence, keeps,
        prices_of(order.prices, varies), DEFAULT_SEED if order.seed is None else order.seed, order.shots,
    )  # fmt: skip
    with told_what_is_done("reading the scenario") as search.say:
        try:
            answer = search.run()
        except BadInputError as error:
            raise (refused or error) from None
    told = told_of(answer, search.home, now)
    write_size(told, order)
    _tell(told, order.out)
    return FOUND if answer.chosen is not None else NONE_WILL_DO


def target_of(text: str) -> Requirement:
    """Read a target. Raises BadInputError that shows how to write one."""
    try:
        return parse_requirements([text])[0]
    except BadInputError as error:
        raise BadInputError(str(error).replace("--require", "--target")) from None


def prices_of(texts: Sequence[str], varies: Sequence[Vary]) -> dict[str, float]:
    """Read prices. Raises BadInputError that shows how to write one."""
    prices = {}
    for text in texts:
        path, _, number = (part.strip() for part in text.partition("="))
        paths = [vary.path for vary in varies]
        fix = f"  try: --price {paths[0]}=40"
        if path not in paths:
            raise BadInputError(f"--price '{text}': '{path}' is not varied\n  allowed: {', '.join(paths)}\n{fix}")
        try:
            prices[path] = float(number)
        except ValueError:
            prices[path] = -1.0
        if not 0.0 <= prices[path] < float("inf"):
            allowed = "a plain number, nought or more, for each metre (or degree, or unit)"
            raise BadInputError(f"--price '{text}': '{number}' is no price\n  allowed: {allowed}\n{fix}")
    return prices


def _as_it_is(order: SizeOrder) -> tuple[OpenBay | None, BadInputError | None]:
    """The scenario without what is varied; or why it is none, which matters only where no size makes it one."""
    try:
        return open_bay(order.scenario, order.sets), None
    except BadInputError as error:
        return None, error


def told_of(answer: Answer, home: OpenBay, now: OpenBay | None) -> Told:
    """The answer with the scenario that it is told for."""
    present = tuple(None if now is None else vary.present(now.scenario) for vary in answer.varies)
    return Told(answer, home.scenario if now is None else now.scenario, present)


def write_size(told: Told, order: SizeOrder) -> None:
    """Write all files; an earlier result stays whole until the new one is. Raises BadInputError."""
    try:
        with built_beside(order.out) as building:
            write_json(building / "size.json", size_data(told, order.sets, order.keep))
            save(size_figure(told), building / "misses.png")
    except OSError as error:
        raise BadInputError(
            f"--out {order.out}: {error.strerror or error}; nothing was written there\n  try: another --out"
        ) from error


def print_size(told: Told, console: Console) -> None:
    """Print the answer, what it was found from, and how far it can be trusted."""
    say(console, told.scenario.name, style="bold")
    say(console, headline(told), style="bold" if told.answer.chosen is not None else "")
    say(console, cost_words(told))
    say(console, present_words(told))
    say(console, backward_words(told))
    show(console, looks_table(told))
    show(console, front_table(told))
    show(console, doubts_table(told))
    show(console, worse_table(told))
    say(console, LUCK)
    say(console, " ".join(CAUTION), style="bold")


def _tell(told: Told, out: Path) -> None:
    console = Paper(highlight=False)
    try:
        print_size(told, console)
        console.print(f"\nMisses against size: {out / 'misses.png'}; all of it as data: {out / 'size.json'}")
    except OSError as error:
        words = error.strerror or str(error)
        raise BadInputError(f"the answer could not be printed: {words}\n  the result is complete: {out}") from error
