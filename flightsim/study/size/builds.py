"""Bays at the sizes that are tried, as a builder may build them: every size off by the tolerance, to its worse side."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from flightsim.errors import BadInputError
from flightsim.scenario.reading.written import Origin
from flightsim.study.run.built_off import TOLERANCE
from flightsim.study.run.guard_sizes import GuardSize, guard_sizes
from flightsim.study.run.open_bay import BayOrigin, OpenBay, open_bay
from flightsim.study.run.proportional import Sample
from flightsim.study.size.missed_first import missed_first
from flightsim.study.size.vary import Vary

FEW = 3000  # shots on which the worse side of each size is found
Sizes = tuple[float, ...]


@dataclass(frozen=True)
class Worse:
    """A size that is not varied, off to its worse side: its path, in words, and the value taken."""

    path: str
    words: str
    value: float
    off: float

    @property
    def set(self) -> str:
        """As for --set."""
        return f"{self.path}={self.value:.6f}m"


@dataclass(frozen=True)
class Builds:
    """A scenario with what is varied, and what else is off."""

    origin: Origin | BayOrigin
    sets: tuple[str, ...]
    varies: tuple[Vary, ...]
    worse: tuple[Worse, ...] = ()
    tolerance: float = TOLERANCE

    def drawn(self, sizes: Sizes) -> OpenBay:
        """The bay as drawn. Raises BadInputError where it cannot be."""
        return open_bay(self.origin, (*self.sets, *(v.set(x) for v, x in zip(self.varies, sizes, strict=True))))

    def built(self, sizes: Sizes) -> list[OpenBay]:
        """The bays that a builder may make of it: what is varied long or short, all else off to the worse side.

        Where they cannot be built with all else off, all else is as drawn. Raises BadInputError where one cannot be
        built at all: so near to a size that does not work nobody should build.
        """
        bays = []
        for signs in product((-1.0, 1.0), repeat=len(self.varies)):
            off = [
                vary.set(_off_by(x, sign * self.tolerance)) if vary.kind == "length" else vary.set(x)
                for vary, x, sign in zip(self.varies, sizes, signs, strict=True)
            ]
            try:
                bays.append(open_bay(self.origin, (*self.sets, *(w.set for w in self.worse), *off)))
            except BadInputError:
                bays.append(open_bay(self.origin, (*self.sets, *off)))
        return bays


def _off_by(value: float, off: float) -> float:
    """A size as built: nothing is less than nought that was not drawn so."""
    return value + off if value < 0.0 else max(value + off, 0.0)


def worse_sides(builds: Builds, sizes: Sizes, sample: Sample, home: OpenBay) -> tuple[Worse, ...]:
    """The side to which each size that is not varied is worse: where more of a few shots meet no guard first.

    Where the shots do not tell, less of what stops balls is taken, and more of what lets them by. home: the bay that
    the sample was drawn in.
    """
    drawn = builds.drawn(sizes)
    varied = _varied(builds, sizes, drawn)
    few_shots = sample.table.take(np.linspace(0, len(sample) - 1, min(FEW, len(sample))).astype(np.intp))
    found = []
    for size in guard_sizes(drawn):
        if size.path in varied or size.value == 0.0:  # what is not there is not built wrong
            continue
        values = {sign: _off_by(size.value, sign * builds.tolerance) for sign in (-1.0, 1.0)}
        there = {sign: bay for sign, x in values.items() if (bay := _off(builds, sizes, size, x)) is not None}
        if not there:
            continue
        missed = missed_first(list(there.values()), home, few_shots).sum(axis=1)
        counts = dict(zip(there, missed.tolist(), strict=True))
        usual = -1.0 if size.wider else 1.0
        sign = max(counts, key=lambda s: (counts[s], s == usual))
        found.append(Worse(size.path, size.words, values[sign], values[sign] - size.value))
    return tuple(found)


def _off(builds: Builds, sizes: Sizes, size: GuardSize, value: float) -> OpenBay | None:
    """The bay with one size off; None where it cannot be built."""
    try:
        return Builds(builds.origin, (*builds.sets, f"{size.path}={value:.6f}m"), builds.varies).drawn(sizes)
    except BadInputError:
        return None


def _varied(builds: Builds, sizes: Sizes, drawn: OpenBay) -> set[str]:
    """Paths of the guards' sizes that are varied, by whatever name: those that differ at other values."""
    before = {size.path: size.value for size in guard_sizes(drawn)}
    found: set[str] = set()
    for k, vary in enumerate(builds.varies):
        for other in (x for x in vary.values() if x != sizes[k]):
            try:
                bay = builds.drawn((*sizes[:k], other, *sizes[k + 1 :]))
            except BadInputError:
                continue
            found |= {size.path for size in guard_sizes(bay) if before.get(size.path) != size.value}
            break
    return found
