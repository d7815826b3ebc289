"""`flightsim.improve`: changes that meet the targets of a bay."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from os import path as paths
from pathlib import Path
from typing import Any

from flightsim.errors import BadInputError, PluginError
from flightsim.library.bay_in_code import Scenario, ScenarioLike, open_bay
from flightsim.library.list_bay import bill_of_bay, prices_of
from flightsim.library.looks import frame, html_paragraph, html_table, paper
from flightsim.report.draw.improve_figure import changed_bay_figure, targets_figure
from flightsim.report.draw.style import save
from flightsim.report.pages.folder import built_beside, check_out
from flightsim.report.pages.improve_data import improve_data
from flightsim.report.pages.improve_page import improve_page
from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.improve_steps import moved, steps_words
from flightsim.report.words.improve_told import print_improved
from flightsim.report.words.improve_words import headline, targets_table
from flightsim.scenario.reading.rewrite import rewritten
from flightsim.scenario.reading.source import read_source
from flightsim.scenario.reading.written import Written
from flightsim.study.improve.improve import MINUTES, Improved
from flightsim.study.improve.improve import improve as search
from flightsim.study.improve.trials import no_prices
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.run_files import write_json
from flightsim.study.run.target_result import TargetResult
from flightsim.study.run.walk import DEFAULT_SEED

FILE, DATA, PAGE = "improved.yaml", "improve.json", "improve.html"
TARGETS, BAYS = "targets.png", "bays.png"


@dataclass(frozen=True)
class Improvement:
    """Changes that were found. found: all of it, as data; seed: of its shots."""

    found: Improved
    seed: int

    @property
    def met(self) -> bool:
        """Whether all targets that are asked are met, as confirmed on fresh shots."""
        return self.found.met

    @property
    def changes(self) -> tuple[str, ...]:
        """All changes, as for `--set`."""
        return self.found.sets

    @property
    def bay(self) -> OpenBay:
        """The bay with all changes."""
        return self.found.opened

    @property
    def targets(self) -> tuple[TargetResult, ...]:
        """The targets of the changed bay, each judged on fresh shots."""
        return self.found.after

    @property
    def text(self) -> str:
        """The scenario file with all changes, its comments kept."""
        return improved_text(self.found, None)

    @property
    def scenario(self) -> Scenario:
        """The changed bay as a scenario."""
        return Scenario(self.found.found.origin.scenario, (*self.found.found.scenario.overrides, *self.changes))

    @property
    def summary(self) -> dict[str, Any]:
        """What improve.json holds; docs/improve.md tells every key."""
        return improve_data(self.found, self.seed)

    @property
    def table(self) -> Any:
        """One row a target: a pandas data frame where pandas is installed, else arrays by name."""
        before = {target.name: target for target in self.found.before}
        rows = [target for target in self.found.after if target.asked]
        return frame({
            "name": [target.name for target in rows], "limit": [target.limit for target in rows],
            "before": [before[target.name].rate for target in rows], "after": [target.rate for target in rows],
            "upper": [target.upper for target in rows], "met": [target.good for target in rows],
        })  # fmt: skip

    def save(self, folder: str | Path) -> Path:
        """Write improved.yaml, improve.json, the page and its pictures, whole or not at all. Raises BadInputError."""
        out = Path(folder)
        check_out(out)
        with built_beside(out) as building:
            (building / FILE).write_text(improved_text(self.found, out), encoding="utf-8")
            write_json(building / DATA, self.summary)
            self._draw(building)
        return out

    def _draw(self, building: Path) -> None:
        """The pictures that there is something to draw for, and the page that holds them."""
        pairs, bays, targets = moved(self.found), building / BAYS, building / TARGETS
        if self.found.steps:
            save(changed_bay_figure(self.found.found, self.found.opened), bays)
        if pairs:
            save(targets_figure(pairs, bool(self.found.steps)), targets)
        drawn = [path if path.exists() else None for path in (targets, bays)]
        text = improve_page(self.found, self.seed, self.currency, *drawn)
        (building / PAGE).write_text(text, encoding="utf-8")

    def __str__(self) -> str:
        """The answer in words, as the terminal tells it."""
        console, text = paper()
        print_improved(self.found, console, self.currency)
        return text.getvalue().strip()

    @property
    def currency(self) -> str:
        """Of the bay's price list; empty without one."""
        prices = prices_of(self.found.found.scenario)
        return "" if prices is None else prices.currency

    def _repr_html_(self) -> str:
        opening = html_paragraph(headline(self.found)) + html_paragraph(steps_words(self.found))
        return opening + html_table(targets_table(self.found)) + html_paragraph(" ".join(CAUTION))


def improve(
    scenario: ScenarioLike | OpenBay,
    *,
    seed: int = DEFAULT_SEED,
    say: Callable[[str], None] = lambda words: None,
    minutes: float = MINUTES,
) -> Improvement:
    """Find changes that meet the targets of a bay, and confirm them on fresh shots, adverse cloth and tolerance in.

    say is told what is being done; minutes: of the clock, about: then the best so far is confirmed. Ctrl-C ends the
    search and gives the best so far. Raises ScenarioError, BadInputError or PluginError.
    """
    bay = open_bay(scenario)
    priced = prices_of(bay.scenario) is not None
    return Improvement(search(bay, seed, _price if priced else no_prices, say, minutes), seed)


def _price(opened: OpenBay) -> float | None:
    """What a bay costs by its own price list; None where that cannot be told."""
    try:
        bill = bill_of_bay(opened)
    except (BadInputError, PluginError):
        return None
    return None if bill is None else float(bill.total)


def improved_text(found: Improved, out: Path | None) -> str:
    """The file with all changes. out: the folder that it goes to, from which files that it names are found again."""
    origin = found.found.origin.scenario
    sets = [*found.found.scenario.overrides, *found.sets]
    if out is not None and not isinstance(origin, Written):
        sets += _files_named(Path(origin).parent, out, origin)
    return rewritten(origin, sets)


def _files_named(home: Path, out: Path, origin: str | Path) -> list[str]:
    """Changes by which files that a scenario names by a path from its own folder are found from another."""
    if home.resolve() == out.resolve():
        return []
    named = [(path, text) for path, text in _texts(read_source(origin).data, "")
             if not Path(text).is_absolute() and Path(text).suffix and (home / text).is_file()]  # fmt: skip
    return [f"{path}={Path(paths.relpath(home / text, out)).as_posix()}" for path, text in named]


def _texts(value: Any, path: str) -> list[tuple[str, str]]:
    """Every text in plain data, with its dotted path."""
    if isinstance(value, str):
        return [(path, value)]
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [found for key, each in inner for found in _texts(each, f"{path}.{key}" if path else str(key))]
