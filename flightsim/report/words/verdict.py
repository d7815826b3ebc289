"""The verdict of a run: at most twelve lines of 80 columns, as data for the terminal and the page.

It says which targets are met and which are not yet. It never says that a bay is safe.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size

from flightsim.report.words.verdict_words import (
    comes_back_words,
    do_first_words,
    grid_words,
    guess_words,
    joined,
    listed,
    met_names,
    name_of,
    not_asked_words,
    unmet_words,
    word_of,
)
from flightsim.study.run.result import RunResult
from flightsim.study.run.target_result import TargetResult

MOST_LINES, WIDE = 12, 80
MOST_UNMET = 6
BAD, OPEN, GOOD, NOTE = "bad", "open", "good", "note"
SIGNS = {BAD: "!", OPEN: "?", GOOD: "+", NOTE: "-"}
WORD = 10  # columns
ROOM = WIDE - WORD - 3
CAUTION = "balls can kill; a model certifies nothing: codes, licensed checks"
REST = "the page: `save` writes it, with all numbers and pictures"


@dataclass(frozen=True)
class VerdictLine:
    """One line. sign: "!", "?", "+", "-" or ">", which stand for the level without colour; word: what the line is
    about; level: "bad", "open" (not shown, not asked), "good" or "note".
    """

    sign: str
    word: str
    text: str
    level: str

    def __str__(self) -> str:
        return f"{self.sign} {self.word:<{WORD}} {self.text}"


@dataclass(frozen=True)
class Verdict:
    """The lines, the headline first. meets: all that is asked, or None where nothing could be judged."""

    meets: bool | None
    lines: tuple[VerdictLine, ...]

    def __str__(self) -> str:
        return "\n".join(str(line) for line in self.lines)


def verdict(result: RunResult, rest: str = "") -> Verdict:
    """The verdict of a run. rest: where all else is, which alone may be longer than a line."""
    asked = [target for target in result.targets if target.asked]
    unmet = worst_first([target for target in asked if not target.good])
    around = _around(result, rest or REST)
    before = () if result.sampled else (_line(OPEN, "grid", joined([grid_words(result)], ROOM)),)
    shown = [target for target in unmet if result.sampled or target.kind == "length"]
    room = MOST_LINES - 1 - len(before) - len(around)
    lines = (_headline(result, asked, unmet), *before, *_unmet(result, shown, room), *around)
    return Verdict(not unmet if asked and result.sampled else None, lines)


def worst_first(unmet: Sequence[TargetResult]) -> list[TargetResult]:
    """Lengths first, then people, then what else, each by how far its bound is above the limit; comfort last."""

    def order(target: TargetResult) -> tuple[int, float]:
        bound = max(target.upper or 0.0, (target.worst_upper or 0.0) if target.severe else 0.0)
        return _rank(target), -bound / target.limit if target.limit and target.kind == "rate" else 0.0

    return sorted(unmet, key=order)


PEOPLE = ("hitter_head", "hitter_head_hard", "other_head", "other_head_hard", "child", "child_hard", "body")


def _rank(target: TargetResult) -> int:
    if target.kind == "length":
        return 0
    unshown = 2 if target.count == 0 or (target.rate or 0.0) < target.limit else 0
    return 6 if target.comfort else 1 + unshown + (0 if target.key in PEOPLE else 1)


def _headline(result: RunResult, asked: Sequence[TargetResult], unmet: Sequence[TargetResult]) -> VerdictLine:
    n, name = len(asked), result.scenario.name
    shots = f"{len(result.shots):,} shots"
    if not result.sampled:
        return _named(OPEN, "not judged", name, ": a grid is no sample")
    if not asked:
        return _named(OPEN, "no targets", name, ": none is asked, none is judged")
    if unmet:
        return _named(BAD, "not yet", name, f" meets {n - len(unmet)} of the {n} asked ({shots})")
    how = f"{100.0 * result.scenario.targets.confidence:g} %"
    return _named(GOOD, "meets", name, f" meets the {n} asked, at {how} ({shots})")


def _named(level: str, word: str, name: str, text: str) -> VerdictLine:
    """A line that begins with the bay's name, cut where it is long."""
    most = ROOM - len(text)
    shown = name if cell_len(name) <= most else f"{set_cell_size(name, most - 3).rstrip()}..."
    return _line(level, word, f"{shown}{text}")


def _unmet(result: RunResult, unmet: Sequence[TargetResult], room: int) -> list[VerdictLine]:
    """At most six and as many as there is room for, then how many more."""
    most = min(MOST_UNMET, room)
    shown = list(unmet) if len(unmet) <= most else list(unmet[: min(MOST_UNMET, room - 1)])
    lines = [
        _line(OPEN if _unshown(target) else BAD, word_of(target), unmet_words(target, result, ROOM)) for target in shown
    ]
    rest = [name_of(target) for target in unmet[len(shown) :]]
    if rest:
        word = f"and {len(rest)} more"
        lines.append(_line(BAD, word, listed(rest, ROOM - max(0, len(word) - WORD))))
    return lines


def _unshown(target: TargetResult) -> bool:
    return target.kind == "rate" and (target.rate or 0.0) < target.limit


def _around(result: RunResult, rest: str) -> list[VerdictLine]:
    """A line each, of what there is."""
    met, unasked = met_names(result), not_asked_words(result, ROOM)
    lines = [
        _line(BAD, "incomplete", "A plugin failed over this run: named at the end, and on the page")
        if result.failed
        else None,
        _line(GOOD, "met", listed(met, ROOM)) if met and result.sampled else None,
        _line(OPEN, "not asked", unasked) if unasked else None,
        VerdictLine(">", "do first", do_first_words(result, ROOM), NOTE),
        _line(NOTE, "comes back", comes_back_words(result, ROOM)),
        _line(NOTE, "weak guess", guess_words(result, ROOM)),
        _line(NOTE, "caution", CAUTION),
        _line(NOTE, "the rest", rest),
    ]
    return [line for line in lines if line is not None]


def _line(level: str, word: str, text: str) -> VerdictLine:
    return VerdictLine(SIGNS[level], word, text, level)
