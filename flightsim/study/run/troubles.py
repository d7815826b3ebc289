"""What goes wrong in a run, worst first, and what was tried against it."""

from __future__ import annotations

from dataclasses import dataclass, field

from flightsim.contact.fates import Flag


@dataclass(frozen=True)
class Tried:
    """A change that was flown on the same shots. sets: as for `--set`; words: the same for people.

    shots: of the run; flown, flown_again: of how many of them, the first, it is known what the change does; before,
    after: how many of these have the trouble, as the bay is and with the change; escapes_before, escapes_after: the
    same for any flag, so that a cure that makes something else worse shows; rate_before, rate_after,
    escape_rate_before, escape_rate_after: the same of all balls as they are played; worse: flags that more balls carry
    then.
    """

    words: str
    sets: tuple[str, ...]
    shots: int
    flown: int
    before: int
    after: int
    escapes_before: int
    escapes_after: int
    rate_before: float
    rate_after: float
    escape_rate_before: float
    escape_rate_after: float
    flown_again: int = 0
    worse: tuple[str, ...] = ()

    @property
    def helps(self) -> bool:
        """Whether it cured some of the trouble, and more than it made elsewhere, of balls as they are played."""
        return self.rate_after < self.rate_before and self.escape_rate_after < self.escape_rate_before


@dataclass(frozen=True)
class Trouble:
    """One flag at one place. place: the person, opening or part; came_from: for a person, the part that most of these
    balls came from.

    shots: how many; rate: weighted, of all balls; upper: its one-sided bound, None for a grid; fastest, m/s; heads:
    how many hit that person's head, heads_rate and heads_upper: as rate and upper, of these, and heads_fastest, m/s;
    examples: some of these shots, fastest first; tried: what was flown against it, best first.
    """

    flag: Flag
    place: str
    came_from: str
    shots: int
    rate: float
    upper: float | None
    fastest: float
    heads: int
    examples: tuple[int, ...]
    tried: tuple[Tried, ...] = ()
    heads_rate: float = 0.0
    heads_upper: float | None = None
    heads_fastest: float = 0.0


@dataclass(frozen=True)
class OtherAir:
    """The run's shots under another published drag and lift model.

    shots: how many were flown again, the first; before, after: how many of them had any flag; rate, upper: of all balls
    as played, after, upper None for a grid; rate_before, upper_before: the same as the run flew them.
    """

    model: str
    shots: int
    before: int
    after: int
    rate: float
    upper: float | None = None
    rate_before: float = 0.0
    upper_before: float | None = None


@dataclass(frozen=True)
class WhatIf:
    """One guard that has failed, on the same shots. how: "taken away", or what about it has failed.

    shots: how many were flown; before, after: how many of them had any flag; rate, upper: of all balls that escape
    as played then, upper None for a grid; by_flag: counts after, by flag key; rate_before, upper_before: as rate and
    upper, with nothing failed; rate_by_flag: of all balls as played, after.
    """

    guard: str
    how: str
    shots: int
    before: int
    after: int
    rate: float
    upper: float | None
    by_flag: dict[str, int]
    rate_before: float = 0.0
    upper_before: float | None = None
    rate_by_flag: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class FirstStep:
    """The change to begin with: the one that gains most on all targets together for its work, flown on the run's shots.

    words: for people, the verb first; sets: as for --set; target: the one that it helps most, by name; before, after:
    its rate.
    """

    words: str
    sets: tuple[str, ...]
    target: str
    before: float
    after: float
