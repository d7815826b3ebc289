"""How a plugin asks for its section in a new scenario: what it may ask, and what was answered before.

A section says `ask=FUNCTION`; the function takes these two and returns plain data for its section, lengths as they were
typed, or None where there is no such thing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, Protocol

JUST_FITS = 1.0e-9  # m: what just fits, fits


@dataclass(frozen=True)
class Measure:
    """A length as typed, and in m."""

    text: str
    metres: float


class Asks(Protocol):
    """What can be asked. Each answer may be `back`, which asks the question before again, or `?`.

    about: what the question means, in a sentence or two, for somebody who types `?`.
    """

    @property
    def units(self) -> Literal["metric", "imperial"]:
        """What the output is written in."""
        ...

    def size(
        self, question: str, most: float | None = None, why: str = "", least: float = 0.0, about: str = ""
    ) -> Measure:
        """A length that must be given. most, least: m, the first with what it must fit in, as the reason."""
        ...

    def maybe(self, question: str, most: float | None = None, why: str = "", about: str = "") -> Measure | None:
        """A length, or none."""
        ...

    def place(self, question: str, most: float, why: str, about: str = "") -> Measure:
        """A distance, which may be nought."""
        ...

    def choice(
        self, question: str, choices: Sequence[str], default: str, about: str = "", also: Mapping[str, str] = {}
    ) -> str:
        """One of a few words. also: other words that somebody may type, each with the choice that it means."""
        ...

    def several(
        self,
        question: str,
        choices: Sequence[str],
        default: Sequence[str],
        about: str = "",
        also: Mapping[str, str] = {},
    ) -> tuple[str, ...]:
        """Some of a few words. also: as for a choice."""
        ...

    def yes(self, question: str, default: bool = False, about: str = "") -> bool:
        """Yes or no."""
        ...

    def words(self, question: str, default: str, taken: Sequence[str] = (), about: str = "") -> str:
        """A name, none of those that are taken."""
        ...


@dataclass
class Draft:
    """What was answered so far. data: by section, as it goes into the file, lengths as Measure.

    roof: height of the roof's underside, m, by distance from the end wall and from the left wall, m; facts: what one
    plugin's answers tell the next.
    """

    data: dict[str, Any] = field(default_factory=dict)
    roof: Callable[[float, float], float] = lambda from_end, from_left: float("inf")
    facts: dict[str, Any] = field(default_factory=dict)

    def under(self, from_end: Sequence[float], from_left: Sequence[float]) -> float:
        """The lowest of the roof over all these places, m: a roof bends down from its ridge, never up."""
        return min(self.roof(s, t) for s in from_end for t in from_left)


AskSection = Callable[[Asks, Draft], Any]
