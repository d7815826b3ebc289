"""Plans tried on a look: each bay is opened once, held against what must be kept, and flown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from time import monotonic, process_time

import numpy as np
from numpy.typing import NDArray

from flightsim.errors import BadInputError, stop_if_asked
from flightsim.making.structure import Structure
from flightsim.study.improve.adding import added
from flightsim.study.improve.keeps import Keeps, lengths_short, measures_of, swing_of
from flightsim.study.improve.kept_strength import failing, structures_of
from flightsim.study.improve.look import Look
from flightsim.study.improve.plan import Plan
from flightsim.study.improve.space import starters
from flightsim.study.run.open_bay import OpenBay, open_changed

Array = NDArray[np.float64]
Opened = tuple[Plan, OpenBay | None, str, float]
Cost = Callable[[OpenBay], float | None]


def no_prices(opened: OpenBay) -> float | None:
    """What a bay costs where no price list is named."""
    return None


@dataclass(frozen=True)
class Trial:
    """A plan as flown on a look. opened: None where it cannot be built, or spoils what is kept: why says so."""

    plan: Plan
    opened: OpenBay | None
    why: str = ""
    rates: Array = field(default_factory=lambda: np.empty(0))
    score: float = float("inf")

    @property
    def there(self) -> OpenBay:
        """The bay of a plan that can be built."""
        assert self.opened is not None
        return self.opened


@dataclass
class Trials:
    """Tries plans for one bay. most: how many are flown before it is enough; until, end, s of time.monotonic(): when
    no new change is looked for any more, and when none is tried at all; least: s of time.process_time() that come
    first, since a busy machine's clock runs on while nothing is tried; beyond: lengths that no change can meet.
    """

    home: OpenBay
    keeps: Keeps
    look: Look
    price: Cost = no_prices
    most: int = 300
    beyond: frozenset[str] = frozenset()
    until: float = float("inf")
    end: float = float("inf")
    least: float = 0.0
    flown: int = 0
    bays: dict[tuple[str, ...], Opened] = field(default_factory=dict)
    priced: dict[tuple[str, ...], float | None] = field(default_factory=dict)
    seen: dict[tuple[str, ...], Trial] = field(default_factory=dict)
    checked: dict[tuple[Structure, ...], frozenset[str]] = field(default_factory=dict)

    @property
    def spent(self) -> bool:
        """Whether enough was tried."""
        return self.flown >= self.most or self._over(self.until)

    @property
    def late(self) -> bool:
        """Whether no time is left."""
        return self._over(self.end)

    def after(self, part: float) -> Callable[[], bool]:
        """Tells whether this part of the time that is left for new changes now is over."""
        begun, worked = monotonic(), process_time()
        end, least = begun + part * (self.until - begun), worked + part * (self.least - worked)
        return lambda: monotonic() >= end and process_time() >= least

    def _over(self, when: float) -> bool:
        return monotonic() >= when and process_time() >= self.least

    def use(self, look: Look) -> None:
        """Fly another look from now on."""
        self.look, self.seen = look, {}

    def bay(self, plan: Plan) -> Opened:
        """The plan as it can be built, with its bay; None, and why, where it cannot be; how much its lengths miss."""
        if plan.sets not in self.bays:
            self.bays[plan.sets] = self._opened(plan)
        return self.bays[plan.sets]

    def _opened(self, plan: Plan) -> Opened:
        """The plan, with what has to follow it where its frame would not meet any more."""
        opened, why = self.raw(plan)
        if opened is None:
            return plan, None, why, 0.0
        loose = self.keeps.loosened(opened)
        for starter in starters(opened) if loose else ():
            if not starter.follows:
                continue
            fitted = plan.with_added(added(starter, opened))
            other, _ = self.raw(fitted)
            if other is not None and not self.keeps.loosened(other):
                plan, opened, loose = fitted, other, ""
                break
        measured = measures_of(opened)
        broken = loose or self.keeps.broken(opened, measured)
        if broken:
            return plan, None, broken, 0.0
        return plan, opened, "", lengths_short(opened, swing_of(opened, measured), self.beyond)

    def weak(self, trial: Trial) -> frozenset[str]:
        """The checks of `build` that a plan's frame does not pass, and that of the bay as found does, by name."""
        return self._failing(trial.there) - self._failing(self.home)

    def _failing(self, opened: OpenBay) -> frozenset[str]:
        structures = tuple(structures_of(opened))
        if structures not in self.checked:
            self.checked[structures] = failing(structures)
        return self.checked[structures]

    def raw(self, plan: Plan) -> tuple[OpenBay | None, str]:
        """The bay of a plan, whatever it spoils; None, and why, where nobody can build it."""
        try:
            return open_changed(self.home, plan.sets), ""
        except BadInputError as error:
            return None, str(error).splitlines()[0]

    def of(self, plan: Plan, below: float = float("inf")) -> Trial:
        """The plan, flown. below: the score that it has to be below to be of any use: a plan whose likely cloth alone
        is not is not flown with adverse cloth, which can only be worse.
        """
        stop_if_asked()
        if plan.sets in self.seen:
            return self.seen[plan.sets]
        fitted, opened, why, lengths = self.bay(plan)
        if opened is None:
            self.seen[plan.sets] = Trial(plan, None, why)
            return self.seen[plan.sets]
        self.flown += 1
        rates = self.look.rates(opened, likely=True)
        score = self.look.score(rates) + lengths
        if score < below and len(self.look.cloth) > 1:
            rates = np.maximum(rates, self.look.rates(opened, likely=False))
            score = self.look.score(rates) + lengths
        self.seen[plan.sets] = Trial(fitted, opened, "", rates, score)
        return self.seen[plan.sets]

    def cost(self, trial: Trial) -> float:
        """What it costs, and what work it is: money first where there are prices."""
        key = trial.plan.sets
        if key not in self.priced:
            self.priced[key] = self.price(trial.there)
        price = self.priced[key]
        return trial.plan.effort if price is None else price + 1e-3 * trial.plan.effort
