"""`flightsim.compare`: two bays, or one and a change of it, on the same shots."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.console import Console

from flightsim.errors import BadInputError
from flightsim.library.bay_in_code import Scenario, ScenarioLike, changed, open_bay
from flightsim.library.list_bay import bill_of_bay, cost_facts
from flightsim.library.looks import frame, html_paragraph, html_table, paper
from flightsim.making.costing.bill import Bill
from flightsim.report.draw.compare_figure import compare_figure
from flightsim.report.draw.variants_figure import variants_figure
from flightsim.report.pages.answer_folder import write_answer
from flightsim.report.pages.compare_page import pair_page, variants_page
from flightsim.report.words.build_words import two_costs_words
from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.compare_told import print_compare, print_variants
from flightsim.report.words.compare_words import changed_table, compare_data, verdict
from flightsim.report.words.variant_words import VariantRow, variants_data, variants_headline, variants_table
from flightsim.study.compare.paired_bays import Comparison, compare_all
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.walk import DEFAULT_SEED, DEFAULT_SHOTS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST_BAYS = 12  # every run is held in memory, and letters and rows are to be read


@dataclass(frozen=True)
class Compared:
    """Bays on the same shots. results: the first against each other one, with everything as arrays; bills: what each
    costs, by its own price list.
    """

    bays: tuple[OpenBay, ...]
    results: tuple[Comparison, ...]
    bills: tuple[Bill | None, ...]

    @property
    def result(self) -> Comparison:
        """The first two bays."""
        return self.results[0]

    @property
    def rows(self) -> tuple[VariantRow, ...]:
        """One row a bay, the first bay first."""
        first = self.results[0]
        named = [(first.names[0], first.results[0], None), *((r.names[1], r.results[1], r) for r in self.results)]
        return tuple(
            VariantRow(name, result, pair, _measures(bay), bill)
            for (name, result, pair), bay, bill in zip(named, self.bays, self.bills, strict=True)
        )

    @property
    def summary(self) -> dict[str, Any]:
        """What compare.json holds; docs/compare.md tells every key."""
        costs = [None if bill is None else cost_facts(bill) for bill in self.bills]
        return {**compare_data(self.results, self.bays), "cost": costs, "variants": variants_data(self.rows)}

    @property
    def cost(self) -> str:
        """What the two cost, in words; empty where neither names a price list, or a table of more bays tells it."""
        return two_costs_words(*self.bills) if len(self.bays) == 2 else ""

    @property
    def table(self) -> Any:
        """One row a flag, for the first two bays: rates, shots that only the one has, and the chance of that."""
        rows = self.result.changed
        return frame({
            "name": [row.key for row in rows], "first": [row.first.rate for row in rows],
            "second": [row.second.rate for row in rows], "only_first": [row.only_first for row in rows],
            "only_second": [row.only_second for row in rows], "chance": [row.chance for row in rows],
        })  # fmt: skip

    def figure(self) -> Figure:
        """Two bays: a few of the balls whose end the change turned; more: how many get past in each."""
        return variants_figure(self.rows) if len(self.bays) > 2 else compare_figure(self.result, self.bays[:2])

    @property
    def picture(self) -> str:
        """The name of the picture's file."""
        return "variants.png" if len(self.bays) > 2 else "changed.png"

    def save(self, folder: str | Path) -> Path:
        """Write all files of `flightsim compare` into a folder, whole or not at all. Raises BadInputError."""
        return write_answer(
            Path(folder), ("compare.json", self.summary), (self.picture, self.figure()), ("compare.html", self._page)
        )

    def _page(self, drawn: Path) -> str:
        """The page as text. drawn: the picture on disk."""
        if len(self.bays) > 2:
            return variants_page(self.rows, self.result, drawn)
        return pair_page(self.result, self.cost, drawn)

    def show(self, console: Console) -> None:
        """Print the answer in words."""
        if len(self.bays) > 2:
            print_variants(self.rows, console)
        else:
            print_compare(self.result, console, self.cost)

    def __str__(self) -> str:
        """The answer in words, as the terminal tells it."""
        console, text = paper()
        self.show(console)
        return text.getvalue().strip()

    def _repr_html_(self) -> str:
        caution = html_paragraph(" ".join(CAUTION))
        if len(self.bays) > 2:
            return html_paragraph(variants_headline(self.rows)) + html_table(variants_table(self.rows)) + caution
        return html_paragraph(verdict(self.result)) + html_table(changed_table(self.result)) + caution


def _measures(bay: OpenBay) -> dict[str, float]:
    return bay.plugins.measures(bay.scenario, bay.bay, bay.physics.ball, bay.facings)


def compare(
    first: ScenarioLike | OpenBay,
    second: ScenarioLike | OpenBay | None = None,
    changes: Mapping[str, Any] | None = None,
    *,
    variants: Mapping[str, Mapping[str, Any]] | None = None,
    shots: int = DEFAULT_SHOTS,
    seed: int = DEFAULT_SEED,
    workers: int = 1,
) -> Compared:
    """Fly the same shots in two bays: a first and a second, or a first and changes of it, `{"canopy.depth": "1.4 m"}`.

    variants: more bays, each the first with changes, by name: `{"deeper": {"canopy.depth": "1.8 m"}}`.

    Raises BadInputError where they would not be the same shots; ScenarioError and PluginError as `load`.
    """
    if (second is not None and changes is not None) or not (second is not None or changes is not None or variants):
        raise BadInputError(
            "compare takes a second bay, or changes of the first\n  allowed: one of them, or variants\n"
            "  try: compare('bay.yaml', changes={'canopy.depth': '1.4 m'})"
        )
    before = open_bay(first)
    bays, names = [before], ["as it is"]
    if second is not None:
        bays.append(open_bay(second))
        told_apart = before.scenario.name != bays[1].scenario.name
        names = [bay.scenario.name for bay in bays] if told_apart else ["the first", "the second"]
    elif changes is not None:
        set_texts = Scenario("").with_changes(changes).changes
        bays.append(changed(before, set_texts))
        names.append(f"with {', '.join(set_texts)}")
    for name, more in (variants or {}).items():
        bays.append(changed(before, Scenario("").with_changes(more).changes))
        names.append(name)
    return compare_bays(bays, names, shots, seed, workers)


def compare_bays(
    bays: Sequence[OpenBay], names: Sequence[str], shots: int, seed: int, workers: int,
    say: Callable[[str], None] = lambda words: None,
) -> Compared:  # fmt: skip
    """As `compare`, of bays that are open, by these names; say is told what is being done."""
    if len(bays) > MOST_BAYS:
        raise BadInputError(f"{len(bays)} bays: at most {MOST_BAYS} are compared at once\n  try: leave some out")
    bills = tuple(bill_of_bay(bay) for bay in bays)  # a price list that cannot be used is told before the flight
    return Compared(tuple(bays), compare_all(bays, names, shots, seed, workers, say), bills)
