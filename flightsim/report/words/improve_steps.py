"""Changes that were found, as a page tells them: the verdict before and after, step by step, and what became worse."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from flightsim.report.words.common_words import one_in
from flightsim.report.words.improve_words import HARDLY, headline, often
from flightsim.report.words.plain_table import Table
from flightsim.report.words.verdict import BAD, GOOD, NOTE, OPEN, SIGNS, VerdictLine, worst_first
from flightsim.report.words.verdict_words import name_of
from flightsim.scenario.reading.display import Display
from flightsim.study.improve.improve import Improved
from flightsim.study.run.target_result import TargetResult

MORE = 1.05  # times as often: less is luck of the draw, and not told as worse (judgement)
TOGETHER = " By itself it changes no rate by much: it is for the swing, or counts with the others."
MOST_NAMED = 4


@dataclass(frozen=True)
class Moved:
    """One target before and after; its names as in the verdict."""

    name: str
    before: TargetResult
    after: TargetResult

    @property
    def worse(self) -> bool:
        """Whether it is missed more often than before."""
        was, now = self.before.rate, self.after.rate
        if was is None or now is None:
            return False
        return now < was - 1e-9 if self.after.kind == "length" else now > max(was * MORE, HARDLY)


def moved(found: Improved) -> list[Moved]:
    """Every target that is asked, before and after, the worst of the changed bay first; none where it was not flown."""
    before = {target.name: target for target in found.before}
    after = worst_first([target for target in found.after if target.asked])
    return [Moved(name_of(target), before.get(target.name, target), target) for target in after]


def improve_lines(found: Improved) -> list[VerdictLine]:
    """The answer, a line each: whether the targets are met, before and after, what became worse, what is not met."""
    headline_words = headline(found).removeprefix("Not yet: ")
    lines = [_line(GOOD if found.met else BAD, "meets" if found.met else "not yet", headline_words)]
    lines.append(_line(NOTE, "as found", _count(found.before)))
    if not found.after:
        return lines
    shots = "" if found.result is None else f", on {len(found.result.shots):,} fresh shots"
    lines.append(
        _line(GOOD if found.met else OPEN, "changed" if found.steps else "again", f"{_count(found.after)}{shots}")
    )
    pairs = moved(found)
    unmet = [pair.name for pair in pairs if not pair.after.good]
    if unmet:
        lines.append(_line(BAD, "not met", _named(unmet)))
    if not found.steps:
        return lines
    worse = [pair.name for pair in pairs if pair.worse]
    words = _named(worse) if worse else "no target is missed more often than before"
    return [*lines, _line(OPEN if worse else NOTE, "worse", words)]


def steps_words(found: Improved) -> str:
    """What to do, a line each, in the order in which it was found."""
    return "\n".join(["Do this, in this order:", *step_lines(found)]) if found.steps else ""


def _names(found: Improved) -> dict[str, str]:
    """What each target's rate is called in a search, which counts the severer ones with their worst cloth."""
    worst = ", with the worst cloth"
    return {target.name: name_of(target) + (worst if target.severe else "") for target in found.before}


def step_lines(found: Improved) -> list[str]:
    """Each step in a builder's words, with the rates that it helps most and harms most."""
    names = _names(found)
    return [
        f"{number}. {step.words}.{_told(step.before, step.after, names)}"
        for number, step in enumerate(found.steps, start=1)
    ]


def step_table(found: Improved) -> Table:
    """Every rate that each step changes, before and after, and what one would type for it."""
    names = _names(found)
    rows = [
        (f"{number}" if name == first else "", names.get(name, name), often(step.before[name]),
         often(step.after[name]), "worse" if _more(step.before[name], step.after[name]) else "")
        for number, step in enumerate(found.steps, start=1)
        for first in [next(iter(step.before), "")]
        for name in step.before
    ]  # fmt: skip
    note = "On the shots of the search, each step with all that stand before it. The targets above are of fresh shots."
    return Table("", ("step", "what", "before", "after", ""), tuple(rows), frozenset(), note if rows else "")


def worse_words(found: Improved) -> list[str]:
    """What became worse, a line each, and whether its target is met all the same."""
    show = Display(found.found.scenario.units).length
    return [_worse(pair, show) for pair in moved(found) if pair.worse and found.steps]


def typed(found: Improved) -> str:
    """All changes as one types them, a line each."""
    return "\n".join(f"--set '{change}'" if " " in change else f"--set {change}" for change in found.sets)


def _worse(pair: Moved, show: Callable[[float], str]) -> str:
    show_rate = show if pair.after.kind == "length" else one_in
    was, now = (show_rate(value or 0.0) for value in (pair.before.rate, pair.after.rate))
    ending = "its target is met all the same" if pair.after.good else "its target is not met"
    return f"{pair.name[:1].upper()}{pair.name[1:]}: {was} became {now}; {ending}."


def _told(before: dict[str, float], after: dict[str, float], names: dict[str, str]) -> str:
    """The rate that falls most and the one that rises most, as far as any does."""
    words = ""
    less = [name for name in before if _more(after[name], before[name])]
    if less:
        best = max(less, key=lambda name: (before[name] / max(after[name], HARDLY), name))
        words = f" {_pair(names.get(best, best), before[best], after[best])}."
    more = [name for name in before if _more(before[name], after[name])]
    if more:
        worst = max(more, key=lambda name: (after[name] / max(before[name], HARDLY), name))
        words += f" Worse: {_pair(names.get(worst, worst), before[worst], after[worst], small=True)}."
    return words or TOGETHER


def _pair(name: str, was: float, now: float, small: bool = False) -> str:
    first = name if small else f"{name[:1].upper()}{name[1:]}"
    return f"{first}: {often(was)} becomes {often(now)}"


def _more(was: float, now: float) -> bool:
    return now > max(was * MORE, HARDLY)


def _count(targets: Iterable[TargetResult]) -> str:
    asked = [target for target in targets if target.asked]
    return f"meets {sum(target.good for target in asked)} of the {len(asked)} targets asked"


def _named(names: Sequence[str]) -> str:
    more = f", and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more


def _line(level: str, word: str, text: str) -> VerdictLine:
    return VerdictLine(SIGNS[level], word, text, level)
