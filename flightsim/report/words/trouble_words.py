"""Words for what goes wrong, and for what was tried against it. Nothing is said to help that was not flown."""

from __future__ import annotations

import numpy as np

from flightsim.contact.fates import EDGES, Flag
from flightsim.report.words.common_words import ESCAPE_WORDS, FLAG_WORDS, harm, is_delicate, one_in, rate_words, up_to
from flightsim.study.run.consequences import LEAST_SHOTS
from flightsim.study.run.find_troubles import zones_of
from flightsim.study.run.result import Rate, RunResult
from flightsim.study.run.troubles import Tried, Trouble

EDGE_WORDS = {
    "left": "past the left edge", "right": "past the right edge", "foot": "under the foot", "top": "over the top"
}  # fmt: skip
NO_HELP = "Nothing that was tried helps."
TRIED_WORDS = (
    "What a change would do is what the same shots do in the changed bay: those that it can touch were flown again. "
    "No change was looked at for room to swing. Run the changed bay before you build it."
)

NOT_TRIED = (
    f"What would help, and what if one guard fails, was not tried: a run of {LEAST_SHOTS:,} shots or more tries it, "
    "without --quick."
)


def trouble_title(trouble: Trouble) -> str:
    """`Left the room: side door`."""
    words = FLAG_WORDS[trouble.flag]
    return f"{words[0].upper()}{words[1:]}{f': {trouble.place}' if trouble.place else ''}"


def trouble_words(trouble: Trouble, result: RunResult, counts: bool = True) -> str:
    """How often, at worst how often, how fast, and for a person how high and from where. counts: of shots too."""
    rate = Rate(trouble.shots, len(result.shots), trouble.rate, None, trouble.upper)
    person = trouble.flag is Flag.PERSON_HIT
    speed = up_to(trouble.fastest, result)
    if person:
        speed = harm(trouble.fastest, result, is_delicate(result, zones_of(result.bay, trouble.place)))
    sentences = [f"{_often(rate, counts)}, {speed}."]
    if trouble.flag is Flag.PAST_EDGE and counts:
        sentences.append(_edges_words(trouble, result))
    if person:
        sentences.append(_heads_words(trouble, result, counts) if trouble.heads else "")
        sentences.append(f"Most come from: {trouble.came_from}." if trouble.came_from else "")
    return " ".join(words for words in sentences if words)


def _often(rate: Rate, counts: bool) -> str:
    """`120 shots (1 in 340 balls, at worst 1 in 300)`, or what stands in brackets alone."""
    words = rate_words(rate)
    if not counts and words:
        return words.strip(" ()")
    return f"{rate.count:,} {'shot' if rate.count == 1 else 'shots'}{words}"


def _edges_words(trouble: Trouble, result: RunResult) -> str:
    """`Past the left edge 12, under the foot 3.`: which edges these balls got past; empty where nobody says."""
    fates = result.fates
    place = fates.place[Flag.PAST_EDGE]
    of_place = np.array([*(part.label == trouble.place for part in result.bay.parts), False])
    edge = fates.edge[fates.with_flag(Flag.PAST_EDGE) & of_place[place]]
    counts = np.bincount(edge[edge >= 0], minlength=len(EDGES))
    edges = ", ".join(f"{EDGE_WORDS[name]} {count:,}" for name, count in zip(EDGES, counts, strict=True) if count)
    return f"{edges[0].upper()}{edges[1:]}." if edges else ""


def _heads_words(trouble: Trouble, result: RunResult, counts: bool) -> str:
    """`The head: 120 shots (1 in 340 balls, at worst 1 in 300), at up to ...`."""
    rate = Rate(trouble.heads, len(result.shots), trouble.heads_rate, None, trouble.heads_upper)
    return f"The head: {_often(rate, counts)}, {harm(trouble.heads_fastest, result)}."


def tried_words(trouble: Trouble) -> list[str]:
    """What was tried against a trouble, what helps first, each with what came of it; empty where nothing was tried."""
    lines = [
        f"{'Tried' if change.helps else 'Tried, no help'}: {_came_of(change)} ({_sets(change)})."
        for change in _tried(trouble)
    ]
    return [NO_HELP, *lines] if lines and not any(change.helps for change in trouble.tried) else lines


def best_tried(trouble: Trouble) -> str:
    """The change that helps most, or that none does with what was tried; empty where nothing was tried."""
    tried = _tried(trouble)
    if not tried:
        return ""
    if tried[0].helps:
        return f"Tried: {_came_of(tried[0])}."
    each = (
        f"{change.words} ({one_in(change.rate_after)} instead of {one_in(change.rate_before)}{_worse(change)})"
        for change in tried
    )
    return f"{NO_HELP[:-1]}: {'; '.join(each)}."


def _tried(trouble: Trouble) -> list[Tried]:
    return sorted(trouble.tried, key=lambda change: not change.helps)


def _came_of(tried: Tried) -> str:
    words = (
        f"{tried.words}: {_balls(tried.rate_after)} instead of {one_in(tried.rate_before)} did this, "
        f"{one_in(tried.escape_rate_after)} instead of {one_in(tried.escape_rate_before)} {ESCAPE_WORDS} in all"
    )
    if not tried.flown_again:
        return words
    more = "; ".join(FLAG_WORDS[flag] for flag in Flag if flag.key in tried.worse)
    return f"{words}, of the same {tried.flown_again:,} shots{f'; but more {more}' if more else ''}"


def _balls(rate: float) -> str:
    return f"{one_in(rate)} balls" if rate > 0.0 else "no ball"


def _worse(tried: Tried) -> str:
    """What a change that cures one thing makes of the whole, where that is no better."""
    if tried.rate_after >= tried.rate_before:
        return ""
    return f", but {one_in(tried.escape_rate_after)} instead of {one_in(tried.escape_rate_before)} in all"


def _sets(tried: Tried) -> str:
    return " ".join(f"--set '{change}'" if " " in change else f"--set {change}" for change in tried.sets)


def trials_words(result: RunResult) -> str:
    """How what was tried is to be read, or that nothing was; empty where nothing goes wrong."""
    if any(trouble.tried for trouble in result.troubles):
        return TRIED_WORDS
    return NOT_TRIED if result.troubles and not result.what_if else ""
