"""Asks for a bay in the order in which one walks it with a tape: each section by its own questions, the tee between."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Literal, cast

import click

from flightsim.scenario.new.dialogue import EXAMPLES, Dialogue, Key
from flightsim.scenario.reading.asking import Draft
from flightsim.scenario.reading.models import Section

TEE = 20  # where the tee stands among the sections' `order`
Shown = Callable[[Draft], str]  # the bay as it is now, drawn, and what does not fit yet


def ask_bay(sections: Sequence[Section], shown: Shown, where: str) -> Draft:
    """All questions, on the terminal, until somebody says that it is their bay. where: what it is written to."""
    dialogue, drawn = Dialogue(), [""]

    def questions() -> Draft:
        return _walk(dialogue, sections, shown, drawn)

    while True:
        draft = dialogue.run(questions)
        click.echo(f"\n{shown(draft)}\n")
        if click.confirm(f"Is this your bay? Then it is written to {where}", default=True):
            return draft
        _what_is_wrong(dialogue)
        drawn[0] = ""


def _walk(dialogue: Dialogue, sections: Sequence[Section], shown: Shown, drawn: list[str]) -> Draft:
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


def _draw(dialogue: Dialogue, draft: Draft, shown: Shown, drawn: list[str]) -> None:
    """The bay as it is now, where something new was answered and it looks otherwise."""
    if not dialogue.fresh:
        return
    dialogue.fresh, now = False, shown(draft)
    if now and now != drawn[0]:
        drawn[0] = now
        click.echo(f"\n{now}\n")


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


def _what_is_wrong(dialogue: Dialogue) -> None:
    """Which answer is to change; all others stay as they were typed."""
    keys: list[Key] = [key for key in dialogue.asked if key in dialogue.known]
    for k, key in enumerate(keys, start=1):
        click.echo(f"{k:>3}. {key[0]}: {dialogue.known[key]}")
    number = click.prompt("Which answer is wrong? All others stay", type=click.IntRange(1, len(keys)))
    dialogue.take_back(keys[number - 1])
