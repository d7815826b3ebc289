"""A dialogue that can go back: every answer is kept as it was typed, and asked again only where it is to change.

The questions are a plain function, which runs again from its start whenever somebody goes back; what was answered
before is answered again without a word.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, TypeVar

import click
from pydantic_core import PydanticCustomError

from flightsim.scenario.reading.asking import Measure
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.known import nearest
from flightsim.scenario.reading.quantities import KINDS, parse

EXAMPLES = {"metric": "3.8 m or 350 mm", "imperial": "12 ft 6 in or 53 1/2 in"}
BACK = ("back", "b", "<")
_UNITS = {"metric": ("mm", "cm", "m"), "imperial": ("in", "ft")}
_LIKELY = (0.005, 30.0)  # m: what a bare number may mean in a room
_NONE = {"none", "no", "0", "-"}
_BARE = re.compile(r"\s*[0-9]+(?:\.[0-9]*)?\s*")
_BARE_INCHES = re.compile(r"\s*[0-9]+\s*(?:ft|feet|foot|')\s*[0-9]+(?:\.[0-9]*)?\s*")  # `6 ft 2`
Key = tuple[str, int]
T = TypeVar("T")


class GoBack(Exception):  # noqa: N818 - no error: the question before is asked again
    """The question before is to be asked again."""


@dataclass
class Dialogue:
    """Asks on the terminal, and remembers. units may be set by an answer.

    known: what was typed, by question and how often it came before in this pass; hints: what was typed there before it
    was taken back; asked: the questions of this pass, in order; fresh: something was answered that is not drawn yet;
    mending: single answers are changed, after all were given.
    """

    units: Literal["metric", "imperial"] = "metric"
    known: dict[Key, str] = field(default_factory=dict)
    hints: dict[Key, str] = field(default_factory=dict)
    asked: list[Key] = field(default_factory=list)
    fresh: bool = False
    mending: bool = False
    _seen: Counter[str] = field(default_factory=Counter)

    def run(self, questions: Callable[[], T]) -> T:
        """Ask all, from the start again after each step back."""
        while True:
            self.asked, self._seen = [], Counter()
            try:
                return questions()
            except GoBack:
                self.fresh = False
                if len(self.asked) < 2:
                    click.echo("This is the first question.")
                    continue
                self.take_back(self.asked[-2])

    def take_back(self, key: Key) -> None:
        """Forget an answer; what was typed is offered when it is asked again."""
        if key in self.known:
            self.hints[key] = self.known.pop(key)

    def ask(self, question: str, read: Callable[[str], T], default: str | None = None, words: Sequence[str] = ()) -> T:
        """The answer to a question, as `read` reads it; asked again with the reason while it cannot be read.

        words: that are answers here, whatever else they mean.
        """
        key = (question, self._seen[question])
        self._seen[question] += 1
        self.asked.append(key)
        if key in self.known:
            try:
                return read(self.known[key])
            except click.BadParameter as error:  # another answer before it has changed
                click.echo(f"'{self.known[key]}' no longer does: {error.message}")
                self.take_back(key)
        return self._prompted(key, read, self.hints.get(key, default), words)

    def _prompted(self, key: Key, read: Callable[[str], T], default: str | None, words: Sequence[str]) -> T:
        typed = ""
        bare = _Bare(self.units)

        def value(text: str) -> T:
            nonlocal typed
            word = text.strip().lower()
            if word in BACK and word not in words:
                raise GoBack
            typed = bare.completed(text)
            return read(typed)

        answer: T = click.prompt(key[0], default=default, value_proc=value)
        self.known[key], self.fresh = typed, True
        self.hints.pop(key, None)
        return answer

    # What can be asked: see scenario/reading/asking.py

    def size(self, question: str, most: float | None = None, why: str = "", least: float = 0.0) -> Measure:
        """A length that must be given."""
        return self.ask(question, lambda text: self._read(text, most, why, least))

    def maybe(self, question: str, most: float | None = None, why: str = "") -> Measure | None:
        """A length, or none."""

        def read(text: str) -> Measure | None:
            return None if text.strip().lower() in _NONE else self._read(text, most, why, 0.0)

        return self.ask(f"{question}, or none", read)

    def place(self, question: str, most: float, why: str) -> Measure:
        """A distance, which may be nought."""

        def read(text: str) -> Measure:
            if text.strip() == "0":
                return Measure("0 m" if self.units == "metric" else "0 in", 0.0)
            return self._read(text, most, why, -1e-12)

        return self.ask(f"{question} (0 for none)", read)

    def choice(self, question: str, choices: Sequence[str], default: str) -> str:
        """One of a few words."""
        return self.ask(
            f"{question} ({', '.join(choices)})", lambda text: _one_of(text, tuple(choices)), default, choices
        )

    def several(self, question: str, choices: Sequence[str], default: Sequence[str]) -> tuple[str, ...]:
        """Some of a few words, in the order in which they are offered."""

        def read(text: str) -> tuple[str, ...]:
            words = [word.strip() for word in text.split(",")] if "," in text else [text.strip()]
            words = [word.lower() for word in words if word]
            wrong = [word for word in words if word not in choices]
            if wrong or not words:
                close = nearest(wrong[0], choices) if wrong else None
                hint = f" Did you mean {close}?" if close else ""
                raise click.BadParameter(f"{text.strip()!r} names none of {', '.join(choices)}.{hint}")
            return tuple(choice for choice in choices if choice in words)

        return self.ask(f"{question} ({', '.join(choices)})", read, ", ".join(default))

    def yes(self, question: str, default: bool = False) -> bool:
        """Yes or no."""

        def read(text: str) -> bool:
            word = text.strip().lower()
            if word not in ("y", "yes", "n", "no"):
                raise click.BadParameter("y or n, please.")
            return word.startswith("y")

        return self.ask(f"{question} (y, n)", read, "y" if default else "n")

    def words(self, question: str, default: str, taken: Sequence[str] = ()) -> str:
        """A name."""

        def read(text: str) -> str:
            if not text.strip() or not text.isprintable():
                raise click.BadParameter("Plain words, please.")
            if text.strip() in taken:
                raise click.BadParameter(f"{text.strip()!r} is taken.")
            return text.strip()

        return self.ask(question, read, default)

    def _read(self, text: str, most: float | None, why: str, least: float) -> Measure:
        show = Display(self.units).length
        try:
            metres = parse(KINDS["length"], text)
        except PydanticCustomError as error:
            raise click.BadParameter(_unread(text, error.context or {}, self.units, (max(least, 0.0), most))) from None
        if metres <= 0.0 and least >= 0.0:
            raise click.BadParameter(f"{text.strip()} is not more than nothing. Try: {EXAMPLES[self.units]}.")
        if metres < least:
            raise click.BadParameter(f"{text.strip()} is less than {show(least)}.")
        if most is not None and metres >= most:
            raise click.BadParameter(f"{text.strip()} does not fit: there is {show(most)}, as {why}.")
        return Measure(text.strip(), metres)


@dataclass
class _Bare:
    """A number without a unit, which the next answer may complete: `60`, then `cm`."""

    units: str
    number: str = ""

    def completed(self, text: str) -> str:
        word = text.strip()
        if self.number and word in _UNITS["metric"] + _UNITS["imperial"]:
            word = f"{self.number} {word}"
        bare = _BARE_INCHES.fullmatch(word) or (_BARE.fullmatch(word) and float(word) > 0.0)
        self.number = word if bare else ""
        return word if word != text.strip() else text


def _unread(text: str, said: dict[str, Any], units: str, ends: tuple[float, float | None]) -> str:
    """Why a length cannot be read; of a bare number, which units are likely."""
    if _BARE_INCHES.fullmatch(text):
        return f"'{text.strip()}' ends without a unit. Do you mean {text.strip()} in? Type the unit."
    likely = likely_units(text, units, ends[1], ends[0])
    if likely:
        meant = " or ".join(f"{text.strip()} {unit}" for unit in likely)
        return f"{said['found']}. Do you mean {meant}? Type the unit."
    return f"{said['found']}. Allowed: {said['allowed']}. Try: {said['fix']}."


def likely_units(text: str, units: str, most: float | None = None, least: float = 0.0) -> list[str]:
    """The units with which a bare number is a size that a room may have, and that fits; none for anything else."""
    if not _BARE.fullmatch(text):
        return []
    high = _LIKELY[1] if most is None else min(most, _LIKELY[1])
    sizes = {unit: parse(KINDS["length"], f"{text.strip()} {unit}") for unit in _UNITS[units]}
    return [unit for unit, metres in sizes.items() if max(_LIKELY[0], least) <= metres < high]


def _one_of(text: str, choices: tuple[str, ...]) -> str:
    word = text.strip().lower().replace(" ", "_").replace("-", "_")
    plain = {choice.lower().replace(" ", "_").replace("-", "_"): choice for choice in choices}
    if word in plain:
        return plain[word]
    close = nearest(word, tuple(plain))
    hint = f" Did you mean {plain[close]}?" if close else ""
    raise click.BadParameter(f"{text.strip()!r} is none of {', '.join(choices)}.{hint}")
