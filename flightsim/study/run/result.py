"""What a run gives: all that the files, the terminal and the pictures are made from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from flightsim.bay.parts import Bay
from flightsim.contact.contacts import Contacts
from flightsim.contact.fates import Fates, Flag, Outcome
from flightsim.errors import PluginError
from flightsim.flight.integrator import Physics
from flightsim.plugin.hookspecs import Finding
from flightsim.scenario.reading.models import Scenario
from flightsim.scenario.reading.problems import Problem
from flightsim.shots.shot_table import ShotTable, ShotType
from flightsim.study.run.on_disk import in_pieces
from flightsim.study.run.troubles import FirstStep, OtherAir, Trouble, WhatIf

if TYPE_CHECKING:
    from flightsim.study.run.open_bay import OpenBay
    from flightsim.study.run.target_result import TargetResult

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Rate:
    """How often something happened: count of shots, the rate, and its one-sided 95 % bounds.

    For one shot type the bounds are Clopper-Pearson. For a weighted total the lower one is the weighted sum of
    one-sided Clopper-Pearson bounds at alpha/K over the K shot types, the upper one that of study/run/pooled.py, and
    `rate` is weighted too. A grid is no sample: it has no bounds (None).
    """

    count: int
    shots: int
    rate: float
    lower: float | None
    upper: float | None


@dataclass(frozen=True)
class Rates:
    """Rates by flag (`person_hit`, ...), of `escape` (any flag), and of the two outcomes without one (`held`, ...)."""

    total: dict[str, Rate]
    by_type: tuple[dict[str, Rate], ...]  # in the order of RunResult.types
    confidence: float
    judged: dict[str, Rate] = field(default_factory=dict)  # as total, with what is unresolved counted as each


@dataclass(frozen=True)
class AdverseFlight:
    """The run's first `shots` shots, all of them or very many, flown in the same bay with adverse cloth.

    name: which end of what is not known of cloth; words: the same for people, "if the cloth is as lively as any"; bay:
    the bay with that cloth; contacts, fates, outcome `(shots,)` and rates as of a run.
    """

    name: str
    words: str
    shots: int
    bay: OpenBay
    contacts: Contacts
    fates: Fates
    outcome: NDArray[np.int8]
    rates: Rates


@dataclass(frozen=True)
class Reach:
    """How far from the screen balls came, m: half of them as played no further than median, 90 % no further than p90;
    max: the farthest; balls: how many it is known of.
    """

    balls: int
    median: float
    p90: float
    max: float


@dataclass(frozen=True)
class BounceBack:
    """Where balls of one club, all of which met a screen first, first land and where they end, from that screen.

    balls: how many were followed to rest, extra of them flown for this alone; None where none landed, or ended there.
    """

    club: str
    balls: int
    extra: int
    first_landing: Reach | None
    end: Reach | None


def worst_of(
    likely: Rates, adverse: Sequence[AdverseFlight], name: str, judged: bool = False
) -> tuple[Rate, AdverseFlight | None]:
    """The largest bound of a rate, and whose it is, as in RunResult.worst."""
    of = [(rates.judged if judged else rates.total)[name] for rates in (likely, *(one.rates for one in adverse))]
    worst = max(range(len(of)), key=lambda k: (of[k].upper or 0.0, -k))
    return of[worst], None if worst == 0 else adverse[worst - 1]


@dataclass(frozen=True)
class RunResult:
    """A finished run.

    weight `(n,)`: each shot's share, adding to 1; outcome `(n,)` int8 codes of Outcome.
    """

    scenario: Scenario
    physics: Physics
    bay: Bay
    types: tuple[ShotType, ...]
    shots: ShotTable
    weight: Array
    contacts: Contacts  # the first of each shot
    fates: Fates
    outcome: NDArray[np.int8]
    rates: Rates
    seed: int
    sampled: bool  # False: a plain grid, which has no bounds
    warnings: tuple[Problem, ...] = ()
    findings: tuple[Finding, ...] = ()
    plugins: tuple[dict[str, Any], ...] = field(default=())
    troubles: tuple[Trouble, ...] = ()  # worst first
    what_if: tuple[WhatIf, ...] = ()
    other_air: OtherAir | None = None
    first_step: FirstStep | None = None  # None where nothing is to do, nothing helps, or nothing was tried
    shots_source: dict[str, Any] = field(default_factory=dict)  # where the shots come from
    adverse: tuple[AdverseFlight, ...] = ()  # the same shots with adverse cloth; empty where that was not flown
    built_off: tuple[AdverseFlight, ...] | None = None  # the same shots, sizes off; None where that was not flown
    targets: tuple[TargetResult, ...] = ()  # of the scenario, judged by these shots
    looks: int = 1  # how often a run may stop to see whether its targets are shown: the error is divided among them
    bounce_back: tuple[BounceBack, ...] = ()  # by club; empty without a screen, and where it was not looked at
    failed: tuple[str, ...] = ()  # what plugins did wrong when all had flown: the run stands without their words

    @property
    def harm_speed(self) -> float:
        """The speed, m/s, from which on the ball that was flown counts as harm."""
        return self.scenario.harm_speed_of(self.physics.ball.mass)

    @property
    def zone_harm(self) -> Array:
        """The speed, m/s, from which on the ball that was flown harms in each of bay.zones `(zones,)`."""
        blunt = self.scenario.blunt_speed_of(self.physics.ball.mass)
        return np.array([self.harm_speed if zone.delicate else blunt for zone in self.bay.zones], dtype=np.float64)

    def hits(self, zones: NDArray[np.bool_]) -> Array:
        """How fast each shot hit any of these zones `(zones,)` with harm, at its worst `(n,)`, m/s; NaN for none."""
        return in_pieces(self.fates, lambda fates: fates.hits(zones, self.zone_harm))

    def with_flag(self, flag: Flag) -> NDArray[np.bool_]:
        """Which shots `(n,)` carry a flag."""
        return in_pieces(self.fates, lambda fates: fates.with_flag(flag))

    def worst(self, name: str, judged: bool = False) -> tuple[Rate, AdverseFlight | None]:
        """The largest bound of a rate over the likely cloth and all adverse ones, and whose it is; None: the likely's.

        judged: with what is unresolved counted. A grid has no bounds: then the likely cloth's rate. Raises KeyError.
        """
        return worst_of(self.rates, self.adverse, name, judged)

    def which(self, outcome: Outcome) -> NDArray[np.intp]:
        """The shots with this outcome."""
        return np.flatnonzero(self.outcome == outcome)

    def with_findings(self, findings: Sequence[Finding]) -> RunResult:
        """The same run with what the plugins say of it."""
        return replace(self, findings=(*self.findings, *findings))

    def without(self, failed: Sequence[PluginError]) -> RunResult:
        """The same run without the words of plugins that failed over it, which is told as a warning."""
        if not failed:
            return self
        findings = [Finding("A plugin failed over this run", f"{error}. What it has to say is missing", "warning")
                    for error in failed]  # fmt: skip
        return replace(self.with_findings(findings), failed=(*self.failed, *map(str, failed)))
