"""Asks for a bay in the order in which one walks it with a tape: each section by its own questions, the tee between."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal, cast

import click

from flightsim.scenario.new.dialogue import BACK, AskAgain, Dialogue, Key
from flightsim.scenario.new.typed_answers import EXAMPLES, NO, YES
from flightsim.scenario.reading.asking import Draft, Measure
from flightsim.scenario.reading.models import Section

MOST_TOLD = 3  # findings beside a drawing
TEE = 20  # where the tee stands among the sections' `order`
_TEE = "tee"
_UNITS = {"metres": "metric", "meters": "metric", "m": "metric", "mm": "metric", "cm": "metric", "si": "metric",
          "feet": "imperial", "foot": "imperial", "ft": "imperial", "inches": "imperial", "inch": "imperial",
          "in": "imperial", "us": "imperial", "feet and inches": "imperial"}  # fmt: skip


@dataclass(frozen=True)
class Drawn:
    """The bay as it is now: drawn, all that is to be looked at in it, and whether it fits together.

    wrong: where it does not fit, the dotted path in the file that each of the findings is about.
    """

    drawing: str = ""
    findings: tuple[str, ...] = ()
    fits: bool = True
    wrong: tuple[str, ...] = ()

    def __str__(self) -> str:
        head = "" if self.fits else "That does not fit together yet:"
        more = len(self.findings) - MOST_TOLD
        rest = (
            (f"... and {more} more" + ("." if not self.fits else " to look at; all are told at the end."))
            if more > 0
            else ""
        )
        return "\n".join(words for words in (self.drawing, head, *self.findings[:MOST_TOLD], rest) if words)

    def but(self, before: Sequence[str]) -> Drawn:
        """The drawing with those findings only that were not told before."""
        new = [k for k, words in enumerate(self.findings) if words not in before]
        wrong = tuple(self.wrong[k] for k in new) if self.wrong else ()
        return replace(self, findings=tuple(self.findings[k] for k in new), wrong=wrong)


Shown = Callable[[Draft], Drawn]


@dataclass
class _Walk:
    """One dialogue about a bay: its sections, how it is drawn, and what was drawn last.

    drawn_at: after how many questions that was; held: the section that did not fit, until it
    was looked at again; asked_by: the first question of each section in this pass.
    """

    dialogue: Dialogue
    sections: Sequence[Section]
    shown: Shown
    drawn: Drawn = Drawn()
    drawn_at: int = -1
    held: str = ""
    asked_by: dict[str, int] = field(default_factory=dict)

    def questions(self) -> Draft:
        """Ask all questions, in the order of a walk."""
        dialogue, draft, self.asked_by = self.dialogue, Draft(), {}
        about = "What the answers, pictures and lists are written in. Sizes may be typed in either."
        units = dialogue.choice("Units of the output", ("metric", "imperial"), "metric", about, _UNITS)
        dialogue.units = cast(Literal["metric", "imperial"], units)
        if len(dialogue.known) < 2:
            click.echo(f"Sizes carry their unit: {EXAMPLES[dialogue.units]}.")
            click.echo("`<` or `back` asks the question before again; `?` says what is meant.\n")
        draft.data["name"] = dialogue.words("Name of the bay", "My bay", about="It stands on pictures and lists.")
        draft.data["units"] = units
        asking = sorted(
            (section for section in self.sections if section.ask is not None), key=lambda asker: asker.order
        )
        for section in asking:
            if section.order > TEE and _TEE not in draft.data:
                self.asked_by[_TEE] = len(dialogue.asked)
                draft.data[_TEE] = _tee(dialogue, draft)
                self.draw(draft, _TEE)
            assert section.ask is not None
            self.asked_by[section.key] = len(dialogue.asked)
            if (answer := section.ask(dialogue, draft)) is not None:
                draft.data[section.key] = answer
                self.draw(draft, section.key)
        return draft

    def draw(self, draft: Draft, key: str) -> None:
        """The bay as it is now, where something new was answered and it looks otherwise; each finding once.

        Where it does not fit, the answers that it lies in are told. Raises AskAgain when one of them is to change.
        """
        if not self.dialogue.fresh or self.dialogue.mending:  # what is mended is drawn whole, at the end
            return
        if self.held and self.held != key:  # an answer of another section was changed for that one
            return
        self.dialogue.fresh, now, before, held = False, self.shown(draft), self.drawn, self.held
        new = now if held else now.but(before.findings)
        self.held = ""
        if (now.drawing and now.drawing != before.drawing) or new.findings:
            self.drawn, self.drawn_at = now, len(self.dialogue.asked)
            click.echo(f"\n{new}\n")
        if new.findings and not now.fits and self.mended(draft, new, key):
            self.held = key
            raise AskAgain

    def mended(self, draft: Draft, now: Drawn, key: str) -> bool:
        """Whether an answer that does not fit is taken back, of those which the wrong places are made of."""
        if not (keys := self.lies_in(draft, now, key)):
            return False
        click.echo(f"It lies in one of these answers:\n{self.dialogue.read_back(keys)}")
        return self.dialogue.pick("Which is to change? All others stay (0: none for now)", keys)

    def lies_in(self, draft: Draft, now: Drawn, key: str = "") -> list[Key]:
        """The answers that wrong places are made of, in their order. key: the section asked last.

        Of a place without lengths of its own all answers of its section, and of those that it rests on.
        """
        found: set[Key] = set()
        for path in now.wrong or (key,):
            keys = self.made_of(list(_beneath(draft.data, path)))
            found |= set(keys or self.of_sections(path.partition(".")[0]) or self.of_sections(key))
        return [key_asked for key_asked in self.dialogue.asked if key_asked in found]

    def of_sections(self, key: str) -> list[Key]:
        """The answers of a section, and of those that it rests on."""
        keys = {key, *(other for section in self.sections if section.key == key for other in section.rests_on)}
        starts = sorted(self.asked_by.items(), key=lambda one: one[1])
        ends = [*(start for _, start in starts[1:]), len(self.dialogue.asked)]
        return [
            one
            for (section, start), end in zip(starts, ends, strict=True) if section in keys
            for one in self.dialogue.asked[start:end]
        ]  # fmt: skip

    def made_of(self, leaves: Sequence[Any]) -> list[Key]:
        """The answers that gave these lengths, and the words that were asked for beside them."""
        lengths = {id(leaf) for leaf in leaves if isinstance(leaf, Measure)}
        words = {id(leaf) for leaf in leaves if isinstance(leaf, str)}
        values = [id(self.dialogue.values[key]) for key in self.dialogue.asked]
        found = {k for k, value in enumerate(values) if value in lengths}
        for k in sorted(found):
            while k > 0 and values[k - 1] in words:
                found.add(k := k - 1)
        return [key for k, key in enumerate(self.dialogue.asked) if k in found]


def ask_bay(sections: Sequence[Section], shown: Shown, where: str) -> Draft:
    """Ask all questions on the terminal, until somebody says that it is their bay. where: what it is written to."""
    dialogue = Dialogue()
    walk = _Walk(dialogue, sections, shown)
    try:
        return _until_it_is(walk, where)
    except click.Abort:
        if typed := dialogue.read_back([key for key in dialogue.asked if key in dialogue.known]):
            click.echo(f"\n\nWhat you had answered, to type again:\n{typed}")
        raise


def _until_it_is(walk: _Walk, where: str) -> Draft:
    dialogue = walk.dialogue
    while True:
        draft = dialogue.run(walk.questions)
        now = walk.shown(draft)
        if now != walk.drawn or walk.drawn_at != len(dialogue.asked):  # it stands there already
            click.echo(f"\n{now}\n")
        if _agreed(_is_it(now.fits, where), now.fits):
            return draft
        click.echo(dialogue.read_back(dialogue.asked))
        if not now.fits and (lies := walk.lies_in(draft, now)):
            click.echo(f"What does not fit lies in {', '.join(str(dialogue.asked.index(key) + 1) for key in lies)}.")
        if not dialogue.pick("Which answer is wrong? All others stay (0: none, write it)", dialogue.asked):
            return draft
        dialogue.fresh, dialogue.mending, walk.drawn_at = False, True, -1


def _is_it(fits: bool, where: str) -> str:
    if fits:
        return f"Is this your bay? Then it is written to {where}"
    return f"It does not fit together yet. Write it to {where} all the same, and mend it there"


def _agreed(question: str, default: bool) -> bool:
    """Yes or no, with good will; `<` is no, for then each answer can be changed."""

    def read(text: str) -> bool:
        word = text.strip().lower().rstrip(".!") or ("y" if default else "n")
        if word not in YES | NO | set(BACK):
            raise click.BadParameter("y writes the file; n lists your answers, and you change what is wrong.")
        return word in YES

    agreed: bool = click.prompt(
        f"{question} [{'Y/n' if default else 'y/N'}]", default="", show_default=False, value_proc=read
    )
    return agreed


def _beneath(data: Mapping[str, Any], path: str) -> Iterator[Any]:
    """The answers at a dotted path of what was answered, or at as much of it as there is; all of a list's entry."""
    here: Any = data
    entry: Any = None
    for step in path.split("."):
        if isinstance(here, list) and step.isdecimal() and int(step) < len(here):
            entry = here = here[int(step)]
        elif isinstance(here, dict) and step in here:
            here = here[step]
        else:
            break
    if here is not data:
        yield from _leaves(here if entry is None else entry)


def _leaves(value: Any) -> Iterator[Any]:
    if not isinstance(value, dict | list):
        yield value
        return
    for inner in value.values() if isinstance(value, dict) else value:
        yield from _leaves(inner)


def _tee(dialogue: Dialogue, draft: Draft) -> dict[str, Any]:
    length, width = draft.facts.get("length"), draft.facts.get("width")
    in_length: tuple[float | None, str] = (
        (None, "") if length is None else (length.metres, f"the room is {length.text} long")
    )
    in_width: tuple[float | None, str] = (
        (None, "") if width is None else (width.metres, f"the room is {width.text} wide")
    )
    to_end = "From the ball level to the wall behind the screen, not to the cloth."
    to_left = "The left as you face the screen. Where several places are hit from, give the one most used here."
    tee: dict[str, Any] = {
        "from_end_wall": dialogue.size("Ball to the end wall", *in_length, about=to_end),
        "from_left_wall": dialogue.size("Ball to the left wall", *in_width, about=to_left),
    }
    about = "The ball lies on it, so that all that hangs comes nearer by it. none: the ball lies on the slab."
    mat = dialogue.maybe("Mat: height of its top above the slab", 1.0, "a mat is no higher", about)
    if mat is not None:
        tee["mat"] = {"height": mat}
    return tee
