"""A dialogue that can go back: every answer is kept as it was typed, and asked again only where it is to change.

The questions are a plain function, which runs again from its start whenever somebody goes back; what was answered
before is answered again without a word.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import click

from flightsim.scenario.new.typed_answers import EXAMPLES, NO, NONE, YES, Bare, System, is_nought, one_of, read_length
from flightsim.scenario.new.typed_answers import some_of as read_several
from flightsim.scenario.reading.asking import Measure
from flightsim.scenario.reading.display import Display

BACK = ("back", "b", "<")
WHY = ("?", "help", "h", "what?", "why?")
Key = tuple[str, int]
T = TypeVar("T")


class GoBack(Exception):  # noqa: N818 - no error: the question before is asked again
    """The question before is to be asked again."""


class AskAgain(Exception):  # noqa: N818 - no error: an answer was taken back, and is asked anew
    """An answer was taken back: the questions run again, and ask for it."""


class _Explain(Exception):  # noqa: N818 - no error: somebody wants to know what is meant
    """What a question means is to be said."""


@dataclass
class Dialogue:
    """Asks on the terminal, and remembers. units may be set by an answer.

    known: what was typed, by question and how often it came before in this pass; hints: what was typed there before it
    was taken back; asked: the questions of this pass, in order; values: what was read from them; fresh: something was
    answered that is not drawn yet; mending: single answers are changed, after all were given.
    """

    units: System = "metric"
    known: dict[Key, str] = field(default_factory=dict)
    hints: dict[Key, str] = field(default_factory=dict)
    asked: list[Key] = field(default_factory=list)
    values: dict[Key, object] = field(default_factory=dict)
    fresh: bool = False
    mending: bool = False
    _seen: Counter[str] = field(default_factory=Counter)

    def run(self, questions: Callable[[], T]) -> T:
        """Ask all, from the start again after each step back."""
        while True:
            self.asked, self.values, self._seen = [], {}, Counter()
            try:
                return questions()
            except AskAgain:
                continue
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

    def ask(
        self,
        question: str,
        read: Callable[[str], T],
        default: str | None = None,
        words: Sequence[str] = (),
        about: Sequence[str] = (),
    ) -> T:
        """The answer to a question, as `read` reads it; asked again with the reason while it cannot be read.

        words: that are answers here, whatever else they mean; about: what is said to `?`, a line each.
        """
        key = (question, self._seen[question])
        self._seen[question] += 1
        self.asked.append(key)
        if key in self.known:
            try:
                self.values[key] = value = read(self.known[key])
                return value
            except click.BadParameter as error:  # another answer before it has changed
                click.echo(f"'{self.known[key]}' no longer does: {error.message}")
                self.take_back(key)
        self.values[key] = value = self._prompted(key, read, self.hints.get(key, default), words, about)
        return value

    def _prompted(
        self, key: Key, read: Callable[[str], T], default: str | None, words: Sequence[str], about: Sequence[str]
    ) -> T:
        typed = ""
        bare = Bare(self.units)

        def value(text: str) -> T:
            nonlocal typed
            word = text.strip().lower()
            if word in WHY:
                raise _Explain
            if word in BACK and not any(choice.lower().startswith(word) for choice in words):
                raise GoBack
            if not word:
                raise click.BadParameter("An answer is needed here; ? says what is meant.")
            typed = bare.completed(text)
            return read(typed)

        while True:
            try:
                answer: T = click.prompt(
                    key[0], default=default or "", show_default=default is not None, value_proc=value
                )
            except _Explain:
                click.echo("".join(f"  {line}\n" for line in [*about, *_ending(default)] if line), nl=False)
                continue
            self.known[key], self.fresh = typed, True
            self.hints.pop(key, None)
            return answer

    def pick(self, question: str, keys: Sequence[Key]) -> bool:
        """Take back the answers, of those told before, whose numbers are given; `<` the last, 0 none. Whether any."""
        numbers = {self.asked.index(key) + 1: key for key in keys}

        def read(text: str) -> tuple[Key, ...]:
            if text.strip().lower() in BACK:
                return (self.asked[-1],)
            words_typed = text.replace(",", " ").replace(".", " ").split()
            wrong = [word for word in words_typed if not word.isdecimal() or int(word) not in {0, *numbers}]
            if wrong or not words_typed:
                raise click.BadParameter("The number before an answer, please, or several, or 0 for none.")
            return tuple(numbers[int(word)] for word in words_typed if int(word))

        taken: tuple[Key, ...] = click.prompt(question, default="", show_default=False, value_proc=read)
        for key in taken:
            self.take_back(key)
        return bool(taken)

    def read_back(self, keys: Sequence[Key]) -> str:
        """Answers with their numbers, a line each."""
        lines = (f"{self.asked.index(key) + 1:>3}. {key[0]}: {self.known[key]}" for key in keys if key in self.known)
        return "\n".join(lines)

    # What can be asked: see scenario/reading/asking.py

    def size(
        self, question: str, most: float | None = None, why: str = "", least: float = 0.0, about: str = ""
    ) -> Measure:
        """A length that must be given."""
        said = (about, self._length_said("", most, why))
        return self.ask(question, lambda text: read_length(text, self.units, most, why, least), about=said)

    def maybe(self, question: str, most: float | None = None, why: str = "", about: str = "") -> Measure | None:
        """A length, or none."""

        def read(text: str) -> Measure | None:
            if text.strip().lower() in NONE or is_nought(text):
                return None
            return read_length(text, self.units, most, why, 0.0)

        said = (about, self._length_said(", or none", most, why))
        return self.ask(f"{question}, or none", read, about=said)

    def place(self, question: str, most: float, why: str, about: str = "") -> Measure:
        """A distance, which may be nought."""

        def read(text: str) -> Measure:
            if text.strip().lower() in NONE or is_nought(text):
                return Measure("0 m" if self.units == "metric" else "0 in", 0.0)
            return read_length(text, self.units, most, why, -1e-12)

        said = (about, self._length_said(", or 0", most, why))
        return self.ask(f"{question} (0 for none)", read, about=said)

    def choice(
        self, question: str, choices: Sequence[str], default: str, about: str = "", also: Mapping[str, str] = {}
    ) -> str:
        """One of a few words."""
        said = (about, f"One of: {', '.join(choices)}.")
        return self.ask(
            f"{question} ({', '.join(choices)})", lambda text: one_of(text, choices, also), default, choices, said
        )

    def several(
        self,
        question: str,
        choices: Sequence[str],
        default: Sequence[str],
        about: str = "",
        also: Mapping[str, str] = {},
    ) -> tuple[str, ...]:
        """Some of a few words, in the order in which they are offered."""
        said = (about, f"One or more of: {', '.join(choices)}. Commas between.")
        return self.ask(
            f"{question} ({', '.join(choices)})",
            lambda text: read_several(text, choices, also),
            ", ".join(default),
            choices,
            said,
        )

    def yes(self, question: str, default: bool = False, about: str = "") -> bool:
        """Yes or no."""

        def read(text: str) -> bool:
            word = text.strip().lower().replace(",", " ").rstrip(".!").partition(" ")[0]
            if word not in YES | NO:
                raise click.BadParameter("y or n, please.")
            return word in YES

        return self.ask(f"{question} (y, n)", read, "y" if default else "n", about=(about, "y or n."))

    def words(self, question: str, default: str, taken: Sequence[str] = (), about: str = "") -> str:
        """A name."""

        def read(text: str) -> str:
            if not text.strip() or not text.isprintable():
                raise click.BadParameter("Plain words, please.")
            if text.strip() in taken:
                raise click.BadParameter(f"{text.strip()!r} is taken.")
            return text.strip()

        return self.ask(question, read, default, about=(about, "Any name, in any script."))

    def _length_said(self, more: str, most: float | None, why: str) -> str:
        room = "" if most is None else f" Less than {Display(self.units).length(most)}, as {why}."
        return f"A length with its unit: {EXAMPLES[self.units]}{more}.{room}"


def _ending(default: str | None) -> list[str]:
    enter = "" if default is None else f"Enter alone takes {default}. "
    return [f"{enter}`<` asks the question before again."]
