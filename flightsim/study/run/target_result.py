"""One target of a scenario, judged."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class TargetResult:
    """One target, judged.

    name: `broke_through."end wall"`; key, place: its two parts; kind: "rate" or "length"; limit: below which a rate has
    to be, or m that a length has to have; rate: as seen, of balls as played, what is unresolved counted (of a length:
    what was measured, m); upper: its bound (of a length: the least that it may be, m); None where there is none.
    met: with the likely cloth, as drawn, by its bound; met_at_worst: with the worst cloth and build that were flown;
    both False for what is not shown, None for what is not asked. severe: both are needed. words: what is counted;
    why: why it is not asked; count: shots seen; lower: the other bound; worst_upper, worst_words: the largest bound of
    all that was flown, and in which bay; shots_needed: None unless these shots are too few to show it.
    """

    name: str
    kind: str
    limit: float
    rate: float | None
    upper: float | None
    met: bool | None
    met_at_worst: bool | None
    key: str = ""
    place: str = ""
    words: str = ""
    severe: bool = False
    comfort: bool = False
    why: str = ""
    count: int = 0
    lower: float | None = None
    worst_upper: float | None = None
    worst_words: str = ""
    shots_needed: int | None = None

    @property
    def asked(self) -> bool:
        """Whether the scenario asks for it, and has what it is about."""
        return self.met is not None

    @property
    def good(self) -> bool:
        """Whether it is met, or not asked. The severer ones have to be met at worst as well."""
        return not self.asked or (bool(self.met) and (bool(self.met_at_worst) or not self.severe))
