"""`flightsim.compare`: two bays, or one and a change of it, on the same shots."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flightsim.errors import BadInputError
from flightsim.library.bay_in_code import Scenario, ScenarioLike, changed, open_bay
from flightsim.library.list_bay import bill_of_bay, cost_facts
from flightsim.library.looks import frame, html_paragraph, html_table, paper
from flightsim.making.costing.bill import Bill
from flightsim.report.draw.compare_figure import compare_figure
from flightsim.report.pages.answer_folder import write_answer
from flightsim.report.words.build_words import two_costs_words
from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.compare_told import print_compare
from flightsim.report.words.compare_words import changed_table, compare_data, verdict
from flightsim.study.compare.paired_bays import Comparison
from flightsim.study.compare.paired_bays import compare as compare_paired
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.walk import DEFAULT_SEED, DEFAULT_SHOTS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Two = tuple[OpenBay, OpenBay]


@dataclass(frozen=True)
class Compared:
    """Two bays on the same shots. result: everything, as arrays; bills: what each costs, by its own price list."""

    bays: Two
    result: Comparison
    bills: tuple[Bill | None, Bill | None] = (None, None)

    @property
    def summary(self) -> dict[str, Any]:
        """What compare.json holds; docs/compare.md tells every key."""
        costs = [None if bill is None else cost_facts(bill) for bill in self.bills]
        return {**compare_data(self.result, self.bays), "cost": costs}

    @property
    def cost(self) -> str:
        """What the two cost, in words; empty where neither names a price list."""
        return two_costs_words(*self.bills)

    @property
    def table(self) -> Any:
        """One row a flag: rates of both, how many shots only the one has, and whether that may be chance."""
        rows = self.result.changed
        return frame({
            "name": [row.key for row in rows], "first": [row.first.rate for row in rows],
            "second": [row.second.rate for row in rows], "only_first": [row.only_first for row in rows],
            "only_second": [row.only_second for row in rows], "chance": [row.chance for row in rows],
        })  # fmt: skip

    def figure(self) -> Figure:
        """A few of the balls whose end the change turned."""
        return compare_figure(self.result, self.bays)

    def save(self, folder: str | Path) -> Path:
        """Write all files of `flightsim compare` into a folder, whole or not at all. Raises BadInputError."""
        return write_answer(Path(folder), ("compare.json", self.summary), ("changed.png", self.figure()))

    def __str__(self) -> str:
        """The answer in words, as the terminal tells it."""
        console, text = paper()
        print_compare(self.result, console, self.cost)
        return text.getvalue().strip()

    def _repr_html_(self) -> str:
        caution = html_paragraph(" ".join(CAUTION))
        return html_paragraph(verdict(self.result)) + html_table(changed_table(self.result)) + caution


def compare(
    first: ScenarioLike | OpenBay,
    second: ScenarioLike | OpenBay | None = None,
    changes: Mapping[str, Any] | None = None,
    *,
    shots: int = DEFAULT_SHOTS,
    seed: int = DEFAULT_SEED,
    workers: int = 1,
) -> Compared:
    """Fly the same shots in two bays: a first and a second, or a first and changes of it, `{"canopy.depth": "1.4 m"}`.

    Raises BadInputError where they would not be the same shots; ScenarioError and PluginError as `load`.
    """
    if (second is None) == (changes is None):
        raise BadInputError(
            "compare takes a second bay, or changes of the first\n  allowed: one of them\n"
            "  try: compare('bay.yaml', changes={'canopy.depth': '1.4 m'})"
        )
    before = open_bay(first)
    if second is not None:
        after = open_bay(second)
        names = (before.scenario.name, after.scenario.name)
        names = names if names[0] != names[1] else ("the first", "the second")
    else:
        told = Scenario("").with_changes(changes).changes
        after, names = changed(before, told), ("as it is", f"with {', '.join(told)}")
    return pair_bays((before, after), names, shots, seed, workers)


def pair_bays(bays: Two, names: tuple[str, str], shots: int, seed: int, workers: int) -> Compared:
    """As `compare`, of two bays that are open, by these names."""
    bills = bill_of_bay(bays[0]), bill_of_bay(bays[1])  # a price list that cannot be used is told before the flight
    return Compared(bays, compare_paired(*bays, names, shots, seed, workers), bills)
