"""The least size that meets a target: searched on one sample of shots, confirmed on fresh ones, with rebounds on."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np

from flightsim.errors import Asked, BadInputError
from flightsim.scenario.reading.display import Display
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.proportional import Sample, draw_sample, groups_of, reach_for, shots_for
from flightsim.study.run.require import Requirement
from flightsim.study.run.same_shots import started_in
from flightsim.study.size.builds import Builds, Sizes, Worse, worse_sides
from flightsim.study.size.keep import Keep
from flightsim.study.size.size_curve import Curve, misses_curve
from flightsim.study.size.size_doubts import Doubt, doubts
from flightsim.study.size.size_look import Look, look_at, measures_of
from flightsim.study.size.size_target import check_place
from flightsim.study.size.vary import Vary

ROOM = 4.0  # the search's sample is so much larger than none seen would need: with a few seen it still shows the target
CONFIRM = 4.0  # and the sample that confirms is so much larger than the search's
FIRST_LOOKS = 7  # sizes looked at before the crossing is closed in on
FEW_CHOICES = 5  # values of each dimension that is held while the last is searched
TRIES = 5  # sizes that are put to the confirming sample before it is given up
TRIES_EACH = 2  # of one choice of the others, where there are several
ALIKE, LUCK = 0.25, 0.05  # a size decides nothing: hits differ by this share at most, and no more than by luck
CLEAR = 0.01  # of a sign test: a larger size that sends more past the protection
MOST_SHOTS = 3_000_000
_FRESH = 1_000_003  # between the seeds of the samples
_NEXT = 1.0e-9


@dataclass(frozen=True)
class Answer:
    """What came of it.

    chosen: the sizes that meet the target as confirmed, None where none in the range do; binding: the group with the
    highest bound there; looks: every size looked at in the search, in order; confirmed: the same on the fresh samples,
    failures first; front: of several dimensions, those sizes of the search that no other betters, cheapest first;
    worse: the other sizes, off to their worse side; backward: pairs of looks of which the larger size sends more past
    the protection; searched, confirming: shots of the search's sample, and of each fresh one; defeats: shot types that
    still get past at the best size looked at, where nothing will do, and how many; needed: shots that could show the
    target, 0 where these could; flat: fewest and most hits over the range where the last size decides nothing.
    """

    varies: tuple[Vary, ...]
    requirement: Requirement
    confidence: float
    chosen: Sizes | None
    binding: str
    groups: tuple[str, ...]
    looks: tuple[Look, ...]
    confirmed: tuple[Look, ...]
    front: tuple[Look, ...]
    worse: tuple[Worse, ...]
    backward: tuple[tuple[Sizes, Sizes], ...]
    searched: int
    confirming: int
    tolerance: float
    seed: int
    defeats: tuple[tuple[str, int], ...] = ()
    curve: Curve | None = None
    doubts: tuple[Doubt, ...] = ()
    prices: dict[str, float] = field(default_factory=dict)
    needed: int = 0
    flat: tuple[int, int] | None = None

    @property
    def best(self) -> Look | None:
        """The look with the lowest bound, of those that could be built; None where none could."""
        return min((look for look in self.looks if not look.refused), key=lambda look: look.worst, default=None)

    @property
    def near(self) -> Sizes:
        """The choice of all but the last size that the answer is about."""
        last = self.confirmed[-1] if self.confirmed else self.best or self.looks[-1]
        return (self.chosen or last.sizes)[:-1]

    def cost(self, sizes: Sizes) -> float:
        """What sizes cost, by the prices; without prices, their sum."""
        return cost_of(self.varies, self.prices, sizes)


@dataclass
class Search:
    """The search for the least size.

    builds: the scenario and what is varied; requirement: the target; keeps: what must hold whatever the size; prices:
    for each varied path, a number per metre (or per unit); shots: search and confirmation together; say is told what
    is being done.
    """

    builds: Builds
    requirement: Requirement
    confidence: float = 0.95
    keeps: tuple[Keep, ...] = ()
    prices: dict[str, float] = field(default_factory=dict)
    seed: int = 1
    shots: int | None = None
    say: Callable[[str], None] = lambda words: None
    seen: dict[Sizes, Look] = field(default_factory=dict)
    needed: int = field(default=0, init=False)

    def run(self) -> Answer:
        """Search and confirm. Raises BadInputError for a target that the shots allowed cannot show."""
        self.home, middle = self._home()
        self.groups = groups_of(self.home.plan.types)
        self.alpha = (1.0 - self.confidence) / len(self.groups)
        self.reach = self._reach()
        sample = self._sample(self.reach, self.seed)
        self.say(f"{self.in_all(len(sample))}: which side of every size is the worse")
        self.builds = replace(self.builds, worse=worse_sides(self.builds, middle, sample, self.home))
        front = self._front(sample)
        chosen, confirmed, fresh = self._confirm(front)
        looks = tuple(self.seen[key] for key in sorted(self.seen))
        last = confirmed[-1] if confirmed else min(looks, key=lambda look: look.worst)
        held = (chosen or last.sizes)[:-1]
        self.say("the whole range from one batch of flights")
        curve = misses_curve(self.builds, held, sample, self.home, self.alpha)
        self.say("other models and changes")
        return Answer(
            self.builds.varies, self.requirement, self.confidence, chosen, self._binding(last),
            tuple(group.name for group in self.groups), looks, tuple(confirmed), tuple(front), self.builds.worse,
            self._backward(looks), len(sample), fresh, self.builds.tolerance, self.seed,
            self._defeats(sample, looks) if chosen is None else (), curve,
            self._doubts(chosen) if chosen is not None else (), dict(self.prices), self.needed,
            _flat([look for look in looks if look.sizes[:-1] == held]),
        )  # fmt: skip

    def in_all(self, searched: int) -> str:
        """How many shots are flown, before they are, and whether they can show the target at all."""
        counts = f"{searched:,} shots at each size, {round(CONFIRM * searched):,} fresh ones in the end"
        return (
            f"{counts}; too few to show the target, which takes some {self.needed:,} in all" if self.needed else counts
        )

    def _home(self) -> tuple[OpenBay, Sizes]:
        """A bay of the range, to draw shots in, and its sizes. Raises BadInputError where none can be used."""
        ranges = [vary.values() for vary in self.builds.varies]
        middle = tuple(values[len(values) // 2] for values in ranges)
        ends = tuple(values[-1] for values in ranges), tuple(values[0] for values in ranges)
        others = [(*middle[:-1], value) for value in ranges[-1]]
        refused: BadInputError | None = None
        for sizes in (middle, *ends, *others):
            try:
                home = self.builds.drawn(sizes)
            except BadInputError as error:
                refused = refused or error
                continue
            self._check(home, [end for end in ends if end != sizes])
            return home, sizes
        spans = ", ".join(vary.path for vary in self.builds.varies)
        found = f" {spans}: no size in the range can be built. The one in its middle:\n{refused}"
        raise BadInputError(Asked("vary"), found)

    def _check(self, home: OpenBay, ends: Sequence[Sizes]) -> None:
        """Refuse shots of which more cannot be drawn, and ranges that change the shots."""
        if not home.plan.sampled:
            raise BadInputError(
                "size needs sampled shots: a grid says nothing of how often a shot comes\n"
                "  try: shots (players and clubs), or launches with `use` or `types`"
            )
        if home.plan.grid_size:
            raise BadInputError(
                "size draws more shots than were measured, and a repeat proves nothing\n  try: ",
                Asked("changes", "measured.spread=kernel"),
            )
        check_place(self.requirement, home.bay)
        for keep in self.keeps:
            keep.holds(measures_of(home))  # refused now where nothing of that name is measured
        for sizes in ends:
            try:
                other = self.builds.drawn(sizes)
            except BadInputError:
                continue
            started_in(home.plan.draw(Flyer.of(home, 0).draw_for(0, 1), 0, 1), home, other)

    def _reach(self) -> float:
        """How far the search's sample reaches; where the shots are too few, `needed` says how many it takes."""
        least = reach_for(self.requirement.limit, self.alpha) * ROOM
        need = shots_for(self.groups, least) + shots_for(self.groups, least * CONFIRM)
        if self.shots is None:
            if need > MOST_SHOTS:
                raise BadInputError(
                    f"the target '{self.requirement.text}' takes {need:,} shots to show, and {MOST_SHOTS:,} are the "
                    f"most that are flown unasked\n  try: a target that fewer can show, or ",
                    Asked("shots", need),
                )
            return least
        reach = least * self.shots / need
        if reach < reach_for(self.requirement.limit, self.alpha):
            self.needed = need
        return reach

    def _sample(self, reach: float, seed: int) -> Sample:
        flyer = Flyer.of(self.home, seed)
        return draw_sample(flyer.draw, flyer.plan.types, self.groups, reach)

    def look(self, sizes: Sizes, sample: Sample, alpha: float) -> Look:
        """One size on a sample: the worse of the ways in which it may be built."""
        return look_at(self.builds, sizes, sample, self.home, self.requirement, self.keeps, alpha)

    def _seen(self, sizes: Sizes, sample: Sample) -> Look:
        if sizes not in self.seen:
            show = Display(self.home.scenario.units)
            size = ", ".join(f"{v.path} {v.show(x, show)}" for v, x in zip(self.builds.varies, sizes, strict=True))
            self.say(f"{self.in_all(len(sample))}: {size}")
            self.seen[sizes] = self.look(sizes, sample, self.alpha)
        return self.seen[sizes]

    def _front(self, sample: Sample) -> list[Look]:
        """The least last size for each choice of the others; of several dimensions, those that no other betters."""
        *others, last = self.builds.varies
        found = []
        for held in _choices(others):
            best = self._least(held, last, sample)
            if best is not None:
                found.append(best)
        better = [a for a in found if not any(_betters(b.sizes, a.sizes) for b in found if b is not a)]
        return sorted(better, key=lambda look: (self.cost(look.sizes), look.sizes))

    def _least(self, held: Sizes, last: Vary, sample: Sample) -> Look | None:
        """The least value of the last dimension that meets the target on this sample, the others held."""
        values = last.values()
        picked = sorted({round(k) for k in np.linspace(0, len(values) - 1, min(FIRST_LOOKS, len(values)))})
        looks = [self._seen((*held, values[k]), sample) for k in picked]
        met = [k for k, look in zip(picked, looks, strict=True) if look.met]
        if not met:
            return None
        high = met[0]
        low = max((k for k in picked if k < high), default=-1)
        while high - low > 1 and low >= 0:
            middle = (low + high) // 2
            if self._seen((*held, values[middle]), sample).met:
                high = middle
            else:
                low = middle
        return self._seen((*held, values[high]), sample)

    def _confirm(self, front: list[Look]) -> tuple[Sizes | None, list[Look], int]:
        """The cheapest of the front on a fresh sample, four times as large; where it fails, the next one.

        Each further try spends half of the error that is left, so that all tries together keep the confidence.
        """
        tried: list[Look] = []
        fresh = 0
        for k, sizes in zip(range(TRIES), self._candidates(front), strict=False):
            sample = self._sample(self.reach * CONFIRM, self.seed + _FRESH * (k + 1))
            self.say(f"confirming on {len(sample):,} fresh shots")
            fresh = len(sample)
            tried.append(self.look(sizes, sample, self.alpha / 2.0 ** (k + 1)))
            if tried[-1].met:
                return sizes, tried, fresh
        return None, tried, fresh

    def _candidates(self, front: list[Look]) -> Iterator[Sizes]:
        """The front, cheapest first, and after each the next sizes up."""
        several = len(self.builds.varies) > 1
        for look in front:
            *held, least = look.sizes
            up = [x for x in self.builds.varies[-1].values() if x >= least - _NEXT]
            yield from ((*held, x) for x in (up[:TRIES_EACH] if several else up))

    def _doubts(self, chosen: Sizes) -> tuple[Doubt, ...]:
        return doubts(self.builds, chosen, self.requirement, self.reach, self.alpha, self.seed)

    def cost(self, sizes: Sizes) -> float:
        """What the sizes cost, by the prices given; without prices, their sum."""
        return cost_of(self.builds.varies, self.prices, sizes)

    def _binding(self, look: Look) -> str:
        return self.groups[int(np.argmax(look.upper))].name

    def _backward(self, looks: Sequence[Look]) -> tuple[tuple[Sizes, Sizes], ...]:
        """Of the last dimension, sizes that send clearly more past than the best smaller one, with that: sign tests."""
        found = []
        for held in sorted({look.sizes[:-1] for look in looks}):
            beside = [look for look in looks if look.sizes[:-1] == held and look.mask.size]
            for k in range(1, len(beside)):
                best = min(beside[:k], key=lambda look: (look.hits, look.sizes))
                if _clearly_more(beside[k], best):
                    found.append((best.sizes, beside[k].sizes))
        return tuple(found)

    def _defeats(self, sample: Sample, looks: Sequence[Look]) -> tuple[tuple[str, int], ...]:
        """Shot types that still get past at the best size looked at, most first."""
        best = min(looks, key=lambda look: look.worst)
        if not best.mask.size:
            return ()
        types = self.home.plan.types
        count = np.bincount(sample.table.type[best.mask], minlength=len(types))
        return tuple((types[k].label, int(count[k])) for k in np.argsort(-count, kind="stable")[:8] if count[k])


def cost_of(varies: Sequence[Vary], prices: dict[str, float], sizes: Sizes) -> float:
    """The prices times the sizes; without prices, the sum of the sizes."""
    pairs = zip(varies, sizes, strict=True)
    return sum(prices.get(vary.path, 0.0 if prices else 1.0) * x for vary, x in pairs)


def _flat(looks: Sequence[Look]) -> tuple[int, int] | None:
    """Fewest and most hits of one dimension's looks where it decides nothing: as many, but for luck, at every size."""
    flown = [look for look in looks if look.mask.size]
    if len(flown) < 2 or len(flown) < len(looks):
        return None
    least, most = (pick(flown, key=lambda look: look.hits) for pick in (min, max))
    if most.hits - least.hits > ALIKE * most.hits or _more_by_luck(most, least) < LUCK:
        return None
    return least.hits, most.hits


def _more_by_luck(a: Look, b: Look) -> float:
    """Chance of so uneven a split of the balls that only one of two sizes lets past."""
    from scipy.stats import binomtest

    more, fewer = int((a.mask & ~b.mask).sum()), int((b.mask & ~a.mask).sum())
    return float(binomtest(more, more + fewer, 0.5).pvalue) if more + fewer else 1.0


def _clearly_more(a: Look, b: Look) -> bool:
    from scipy.stats import binomtest

    more, fewer = int((a.mask & ~b.mask).sum()), int((b.mask & ~a.mask).sum())
    return more > fewer and bool(binomtest(more, more + fewer, 0.5, alternative="greater").pvalue < CLEAR)


def _choices(varies: Sequence[Vary]) -> list[Sizes]:
    """Values of the dimensions that are held while the last is searched: a few of each."""
    few = []
    for vary in varies:
        values = vary.values()
        picked = sorted({round(k) for k in np.linspace(0, len(values) - 1, min(FEW_CHOICES, len(values)))})
        few.append([values[k] for k in picked])
    return [tuple(choice) for choice in product(*few)]


def _betters(a: Sizes, b: Sizes) -> bool:
    return all(x <= y for x, y in zip(a, b, strict=True)) and a != b
