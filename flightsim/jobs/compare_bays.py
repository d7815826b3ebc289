"""One `compare` from order to files."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from flightsim.errors import BadInputError
from flightsim.jobs.print_json import print_json
from flightsim.library.bay_in_code import Scenario, open_bay
from flightsim.library.pair_bays import Compared, compare_bays
from flightsim.report.pages.folder import check_out
from flightsim.report.words.say import Paper, told_what_is_done
from flightsim.study.run.walk import DEFAULT_SEED, DEFAULT_SHOTS

MOST_SHOTS = 5_000_000  # two runs are held in memory
_VARIANT = "deeper: canopy.depth=1.8m; side_nets.right.depth=2m"


@dataclass(frozen=True)
class CompareOrder:
    """What the command line asks for; None where it leaves the choice to us. variants: `NAME: KEY=VALUE; KEY=VALUE`."""

    files: tuple[Path, ...]
    variants: tuple[str, ...]
    sets: tuple[str, ...]
    shots: int | None
    seed: int | None
    workers: int
    out: Path
    as_json: bool = False


def compare_and_report(order: CompareOrder) -> int:
    """Fly all, write everything, print the answer."""
    _check(order)
    named = [parse_variant(text) for text in order.variants]
    with told_what_is_done("reading the scenarios") as now:
        bays = [open_bay(file) for file in order.files]
        changes = [(f"with {', '.join(order.sets)}", order.sets)] if order.sets else []
        changes += named
        names = _names(order.files, [bay.scenario.name for bay in bays])
        for name, sets in changes:
            bays.append(open_bay(Scenario(order.files[0], sets)))
            names.append(name)
        check_out(order.out)
        found = compare_bays(
            bays, _apart(names), DEFAULT_SHOTS if order.shots is None else order.shots,
            DEFAULT_SEED if order.seed is None else order.seed, order.workers, now,
        )  # fmt: skip
        now("drawing")
        found.save(order.out)
    _tell(found, order.out, order.as_json)
    return 0


def _check(order: CompareOrder) -> None:
    if len(order.files) == 1 and not order.sets and not order.variants:
        raise BadInputError(
            "one scenario alone: there is nothing to compare\n"
            f"  try: a second one, --set KEY=VALUE, or --variant '{_VARIANT}'"
        )
    if len(order.files) > 1 and order.sets:
        raise BadInputError(
            "--set is for one scenario: it makes the second of it\n"
            "  allowed: two scenarios, or one and --set\n  try: leave --set out, or the second scenario"
        )
    most = 2 * MOST_SHOTS // (len(order.files) + bool(order.sets) + len(order.variants))
    if order.shots is not None and order.shots > most:
        raise BadInputError(f"--shots {order.shots:,}: at most {most:,} are compared\n  try: several seeds")


def parse_variant(text: str) -> tuple[str, tuple[str, ...]]:
    """Name and changes of `deeper: canopy.depth=1.8m; tee.from_end_wall=4m`; without a name, the changes are it.

    Raises BadInputError that shows how to write one.
    """
    head, colon, rest = text.partition(":")
    named = bool(colon) and "=" not in head
    sets = tuple(part.strip() for part in (rest if named else text).split(";") if part.strip())
    name = head.strip() if named else ", ".join(sets)
    if not sets or not name or any("=" not in part for part in sets):
        raise BadInputError(
            f"--variant '{text}' cannot be read\n  allowed: NAME: KEY=VALUE; KEY=VALUE\n  try: --variant '{_VARIANT}'"
        )
    return name, sets


def _names(files: tuple[Path, ...], scenarios: list[str]) -> list[str]:
    """What tells the files apart: their bays' names where these differ, else their own."""
    if len(files) == 1:
        return ["as it is"]
    return scenarios if len(set(scenarios)) == len(scenarios) else [file.name for file in files]


def _apart(names: list[str]) -> list[str]:
    """The names, with a number where one comes twice."""
    seen: Counter[str] = Counter()
    apart = []
    for name in names:
        seen[name] += 1
        apart.append(name if seen[name] == 1 or len(names) == 2 else f"{name} ({seen[name]})")
    return apart


def _tell(found: Compared, out: Path, as_json: bool) -> None:
    console = Paper(highlight=False)
    try:
        if as_json:
            print_json(found.summary)
            return
        found.show(console)
        picture = "A few of these balls" if len(found.bays) == 2 else "The bays in one picture"
        data = f"all of it as data: {out / 'compare.json'}"
        console.print(f"\nPage {out / 'compare.html'}; {picture.lower()}: {out / found.picture}; {data}")
    except OSError as error:
        words = error.strerror or str(error)
        raise BadInputError(f"the answer could not be printed: {words}\n  the result is complete: {out}") from error
