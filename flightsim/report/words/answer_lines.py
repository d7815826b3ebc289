"""The answer as lines: people first, then what else goes wrong, then all of it together."""

from __future__ import annotations

from dataclasses import dataclass

from flightsim.contact.fates import Flag
from flightsim.report.words.common_words import (
    ESCAPE_WORDS,
    FLAG_WORDS,
    at_worst,
    bound,
    fastest,
    harm,
    one_in,
    person_speeds,
    up_to,
)
from flightsim.study.run.rates import ESCAPE, HEAD_HIT
from flightsim.study.run.result import Rate, RunResult


@dataclass(frozen=True)
class AnswerLine:
    """A sign and a word before a text, and a level: `bad`, `warn`, `good` or empty."""

    sign: str
    word: str
    text: str
    level: str


def answer_lines(result: RunResult) -> list[AnswerLine]:
    """A line for each flag that was seen, and one for any."""
    total = result.rates.total
    told = []
    for flag in Flag:
        if not total[flag.key].count:
            continue
        speed = up_to(fastest(result, flag), result)
        if flag is Flag.PERSON_HIT:
            head = total[HEAD_HIT].count > 0
            speed = harm(float(person_speeds(result).max()), result, head)
        told.append(_line(f"{FLAG_WORDS[flag]}", total[flag.key], speed))
    _, whose = result.worst(ESCAPE)
    adverse = "" if whose is None else f"with adverse cloth {bound(whose.rates.total[ESCAPE])}, {whose.words}"
    return [*told, _line(f"in all: {ESCAPE_WORDS}", total[ESCAPE], adverse)]


def _line(words: str, rate: Rate, speed: str) -> AnswerLine:
    seen = f"{one_in(rate.rate)} balls" if rate.count else "none seen"
    worst = "no bound: the shots are a grid" if rate.upper is None else f"at worst {at_worst(rate.upper)}"
    word = f"{words[0].upper()}{words[1:]}:"
    text = ", ".join(part for part in (seen, worst, speed) if part)
    return AnswerLine("x" if rate.count else "?", word, f"{text}.", "bad" if rate.count else "")
