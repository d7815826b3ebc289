"""`flightsim.run`: a bay's shots flown to their ends, and what became of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from numpy.typing import NDArray

from flightsim.errors import PluginError
from flightsim.library.bay_in_code import ScenarioLike, open_bay
from flightsim.library.list_bay import build_sections
from flightsim.library.looks import frame, html_paragraph, html_table, no_figure, paper
from flightsim.plugin.offered import columns_added
from flightsim.report.draw.figures import own_figures
from flightsim.report.pages.run_folder import Added, write_run
from flightsim.report.pages.shots_ahead import ShotsAhead
from flightsim.report.words.common_words import CAUTION, verdict
from flightsim.report.words.tables import outcome_table
from flightsim.report.words.terminal import print_verdict
from flightsim.study.improve.first_step import first_step
from flightsim.study.run.adverse import has_cloth
from flightsim.study.run.columns import columns, columns_as_asked
from flightsim.study.run.consequences import tracks_for, with_consequences
from flightsim.study.run.crew import crew
from flightsim.study.run.fly_on import walk_on
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.rates import ESCAPE
from flightsim.study.run.replay import contacts_of
from flightsim.study.run.require import TARGETS, Judgement, Requirement, judge_all, parse_requirements
from flightsim.study.run.result import Rate, RunResult
from flightsim.study.run.run_files import summary
from flightsim.study.run.target_result import TargetResult
from flightsim.study.run.targets import judge_required
from flightsim.study.run.walk import DEFAULT_SEED, DEFAULT_SHOTS
from flightsim.study.run.walk import run as walk

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Run:
    """A finished run. bay: what was flown; result: everything, as arrays; judgements: of what was required of it."""

    bay: OpenBay
    result: RunResult
    judgements: tuple[Judgement, ...] = ()

    @property
    def met(self) -> bool:
        """Whether all that was required is met, each judged by its bound; True where nothing was."""
        return all(judgement.met for judgement in self.judgements)

    @property
    def rates(self) -> Mapping[str, Rate]:
        """How often, of balls as they are played: by flag (`person_hit`, ...), `escape` for any, `held`, `rolled_dead`.

        Each has its count, the rate, and one-sided 95 % bounds.
        """
        return dict(self.result.rates.total)

    def rate(self, name: str = ESCAPE) -> Rate:
        """One rate by its name. Raises KeyError with the names that there are."""
        if name not in self.rates:
            raise KeyError(f"'{name}'; allowed: {', '.join(self.rates)}")
        return self.rates[name]

    @property
    def targets(self) -> tuple[TargetResult, ...]:
        """The targets of the scenario, each judged: met, not yet, or None for not asked."""
        return self.result.targets

    @cached_property
    def arrays(self) -> dict[str, NDArray[Any]]:
        """The columns of shots.csv `(n,)` by name, units in the names; docs/outputs.md tells each."""
        return columns(self.result)

    @property
    def shots(self) -> Any:
        """One row a shot: a pandas data frame where pandas is installed, else the arrays by name."""
        return frame(self.arrays)

    @property
    def table(self) -> Any:
        """One row a rate, with its bounds: a pandas data frame where pandas is installed, else arrays by name."""
        rates = self.rates
        rows = {key: [getattr(rate, key) for rate in rates.values()] for key in ("count", "rate", "lower", "upper")}
        return frame({"name": list(rates), **rows})

    @property
    def summary(self) -> dict[str, Any]:
        """What summary.json holds; docs/outputs.md tells every key."""
        return summary(self.result, self.judgements)

    @property
    def pictures(self) -> tuple[str, ...]:
        """The names of its pictures, for `figure`."""
        return tuple(name for name, *_ in own_figures(self.result, self.bay))

    def figure(self, name: str = "bay") -> Figure:
        """One picture, drawn. Raises BadInputError with the names that there are."""
        drawn = {own: draw for own, _, _, draw in own_figures(self.result, self.bay)}
        if name not in drawn:
            raise no_figure(name, list(drawn))
        return drawn[name]()

    def save(self, folder: str | Path) -> Path:
        """Write all files of `flightsim run` into a folder, whole or not at all.

        Raises BadInputError where that cannot be; PluginError where a plugin failed, after all else is written.
        """
        found, out = self.saved(Path(folder))
        if words := found.left_out(out):
            raise PluginError(words)
        return out

    def saved(
        self,
        folder: Path,
        say: Callable[[str], None] = lambda words: None,
        as_csv: bool | None = None,
        ahead: ShotsAhead | None = None,
    ) -> tuple[Run, Path]:
        """The same; returns the run, with what plugins failed to say of it, and where it is. Raises BadInputError.

        as_csv: with shots.csv; None: up to a million shots. ahead: where the files of the shots are on their way.
        """
        plugins = self.bay.plugins

        def added() -> Added:
            looked_at = plugins.asks(
                "flightsim_report_sections", "flightsim_figures", "flightsim_files", "flightsim_columns"
            )
            seen = (self.result.scenario, self.result.bay, columns_as_asked(self.result) if looked_at else {})
            failed: list[PluginError] = []
            context = (*seen, failed, contacts_of(self.bay, self.result))
            sections, figures = plugins.report_sections(*context), plugins.figures(*context)
            files, more = plugins.files(*context), columns_added(plugins, *context)
            return Added([*sections, *build_sections(self.bay)], figures, failed, files, more)

        result = write_run(self.result, self.judgements, added, folder, say, self.bay, as_csv, ahead)
        return replace(self, result=result), folder

    def left_out(self, out: Path) -> str:
        """What plugins failed to say of a run that was written; empty where none failed."""
        errors = "\n".join(self.result.failed)
        return f"{errors}\n  the result is complete but for what a plugin would have said: {out}" if errors else ""

    def __str__(self) -> str:
        """The verdict, as the terminal tells it."""
        console, text = paper()
        print_verdict(self.result, self.judgements, console)
        return text.getvalue().strip()

    def _repr_html_(self) -> str:
        title = f"<h3>{html_paragraph(self.result.scenario.name)}</h3>"
        caution = html_paragraph(" ".join(CAUTION))
        return title + html_paragraph(verdict(self.result)) + html_table(outcome_table(self.result)) + caution


def run(
    scenario: ScenarioLike | OpenBay,
    shots: int = DEFAULT_SHOTS,
    seed: int = DEFAULT_SEED,
    *,
    require: Sequence[str] = (),
    quick: bool = True,
    workers: int = 1,
) -> Run:
    """Fly a bay's shots to their ends and count what became of them.

    shots: in all. require: as for `--require`, `'escape < 1 in 500'`, or `'escape < 1 in 500 at worst'` to ask it of
    adverse cloth as well. quick: without adverse cloth, what if one fails and what would help. workers: threads that
    fly; the result does not depend on it. Raises ScenarioError, BadInputError or PluginError, each with a way out.
    """
    bay = open_bay(scenario)
    return fly_bay(bay, shots, seed, parse_requirements(require), quick, workers)


def fly_bay(
    bay: OpenBay,
    shots: int,
    seed: int,
    requirements: Sequence[Requirement] = (),
    quick: bool = False,
    workers: int = 1,
    progress: Callable[[int], None] = lambda done: None,
    say: Callable[[str], None] = lambda words: None,
    fly_on: bool = False,
    flown: Callable[[RunResult], None] = lambda result: None,
) -> Run:
    """As `run`; progress is told how many shots are done, say what is being done. fly_on: from these shots on, in
    steps, while more may show a target; flown: told the run before its consequences are worked out.
    """
    at_worst = any(requirement.at_worst or requirement.name == TARGETS for requirement in requirements)
    tracks = tracks_for(bay, shots, quick)
    with crew(workers):
        if fly_on:
            result = walk_on(bay, shots, seed, workers, progress, say, tracks)
        else:
            result = walk(bay, shots, seed, workers, progress, tracks=tracks)
        flown(result)
        result = with_consequences(bay, result, quick, say, at_worst, tracks)
        if not quick:
            say("what to do first")
            result = replace(result, first_step=first_step(bay, result))
    of_rates = [requirement for requirement in requirements if requirement.name != TARGETS or not result.sampled]
    judged = judge_all(of_rates, result.rates, result.types, result.sampled, result.adverse, has_cloth(bay))
    of_targets = (judge_required(result),) if len(of_rates) < len(requirements) else ()
    return Run(bay, result, (*judged, *of_targets))
