"""What somebody typed, read with good will: a length without its unit, a word that is nearly one of those offered."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import click
from pydantic_core import PydanticCustomError

from flightsim.scenario.reading.asking import Measure
from flightsim.scenario.reading.display import Display
from flightsim.scenario.reading.known import nearest
from flightsim.scenario.reading.quantities import KINDS, parse

EXAMPLES = {"metric": "3.8 m or 350 mm", "imperial": "12 ft 6 in or 53 1/2 in"}
NONE = {"none", "no", "n", "0", "-", "nothing", "nope", "no one", "nobody", "not"}
YES = {"y", "yes", "yep", "yeah", "yup", "sure", "true", "ok"}
NO = {"n", "no", "nope", "none", "false"}
_UNITS = {"metric": ("mm", "cm", "m"), "imperial": ("in", "ft")}
_LIKELY = (0.005, 30.0)  # m: what a bare number may mean in a room
_BARE = re.compile(r"\s*[0-9]+(?:\.[0-9]*)?\s*")
_BARE_INCHES = re.compile(r"\s*[0-9]+\s*(?:ft|feet|foot|')\s*[0-9]+(?:\.[0-9]*)?\s*")  # `6 ft 2`
_NOUGHT = re.compile(r"\s*0+(?:\.0*)?\s*(?:mm|cm|m|in|ft|'|\")?\s*")
_BETWEEN = re.compile(r"\s*(?:,|;|/|\+|&|\band\b)\s*")
_PLURAL = re.compile(r"^(.{2,}[^su])s$")
_NOT = {"no", "not", "none", "without", "neither"}
_ALL = {"all", "every", "everything", "all of them"}
System = Literal["metric", "imperial"]


@dataclass
class Bare:
    """A number without a unit, which the next answer may complete: `60`, then `cm`."""

    units: System
    number: str = ""

    def completed(self, text: str) -> str:
        """The text, or the number before with this unit."""
        word = text.strip()
        if self.number and word.lower() in _UNITS["metric"] + _UNITS["imperial"]:
            word = f"{self.number} {word.lower()}"
        bare = _BARE_INCHES.fullmatch(word) or (_BARE.fullmatch(word) and float(word) > 0.0)
        self.number = word if bare else ""
        return word if word != text.strip() else text


def is_nought(text: str) -> bool:
    """Whether this is nothing of a length, with a unit or without."""
    return _NOUGHT.fullmatch(text) is not None


def read_length(text: str, units: System, most: float | None, why: str, least: float) -> Measure:
    """A length, m, from least to less than most, which is so because of `why`. Raises click.BadParameter."""
    show = Display(units).length
    try:
        metres = parse(KINDS["length"], text)
    except PydanticCustomError as error:
        raise click.BadParameter(_unread(text, error.context or {}, units, (max(least, 0.0), most))) from None
    if metres <= 0.0 and least >= 0.0:
        raise click.BadParameter(f"{text.strip()} is not more than nothing. Try: {EXAMPLES[units]}.")
    if metres < least:
        raise click.BadParameter(f"{text.strip()} is less than {show(least)}.")
    if most is not None and metres >= most:
        raise click.BadParameter(f"{text.strip()} does not fit: there is {show(most)}, as {why}.")
    return Measure(text.strip(), metres)


def _unread(text: str, said: dict[str, Any], units: System, ends: tuple[float, float | None]) -> str:
    """Why a length cannot be read; of a bare number, which units are likely."""
    if text.strip().lower() in NONE:
        return f"{text.strip()!r} is no size, and one is needed here. Try: {EXAMPLES[units]}; or < to go back."
    if _BARE_INCHES.fullmatch(text):
        return f"'{text.strip()}' ends without a unit. Do you mean {text.strip()} in? Type the unit."
    likely = likely_units(text, units, ends[1], ends[0])
    if likely:
        meant = " or ".join(f"{text.strip()} {unit}" for unit in likely)
        return f"{said['found']}. Do you mean {meant}? Type the unit."
    fix = EXAMPLES[units] if "cannot be read" in said["found"] else said["fix"]
    return f"{said['found']}. Allowed: {said['allowed']}. Try: {fix}."


def likely_units(text: str, units: System, most: float | None = None, least: float = 0.0) -> list[str]:
    """The units with which a bare number is a size that a room may have, and that fits; none for anything else."""
    if not _BARE.fullmatch(text):
        return []
    high = _LIKELY[1] if most is None else min(most, _LIKELY[1])
    sizes = {unit: parse(KINDS["length"], f"{text.strip()} {unit}") for unit in _UNITS[units]}
    return [unit for unit, metres in sizes.items() if max(_LIKELY[0], least) <= metres < high]


def one_of(text: str, choices: Sequence[str], also: Mapping[str, str] = {}) -> str:
    """The choice that somebody means. also: other words, each with the choice that it means.

    Raises click.BadParameter.
    """
    meant = _meant(text, choices, also)
    if len(meant) == 1:
        return meant[0]
    raise click.BadParameter(_not_one(text, meant, choices, "is"))


def some_of(text: str, choices: Sequence[str], also: Mapping[str, str] = {}) -> tuple[str, ...]:
    """The choices that somebody means, in the order in which they are offered: `irons` are all irons.

    Raises click.BadParameter.
    """
    words = [word for word in _BETWEEN.split(text.strip()) if word]
    found: set[str] = set()
    for word in words:
        meant = _meant(word, choices, also)
        many = _words(word)[-1:] != _words(word, plural=True)[-1:] or _plain(word) in _ALL
        if len(meant) != 1 and not (meant and many):
            raise click.BadParameter(_not_one(word, meant, choices, "names"))
        found |= set(meant)
    if not found:
        raise click.BadParameter(_not_one(text, (), choices, "names"))
    return tuple(choice for choice in choices if choice in found)


def _not_one(text: str, meant: Sequence[str], choices: Sequence[str], verb: str) -> str:
    """Why a word is no choice: it may be several, or it is none."""
    if meant and len(meant) < len(choices):
        return f"{text.strip()!r} may be {', '.join(meant[:-1])} or {meant[-1]}. Which?"
    plain = {_plain(choice): choice for choice in choices}
    close = nearest(_plain(text), plain)
    hint = f" Did you mean {plain[close]}?" if close else ""
    return f"{text.strip()!r} {verb} none of {', '.join(choices)}.{hint}"


def _meant(text: str, choices: Sequence[str], also: Mapping[str, str]) -> tuple[str, ...]:
    """The choices that this is, is short for, or holds: `Driver`, `7 irons`, `sing`, `right-handers`, `wedges`."""
    word = _plain(text)
    known = {_plain(other): choice for other, choice in also.items()} | {_plain(own): own for own in choices}
    if word in known:
        return (known[word],)
    if not word or _NOT & set(word.split()):
        return ()
    if word in _ALL:
        return tuple(choices)
    short = tuple(own for own in choices if _plain(own).startswith(word))
    if len(short) == 1:
        return short
    held = {choice for plain, choice in known.items() if f" {plain} " in f" {word} "}
    begun = held or {choice for plain, choice in known.items() if plain.startswith(word)}
    ended = begun or {choice for plain, choice in known.items() if plain.endswith(f" {word}")}
    return tuple(choice for choice in choices if choice in ended)


def _plain(text: str) -> str:
    """Small letters, single spaces, no hyphens and no plural."""
    return " ".join(_words(text))


def _words(text: str, plural: bool = False) -> list[str]:
    words = re.sub(r"[\s_\-.]+", " ", text.strip().lower()).split()
    return words if plural else [_PLURAL.sub(r"\1", word) for word in words]
