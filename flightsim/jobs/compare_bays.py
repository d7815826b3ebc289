"""One `compare` from order to files."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from flightsim.errors import BadInputError
from flightsim.jobs.print_json import print_json
from flightsim.library.bay_in_code import Scenario, open_bay
from flightsim.library.pair_bays import Compared, pair_bays
from flightsim.report.pages.folder import check_out
from flightsim.report.words.compare_told import print_compare
from flightsim.report.words.say import Paper, told_what_is_done
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.walk import DEFAULT_SEED, DEFAULT_SHOTS

MOST_SHOTS = 5_000_000  # both runs are held in memory


@dataclass(frozen=True)
class CompareOrder:
    """What the command line asks for; None where it leaves the choice to us."""

    first: Path
    second: Path | None
    sets: tuple[str, ...]
    shots: int | None
    seed: int | None
    workers: int
    out: Path
    as_json: bool = False


def compare_and_report(order: CompareOrder) -> int:
    """Fly both, write everything, print the answer."""
    if order.second is None and not order.sets:
        raise BadInputError("one scenario alone: there is nothing to compare\n  try: a second one, or --set KEY=VALUE")
    if order.second is not None and order.sets:
        raise BadInputError(
            "--set is for one scenario: it makes the second of it\n"
            "  allowed: two scenarios, or one and --set\n  try: leave --set out, or the second scenario"
        )
    if order.shots is not None and order.shots > MOST_SHOTS:
        raise BadInputError(f"--shots {order.shots:,}: at most {MOST_SHOTS:,} are compared\n  try: several seeds")
    with told_what_is_done("reading the scenarios") as now:
        bays = open_bay(order.first), open_bay(Scenario(order.second or order.first, order.sets))
        check_out(order.out)
        now("flying the same shots in both")
        found = pair_bays(
            bays, _names(order, bays), DEFAULT_SHOTS if order.shots is None else order.shots,
            DEFAULT_SEED if order.seed is None else order.seed, order.workers,
        )  # fmt: skip
        now("drawing")
        found.save(order.out)
    _tell(found, order.out, order.as_json)
    return 0


def _names(order: CompareOrder, bays: tuple[OpenBay, OpenBay]) -> tuple[str, str]:
    """What tells the two apart: their names where these differ, else their files, or what was changed."""
    first, second = (bay.scenario.name for bay in bays)
    if order.second is None:
        return "as it is", f"with {', '.join(order.sets)}"
    return (first, second) if first != second else (order.first.name, order.second.name)


def _tell(found: Compared, out: Path, as_json: bool) -> None:
    console = Paper(highlight=False)
    try:
        if as_json:
            print_json(found.summary)
            return
        print_compare(found.result, console, found.cost)
        console.print(f"\nA few of these balls: {out / 'changed.png'}; all of it as data: {out / 'compare.json'}")
    except OSError as error:
        words = error.strerror or str(error)
        raise BadInputError(f"the answer could not be printed: {words}\n  the result is complete: {out}") from error
