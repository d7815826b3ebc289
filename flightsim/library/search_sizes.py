"""`flightsim.find_size`: the least size that meets a target."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flightsim.errors import Asked, BadInputError, PluginError
from flightsim.library.bay_in_code import ScenarioLike, scenario_of
from flightsim.library.list_bay import bill_of_bay, cost_facts
from flightsim.library.list_bay import prices_of as price_list_of
from flightsim.library.looks import frame, html_paragraph, html_table, paper
from flightsim.making.costing.bill import Bill
from flightsim.report.draw.size_figure import size_figure
from flightsim.report.pages.answer_folder import write_answer
from flightsim.report.pages.size_data import size_data
from flightsim.report.pages.size_page import size_page
from flightsim.report.words.build_words import cost_words
from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.print_size import print_size
from flightsim.report.words.size_tables import looks_table
from flightsim.report.words.size_words import SizeReport, headline
from flightsim.study.run.built_off import TOLERANCE
from flightsim.study.run.open_bay import BayOrigin, OpenBay
from flightsim.study.run.open_bay import open_bay as open_from
from flightsim.study.run.require import Requirement
from flightsim.study.run.walk import DEFAULT_SEED
from flightsim.study.size.builds import Builds
from flightsim.study.size.keep import parse_keeps
from flightsim.study.size.least_size import Answer, Search
from flightsim.study.size.size_target import parse_target
from flightsim.study.size.vary import Vary, parse_varies

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INCH_STEP = "2 in"  # what sizes are rounded up to in a scenario in feet and inches
CONFIDENCE = 0.95


@dataclass(frozen=True)
class SizeFound:
    """A search for a size. report: the answer, as data, with the scenario; changes, keeps: as they were asked for.

    bill: what the bay of this size costs by its own price list, words where that cannot be told, None without one.
    """

    report: SizeReport
    changes: tuple[str, ...]
    keeps: tuple[str, ...]
    bill: Bill | str | None = None

    @property
    def found(self) -> bool:
        """Whether any size of the range meets the target, as confirmed on fresh shots."""
        return self.report.answer.chosen is not None

    @property
    def sizes(self) -> dict[str, float] | None:
        """What meets the target, by dotted path: m, deg or plain numbers; None where nothing in the range does."""
        answer = self.report.answer
        if answer.chosen is None:
            return None
        return {vary.path: value for vary, value in zip(answer.varies, answer.chosen, strict=True)}

    @property
    def summary(self) -> dict[str, Any]:
        """What size.json holds; docs/size.md tells every key."""
        facts = cost_facts(self.bill) if isinstance(self.bill, Bill) else None
        return {**size_data(self.report, self.changes, self.keeps), "bill": facts}

    @property
    def cost(self) -> str:
        """What the bay of this size costs, in words; empty where its file names no price list, or no size will do."""
        return f"The bay of this size. {cost_words(self.bill)}" if isinstance(self.bill, Bill) else self.bill or ""

    @property
    def table(self) -> Any:
        """One row a size that was looked at: a pandas data frame where pandas is installed, else arrays by name."""
        answer = self.report.answer
        columns: dict[str, Sequence[Any]] = {
            vary.path: [look.sizes[k] for look in answer.looks] for k, vary in enumerate(answer.varies)
        }
        rows: dict[str, Sequence[Any]] = {
            "hits": [look.hits for look in answer.looks],
            "upper": [look.worst for look in answer.looks],
        }
        return frame({**columns, **rows})

    def figure(self) -> Figure:
        """Misses against size."""
        return size_figure(self.report)

    def save(self, folder: str | Path) -> Path:
        """Write all files of `flightsim size` into a folder, whole or not at all. Raises BadInputError."""
        return write_answer(
            Path(folder), ("size.json", self.summary), ("misses.png", self.figure()),
            ("size.html", lambda drawn: size_page(self.report, self.cost, drawn)),
        )  # fmt: skip

    def __str__(self) -> str:
        """The answer in words, as the terminal tells it."""
        console, text = paper()
        print_size(self.report, console, self.cost)
        return text.getvalue().strip()

    def _repr_html_(self) -> str:
        caution = html_paragraph(" ".join(CAUTION))
        return html_paragraph(headline(self.report)) + html_table(looks_table(self.report)) + caution


def find_size(
    scenario: ScenarioLike | OpenBay,
    vary: str | Sequence[str],
    target: str,
    *,
    keep: Sequence[str] = (),
    step: str | None = None,
    tolerance: float = TOLERANCE,
    confidence: float = CONFIDENCE,
    prices: Mapping[str, float] | None = None,
    shots: int | None = None,
    seed: int = DEFAULT_SEED,
) -> SizeFound:
    """Search the least sizes that meet a target, and confirm them on fresh shots, rebounds included.

    vary: `'canopy.depth=0.4m..2.2m'`, one or several; target: `'hit_unprotected < 1 in 200'`; keep, step, prices: as
    for `flightsim size`; tolerance: of the build, m. Raises ScenarioError, BadInputError or PluginError.
    """
    if isinstance(scenario, OpenBay):
        origin, changes = scenario.origin, scenario.scenario.overrides
    else:
        wanted = scenario_of(scenario)
        origin, changes = BayOrigin(wanted.origin), wanted.changes
    varied = (vary,) if isinstance(vary, str) else tuple(vary)
    listed = tuple(f"{path}={price}" for path, price in (prices or {}).items())
    read = SizeQuestion(origin, changes, varied, target, tuple(keep), step, tolerance, confidence, listed, shots, seed)
    return read.answer()


@dataclass(frozen=True)
class SizeQuestion:
    """What is asked for, each as text, read and refused before any work is done; None where the choice is ours."""

    origin: BayOrigin
    changes: tuple[str, ...]
    vary: tuple[str, ...]
    target: str
    keep: tuple[str, ...]
    step: str | None
    tolerance: float
    confidence: float
    prices: tuple[str, ...]
    shots: int | None
    seed: int

    def answer(
        self, ready: Callable[[], None] = lambda: None, say: Callable[[str], None] = lambda words: None
    ) -> SizeFound:
        """Search. ready is called once all that was asked can be read; say is told what is being done."""
        requirement, keeps = target_of(self.target), parse_keeps(self.keep)
        now, refused = self._as_it_is()
        inches = now is not None and now.scenario.units == "imperial"
        varies = parse_varies(self.vary, INCH_STEP if self.step is None and inches else self.step)
        prices = prices_of(self.prices, varies)
        if now is not None:
            price_list_of(now.scenario)  # one that cannot be used is told before the search
        ready()
        builds = Builds(self.origin, self.changes, varies, (), self.tolerance)
        search = Search(builds, requirement, self.confidence, keeps, prices, self.seed, self.shots)
        search.say = say
        try:
            answer = search.run()
        except BadInputError as error:
            raise (refused or error) from None
        present = tuple(None if now is None else vary.present(now.scenario) for vary in answer.varies)
        scenario = (search.home if now is None else now).scenario
        return SizeFound(SizeReport(answer, scenario, present), self.changes, self.keep, self._bill(answer))

    def _bill(self, answer: Answer) -> Bill | str | None:
        """Of the chosen size. What cannot be listed takes nothing from an answer that took its time."""
        if answer.chosen is None:
            return None
        chosen = (vary.set(value) for vary, value in zip(answer.varies, answer.chosen, strict=True))
        try:
            return bill_of_bay(open_from(self.origin, (*self.changes, *chosen)))
        except (BadInputError, PluginError) as error:
            return f"What the bay of this size costs cannot be told: {error}"

    def _as_it_is(self) -> tuple[OpenBay | None, BadInputError | None]:
        """The scenario without what is varied; or why it is none, which matters only where no size makes it one."""
        try:
            return open_from(self.origin, self.changes), None
        except BadInputError as error:
            return None, error


def target_of(text: str) -> Requirement:
    """Read a target. Raises BadInputError that shows how to write one."""
    return parse_target(text)


def prices_of(texts: Sequence[str], varies: Sequence[Vary]) -> dict[str, float]:
    """Read prices. Raises BadInputError that shows how to write one."""
    prices = {}
    for text in texts:
        path, _, number = (part.strip() for part in text.partition("="))
        paths = [vary.path for vary in varies]
        fix = Asked("prices", f"{paths[0]}=40")
        if path not in paths:
            words = f": '{path}' is not varied\n  allowed: {', '.join(paths)}\n  try: "
            raise BadInputError(Asked("prices", text), words, fix)
        try:
            prices[path] = float(number)
        except ValueError:
            prices[path] = -1.0
        if not 0.0 <= prices[path] < float("inf"):
            allowed = "a plain number, nought or more, for each metre (or degree, or unit)"
            words = f": '{number}' is no price\n  allowed: {allowed}\n  try: "
            raise BadInputError(Asked("prices", text), words, fix)
    return prices
