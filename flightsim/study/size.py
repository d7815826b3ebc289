"""The least size that meets a target: searched on one sample of shots, confirmed on fresh ones, with rebounds on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from flightsim.errors import BadInputError
from flightsim.study.build import OpenBay
from flightsim.study.builds import Builds, Sizes, Worse, worse_sides
from flightsim.study.fly import Flyer
from flightsim.study.keep import Keep
from flightsim.study.proportion import Group, Sample, draw_sample, groups_of, reach_for, shots_for
from flightsim.study.require import Requirement
from flightsim.study.size_curve import Curve, misses_curve
from flightsim.study.size_doubts import Doubt, doubts
from flightsim.study.size_hits import has_trouble
from flightsim.study.vary import Vary

Mask = NDArray[np.bool_]

ROOM = 2.0  # the search's sample is so much larger than none seen would need: a few may be seen
CONFIRM = 4.0  # and the sample that confirms is so much larger than the search's
FIRST_LOOKS = 7  # sizes looked at before the crossing is closed in on
TRIES = 5  # sizes that are put to the confirming sample before it is given up
CLEAR = 0.01  # of a sign test: a larger size that sends more past the protection
MOST_SHOTS = 3_000_000


@dataclass(frozen=True)
class Look:
    """One size as flown: hits of the worse of its builds.

    sizes: of what is varied; rates, upper: of each group; hits: shots in all that had the trouble; met: whether every
    bound is within the target; kept: None, or which --keep it breaks and by what value.
    """

    sizes: Sizes
    rates: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    hits: int
    met: bool
    kept: str = ""
    mask: Mask = field(default_factory=lambda: np.zeros(0, dtype=bool), repr=False)


@dataclass(frozen=True)
class Answer:
    """What came of it.

    chosen: the sizes that meet the target as confirmed, None where none in the range do; binding: the group with the
    highest bound there; looks: every size looked at in the search, in order; confirmed: the same on the fresh sample,
    failures first; worse: the other sizes, off to their worse side; backward: pairs of looks of which the larger size
    sends more past the protection; searched, confirming: shots of each sample; reasons: in words,
    where nothing will do; defeats: shot types that still get past then, and how many.
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
    reasons: tuple[str, ...] = ()
    defeats: tuple[tuple[str, int], ...] = ()
    curve: Curve | None = None
    doubts: tuple[Doubt, ...] = ()


@dataclass
class Search:
    """The search for the least size.

    builds: the scenario and what is varied; requirement: the target; keeps: what must hold whatever the size; prices:
    for each varied path, a number per metre (or per unit); progress is told what is being done.
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

    def run(self) -> Answer:
        """Search and confirm. Raises BadInputError for a target that the shots allowed cannot show."""
        drawn = self.builds.drawn(tuple(vary.upper for vary in self.builds.varies))
        if not drawn.plan.sampled:
            raise BadInputError("size needs sampled shots: a grid says nothing of how often a shot comes")
        self.groups = groups_of(drawn.plan.types)
        self.alpha = (1.0 - self.confidence) / len(self.groups)
        self.reach = self._reach(self.groups)
        sample = self._sample(drawn, self.reach, self.seed)
        self.say("which side of every size is the worse")
        middle = tuple(vary.values()[len(vary.values()) // 2] for vary in self.builds.varies)
        self.builds = replace(self.builds, worse=worse_sides(self.builds, middle, sample))
        front = self._front(sample)
        chosen, confirmed, fresh = self._confirm(drawn, front)
        looks = tuple(self.seen[key] for key in sorted(self.seen))
        last = confirmed[-1] if confirmed else (looks[-1] if looks else None)
        held = (chosen or (front[0].sizes if front else middle))[:-1]
        self.say("the whole range from one batch of flights")
        curve = misses_curve(self.builds, held, sample, self.alpha)
        self.say("other models and changes")
        doubted = self._doubts(chosen) if chosen is not None else ()
        return Answer(
            self.builds.varies, self.requirement, self.confidence, chosen, self._binding(last),
            tuple(group.name for group in self.groups), looks, tuple(confirmed), tuple(front), self.builds.worse,
            self._backward(looks), len(sample), fresh, self.builds.tolerance, self.seed,
            () if chosen is not None else self._reasons(looks, confirmed), self._defeats(sample, looks, chosen),
            curve, doubted,
        )  # fmt: skip

    def _reach(self, groups: Sequence[Group]) -> float:
        """How far the search's sample reaches; --shots may make it larger, never too small."""
        least = reach_for(self.requirement.limit, self.alpha) * ROOM
        need = shots_for(groups, least) * (1.0 + CONFIRM)
        if self.shots is None:
            if need > MOST_SHOTS:
                raise BadInputError(
                    f"the target '{self.requirement.text}' takes {need:,.0f} shots to show, and {MOST_SHOTS:,} are the "
                    f"most that are flown unasked\n  try: a target that fewer can show, or --shots {need:.0f}"
                )
            return least
        if self.shots < need:
            raise BadInputError(
                f"--shots {self.shots:,} cannot show '{self.requirement.text}' with {self.confidence:.0%} confidence\n"
                f"  allowed: at least {need:,.0f} shots, search and confirmation together\n  try: --shots {need:.0f}"
            )
        return least * self.shots / need

    def _sample(self, opened: OpenBay, reach: float, seed: int) -> Sample:
        flyer = Flyer.of(opened, seed)
        return draw_sample(flyer.draw, flyer.plan.types, self.groups, reach)

    def look(self, sizes: Sizes, sample: Sample, alpha: float | None = None) -> Look:
        """One size on a sample: the worse of the ways in which it may be built."""
        alpha = self.alpha if alpha is None else alpha
        drawn = self.builds.drawn(sizes)
        broken = self._broken(drawn)
        worst: Look | None = None
        for bay in self.builds.built(sizes):
            _, fates = Flyer.of(bay, self.seed).follow(sample.table)
            hits = has_trouble(fates, self.requirement.name)
            upper = sample.upper(hits, alpha)
            met = all(self.requirement.met_by(bound) for bound in upper) and not broken
            rates, lower = sample.rates(hits), sample.lower(hits, alpha)
            found = Look(sizes, rates, lower, upper, int(hits.sum()), met, broken, hits)
            if worst is None or max(upper) > max(worst.upper):
                worst = found
        assert worst is not None
        return worst

    def _broken(self, drawn: OpenBay) -> str:
        if not self.keeps:
            return ""
        measures = measures_of(drawn)
        return "; ".join(
            f"{keep.text}: it is {measures[keep.name]:.3f} m" for keep in self.keeps if not keep.holds(measures)
        )

    def _seen(self, sizes: Sizes, sample: Sample) -> Look:
        if sizes not in self.seen:
            words = ", ".join(f"{v.path} {x:.4g}" for v, x in zip(self.builds.varies, sizes, strict=True))
            self.say(f"{words}")
            self.seen[sizes] = self.look(sizes, sample)
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
        at = sorted({round(k) for k in np.linspace(0, len(values) - 1, min(FIRST_LOOKS, len(values)))})
        looks = [self._seen((*held, values[k]), sample) for k in at]
        met = [k for k, look in zip(at, looks, strict=True) if look.met]
        if not met:
            return None
        high = met[0]
        low = max((k for k in at if k < high), default=-1)
        while high - low > 1:
            middle = (low + high) // 2
            if self._seen((*held, values[middle]), sample).met:
                high = middle
            else:
                low = middle
        return self._seen((*held, values[high]), sample)

    def _confirm(self, drawn: OpenBay, front: list[Look]) -> tuple[Sizes | None, list[Look], int]:
        """The cheapest of the front on a fresh sample, four times as large; where it fails, the next size up.

        Each further try spends half of the error that is left, so that all tries together keep the confidence.
        """
        if not front:
            return None, [], 0
        *_, last = self.builds.varies
        values, sizes = last.values(), front[0].sizes
        tried: list[Look] = []
        flown = 0
        for k in range(TRIES):
            self.say("confirming on fresh shots")
            fresh = self._sample(drawn, self.reach * CONFIRM, self.seed + 1_000_003 * (k + 1))
            flown += len(fresh)
            tried.append(self.look(sizes, fresh, self.alpha / 2.0 ** (k + 1)))
            if tried[-1].met:
                return sizes, tried, flown
            after = [x for x in values if x > sizes[-1] + 1e-9]
            if not after:
                break
            sizes = (*sizes[:-1], after[0])
        return None, tried, flown

    def _doubts(self, chosen: Sizes) -> tuple[Doubt, ...]:
        return doubts(self.builds, chosen, self.requirement.name, self.reach, self.alpha, self.seed)

    def cost(self, sizes: Sizes) -> float:
        """What the sizes cost, by the prices given; without prices, their sum."""
        pairs = zip(self.builds.varies, sizes, strict=True)
        return sum(self.prices.get(vary.path, 0.0 if self.prices else 1.0) * x for vary, x in pairs)

    def _binding(self, look: Look | None) -> str:
        return "" if look is None else self.groups[int(np.argmax(look.upper))].name

    def _backward(self, looks: Sequence[Look]) -> tuple[tuple[Sizes, Sizes], ...]:
        """Pairs of neighbours, in the last dimension, of which the larger sends clearly more past: a sign test."""
        from scipy.stats import binomtest

        found = []
        for a, b in pairwise(looks):
            if a.sizes[:-1] != b.sizes[:-1]:
                continue
            more, fewer = int((b.mask & ~a.mask).sum()), int((a.mask & ~b.mask).sum())
            if more > fewer and binomtest(more, more + fewer, 0.5, alternative="greater").pvalue < CLEAR:
                found.append((a.sizes, b.sizes))
        return tuple(found)

    def _reasons(self, looks: Sequence[Look], confirmed: Sequence[Look]) -> tuple[str, ...]:
        broken = sorted({look.kept for look in looks if look.kept})
        words = [f"--keep does not hold: {text}" for text in broken]
        if confirmed:
            words.append("it met the target in the search, and did not on fresh shots up to the largest size tried")
        elif looks:
            best = min(looks, key=lambda look: max(look.upper))
            shown = ", ".join(f"{v.path} {x:.4g}" for v, x in zip(self.builds.varies, best.sizes, strict=True))
            words.append(
                f"the best size looked at is {shown}: {max(best.rates):.2%} as seen, at worst {max(best.upper):.2%}"
            )
        return tuple(words)

    def _defeats(self, sample: Sample, looks: Sequence[Look], chosen: Sizes | None) -> tuple[tuple[str, int], ...]:
        """Shot types that still get past at the best size looked at, most first."""
        if chosen is not None or not looks:
            return ()
        best = min(looks, key=lambda look: max(look.upper))
        types = Flyer.of(self.builds.drawn(best.sizes), self.seed).plan.types
        count = np.bincount(sample.table.type[best.mask], minlength=len(types))
        return tuple((types[k].label, int(count[k])) for k in np.argsort(-count, kind="stable")[:8] if count[k])


def measures_of(opened: OpenBay) -> dict[str, float]:
    """What the plugins measure of a bay, m, by name."""
    return opened.plugins.measures(opened.scenario, opened.bay, opened.physics.ball, opened.facings)


def _choices(varies: Sequence[Vary]) -> list[Sizes]:
    """Values of the dimensions that are held while the last is searched: a few of each."""
    few = []
    for vary in varies:
        values = vary.values()
        at = sorted({round(k) for k in np.linspace(0, len(values) - 1, min(5, len(values)))})
        few.append([values[k] for k in at])
    return [tuple(choice) for choice in product(*few)]


def _betters(a: Sizes, b: Sizes) -> bool:
    return all(x <= y for x, y in zip(a, b, strict=True)) and a != b
