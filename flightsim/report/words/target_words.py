"""Every target of a run in a row of its own: what is asked, what was seen, and whether it is met."""

from __future__ import annotations

from flightsim.report.words.common_words import at_worst, one_in
from flightsim.report.words.plain_table import Table
from flightsim.report.words.verdict_words import name_of
from flightsim.scenario.reading.display import Display
from flightsim.study.run.result import RunResult
from flightsim.study.run.target_result import TargetResult

NOTE = (
    "Each is judged by its bound, of balls as they are played. In the worst case: the largest bound with adverse cloth "
    "or sizes off; the severer targets have to be met there as well. What is not asked says nothing of it."
)


def every_target(result: RunResult) -> Table:
    """All targets of the scenario, asked or not."""
    rows = tuple(_row(target, Display(result.scenario.units)) for target in result.targets)
    head = ("target", "asked", "as seen", "at worst", "in the worst case", "")
    return Table("Every target", head, rows, frozenset(), NOTE if rows else "")


def _row(target: TargetResult, show: Display) -> tuple[str, ...]:
    name = name_of(target)
    if not target.asked:
        return name, "", "", "", "", f"not asked: {target.why}" if target.why else "not asked"
    if target.kind == "length":
        known = tuple("" if value is None else show.length(value) for value in (target.rate, target.upper))
        return name, f"{show.length(target.limit)} or more", *known, "", _word(target)
    seen = "" if target.rate is None else one_in(target.rate)
    bounds = ("" if value is None else at_worst(value) for value in (target.upper, target.worst_upper))
    return name, f"below {one_in(target.limit)}", seen, *bounds, _word(target)


def _word(target: TargetResult) -> str:
    """`met`, `not yet`, or that these shots are too few to show it."""
    if target.good:
        return "met"
    if target.shots_needed is not None:
        return f"not shown: {target.shots_needed:,} shots may show it"
    return "not yet" if not target.met else "not yet: not in the worst case"
