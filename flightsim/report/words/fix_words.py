"""What helps most: changes that were flown on the run's own shots, best first."""

from __future__ import annotations

from collections.abc import Sequence

from flightsim.report.words.common_words import ESCAPE_WORDS, one_in
from flightsim.report.words.trouble_words import TRIED_WORDS, trials_words
from flightsim.report.words.verdict_words import name_of
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import Tried

MOST_FIXES = 3
NOTHING_HELPS = "Nothing that was tried helps: the page tells each under what goes wrong."
EACH_ALONE = "Each of these by itself, flown on the run's own shots:"
FURTHER = "One change of those that `flightsim improve` looks at; it goes on from there."
NOTHING_WRONG = "No ball was seen to get past the protection, so nothing was tried."


def fixes(result: RunResult, most: int = MOST_FIXES) -> list[str]:
    """The changes that leave the fewest balls past the protection, each with before and after."""
    best = {remedy.sets: remedy for trouble in result.troubles for remedy in trouble.tried if remedy.helps}
    return [
        _told(remedy)
        for remedy in sorted(best.values(), key=lambda remedy: (remedy.escape_rate_after, remedy.words))[:most]
    ]


def first_words(result: RunResult) -> list[str]:
    """What to do first: what clears the swing, else the change that gains most on all targets, before and after; none
    where neither is known.
    """
    swing = next((target for target in result.targets if target.kind == "length" and not target.good), None)
    if swing is not None:
        found = next((one for one in result.findings if one.target == swing.key and one.way), None)
        if found is None:
            return []
        return [f"First {found.way}. {_upper(found.short)}: until it fits, what balls do comes second."]
    step = result.first_step
    if step is None:
        return []
    target = next((one for one in result.targets if one.name == step.target), None)
    name = _upper(step.target if target is None else name_of(target))
    asked = "" if target is None else f"; asked {one_in(target.limit)}"
    after = one_in(step.after) if step.after > 0.0 else "none seen"
    gain = f"{name}: {after} instead of {one_in(step.before)}{asked} ({_typed(step.sets)})."
    return [f"First {step.words[:1].lower()}{step.words[1:]}. {gain}", FURTHER]


def _told(tried: Tried) -> str:
    after = f"{one_in(tried.escape_rate_after)} balls" if tried.escape_rate_after > 0.0 else "no ball"
    before = one_in(tried.escape_rate_before)
    return f"{_upper(tried.words)}: {after} instead of {before} {ESCAPE_WORDS} ({_typed(tried.sets)})."


def _typed(sets: Sequence[str]) -> str:
    return " ".join(f"--set '{change}'" if " " in change else f"--set {change}" for change in sets)


def _upper(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def fixing_words(result: RunResult) -> list[str]:
    """How the fixes are to be read, or why there are none."""
    if fixes(result):
        return [TRIED_WORDS]
    if any(trouble.tried for trouble in result.troubles):
        return [NOTHING_HELPS]
    return [trials_words(result) or NOTHING_WRONG]
