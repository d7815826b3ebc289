"""Asks for a bay in the order in which one walks it with a tape: each section by its own questions, the tee between."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, cast

import click

from flightsim.scenario.new.dialogue import EXAMPLES, Dialogue, Key
from flightsim.scenario.reading.asking import Draft
from flightsim.scenario.reading.models import Section

TEE = 20  # where the tee stands among the sections' `order`
_LEAVE = 0  # which answer is wrong: none


@dataclass(frozen=True)
class Drawn:
    """The bay as it is now: drawn, what is to be looked at in it, and whether it fits together."""

    drawing: str = ""
    findings: tuple[str, ...] = ()
    fits: bool = True

    def __str__(self) -> str:
        return "\n".join(words for words in (self.drawing, *self.findings) if words)


Shown = Callable[[Draft], Drawn]


def ask_bay(sections: Sequence[Section], shown: Shown, where: str) -> Draft:
    """All questions, on the terminal, until somebody says that it is their bay. where: what it is written to."""
    dialogue, drawn = Dialogue(), [Drawn()]

    def questions() -> Draft:
        return _walk(dialogue, sections, shown, drawn)

    while True:
        draft = dialogue.run(questions)
        now = shown(draft)
        click.echo(f"\n{now}\n")
        if click.confirm(_is_it(now.fits, where), default=now.fits) or not _what_is_wrong(dialogue):
            return draft
        dialogue.fresh, dialogue.mending = False, True


def _is_it(fits: bool, where: str) -> str:
    if fits:
        return f"Is this your bay? Then it is written to {where}"
    return f"It does not fit together yet. Write it to {where} all the same, and mend it there"


def _walk(dialogue: Dialogue, sections: Sequence[Section], shown: Shown, drawn: list[Drawn]) -> Draft:
    draft = Draft()
    units = dialogue.choice("Units of the output", ("metric", "imperial"), "metric")
    dialogue.units = cast(Literal["metric", "imperial"], units)
    if len(dialogue.known) < 2:
        click.echo(f"Sizes carry their unit: {EXAMPLES[dialogue.units]}.")
        click.echo("`<` or `back` asks the question before again.\n")
    draft.data["name"] = dialogue.words("Name of the bay", "My bay")
    draft.data["units"] = units
    asking = sorted((section for section in sections if section.ask is not None), key=lambda section: section.order)
    for section in asking:
        if section.order > TEE and "tee" not in draft.data:
            draft.data["tee"] = _tee(dialogue, draft)
            _draw(dialogue, draft, shown, drawn)
        assert section.ask is not None
        if (answer := section.ask(dialogue, draft)) is not None:
            draft.data[section.key] = answer
            _draw(dialogue, draft, shown, drawn)
    return draft


def _draw(dialogue: Dialogue, draft: Draft, shown: Shown, drawn: list[Drawn]) -> None:
    """The bay as it is now, where something new was answered and it looks otherwise; each finding once."""
    if not dialogue.fresh or dialogue.mending:  # what is mended is drawn whole, at the end
        return
    dialogue.fresh, now, before = False, shown(draft), drawn[0]
    new = tuple(words for words in now.findings if words not in before.findings)
    if (now.drawing and now.drawing != before.drawing) or new:
        drawn[0] = now
        click.echo(f"\n{replace(now, findings=new)}\n")


def _tee(dialogue: Dialogue, draft: Draft) -> dict[str, Any]:
    length, width = draft.facts.get("length"), draft.facts.get("width")
    in_length = (None, "") if length is None else (length.metres, f"the room is {length.text} long")
    in_width = (None, "") if width is None else (width.metres, f"the room is {width.text} wide")
    tee: dict[str, Any] = {
        "from_end_wall": dialogue.size("Ball to the end wall", *in_length),
        "from_left_wall": dialogue.size("Ball to the left wall", *in_width),
    }
    mat = dialogue.maybe("Mat: height of its top above the slab", 1.0, "a mat is no higher")
    if mat is not None:
        tee["mat"] = {"height": mat}
    return tee


def _what_is_wrong(dialogue: Dialogue) -> bool:
    """Which answer is to change; all others stay as they were typed. Whether any is."""
    keys: list[Key] = [key for key in dialogue.asked if key in dialogue.known]
    for k, key in enumerate(keys, start=1):
        click.echo(f"{k:>3}. {key[0]}: {dialogue.known[key]}")
    question = f"Which answer is wrong? All others stay ({_LEAVE}: none, write it)"
    number = click.prompt(question, type=click.IntRange(_LEAVE, len(keys)))
    if number == _LEAVE:
        return False
    dialogue.take_back(keys[number - 1])
    return True
