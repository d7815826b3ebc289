"""Plans tried on a look: each bay is opened once, held against what must be kept, and flown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from flightsim.errors import BadInputError, stop_if_asked
from flightsim.study.improve.keeps import Keeps, lengths_short, swing_of
from flightsim.study.improve.look import Look
from flightsim.study.improve.plan import Plan
from flightsim.study.run.open_bay import OpenBay, open_bay

Array = NDArray[np.float64]
Opened = tuple[OpenBay | None, str, float]
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
    no new change is looked for any more, and when none is tried at all.
    """

    home: OpenBay
    keeps: Keeps
    look: Look
    price: Cost = no_prices
    most: int = 300
    until: float = float("inf")
    end: float = float("inf")
    flown: int = 0
    bays: dict[tuple[str, ...], Opened] = field(default_factory=dict)
    priced: dict[tuple[str, ...], float | None] = field(default_factory=dict)
    seen: dict[tuple[str, ...], Trial] = field(default_factory=dict)

    @property
    def spent(self) -> bool:
        """Whether enough was tried."""
        return self.flown >= self.most or monotonic() >= self.until

    @property
    def late(self) -> bool:
        """Whether no time is left."""
        return monotonic() >= self.end

    def use(self, look: Look) -> None:
        """Fly another look from now on."""
        self.look, self.seen = look, {}

    def bay(self, plan: Plan) -> Opened:
        """The bay of a plan; None, and why, where it cannot be; and by how much its lengths are missed."""
        if plan.sets not in self.bays:
            self.bays[plan.sets] = self._opened(plan)
        return self.bays[plan.sets]

    def _opened(self, plan: Plan) -> Opened:
        try:
            opened = open_bay(self.home.origin, (*self.home.scenario.overrides, *plan.sets))
        except BadInputError as error:
            return None, str(error).splitlines()[0], 0.0
        swing = swing_of(opened)
        broken = self.keeps.broken(opened, swing)
        return (None, broken, 0.0) if broken else (opened, "", lengths_short(opened, swing))

    def of(self, plan: Plan, below: float = float("inf")) -> Trial:
        """The plan, flown. below: the score that it has to be below to be of any use: a plan whose likely cloth alone
        is not is not flown with adverse cloth, which can only be worse.
        """
        stop_if_asked()
        if plan.sets in self.seen:
            return self.seen[plan.sets]
        opened, why, lengths = self.bay(plan)
        if opened is None:
            self.seen[plan.sets] = Trial(plan, None, why)
            return self.seen[plan.sets]
        self.flown += 1
        rates = self.look.rates(opened, likely=True)
        score = self.look.score(rates) + lengths
        if score < below and len(self.look.cloth) > 1:
            rates = np.maximum(rates, self.look.rates(opened, likely=False))
            score = self.look.score(rates) + lengths
        self.seen[plan.sets] = Trial(plan, opened, "", rates, score)
        return self.seen[plan.sets]

    def cost(self, trial: Trial) -> float:
        """What it costs, and what work it is: money first where there are prices."""
        key = trial.plan.sets
        if key not in self.priced:
            self.priced[key] = self.price(trial.there)
        price = self.priced[key]
        return trial.plan.effort if price is None else price + 1e-3 * trial.plan.effort
