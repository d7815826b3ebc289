"""What helps most: changes that were flown on the run's own shots, best first."""

from __future__ import annotations

from flightsim.report.words.common_words import ESCAPE_WORDS, one_in
from flightsim.report.words.trouble_words import TRIED_WORDS, trials_words
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import Tried

MOST_FIXES = 3
NOTHING_HELPS = "Nothing that was tried helps: the page tells each under what goes wrong."
NOTHING_WRONG = "No ball was seen to get past the protection, so nothing was tried."


def fixes(result: RunResult, most: int = MOST_FIXES) -> list[str]:
    """The changes that leave the fewest balls past the protection, each with before and after."""
    best = {one.sets: one for trouble in result.troubles for one in trouble.tried if one.helps}
    return [_told(one) for one in sorted(best.values(), key=lambda one: (one.escape_rate_after, one.words))[:most]]


def _told(tried: Tried) -> str:
    words = f"{tried.words[0].upper()}{tried.words[1:]}"
    after = f"{one_in(tried.escape_rate_after)} balls" if tried.escape_rate_after > 0.0 else "no ball"
    sets = " ".join(f"--set '{change}'" if " " in change else f"--set {change}" for change in tried.sets)
    return f"{words}: {after} instead of {one_in(tried.escape_rate_before)} {ESCAPE_WORDS} ({sets})."


def fixing_words(result: RunResult) -> list[str]:
    """How the fixes are to be read, or why there are none."""
    if fixes(result):
        return [TRIED_WORDS]
    if any(trouble.tried for trouble in result.troubles):
        return [NOTHING_HELPS]
    return [trials_words(result) or NOTHING_WRONG]
