"""Bays at the sizes that are tried, as a builder may build them: every size off by the tolerance, to its worse side."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from flightsim.errors import BadInputError
from flightsim.study.build import OpenBay, open_bay
from flightsim.study.first_curve import first_curve
from flightsim.study.guard_sizes import GuardSize, guard_sizes
from flightsim.study.proportion import Sample
from flightsim.study.vary import Vary

TOLERANCE = 0.02  # m: what a build is off its drawing
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

    file: str
    sets: tuple[str, ...]
    varies: tuple[Vary, ...]
    worse: tuple[Worse, ...] = ()
    tolerance: float = TOLERANCE

    def drawn(self, sizes: Sizes) -> OpenBay:
        """The bay as drawn. Raises BadInputError where it cannot be."""
        return open_bay(self.file, (*self.sets, *(v.set(x) for v, x in zip(self.varies, sizes, strict=True))))

    def built(self, sizes: Sizes) -> list[OpenBay]:
        """The bays that a builder may make of it: what is varied long or short, all else off to the worse side.

        Where one cannot be built, as a canopy that would go through the roof, the drawing itself stands in its place.
        """
        bays = []
        for signs in product((-1.0, 1.0), repeat=len(self.varies)):
            off = [
                vary.set(max(x + sign * self.tolerance, 0.0)) if vary.kind == "length" else vary.set(x)
                for vary, x, sign in zip(self.varies, sizes, signs, strict=True)
            ]
            try:
                bays.append(open_bay(self.file, (*self.sets, *(w.set for w in self.worse), *off)))
            except BadInputError:
                bays.append(self.drawn(sizes))
        return bays


def worse_sides(builds: Builds, sizes: Sizes, sample: Sample) -> tuple[Worse, ...]:
    """The side to which each size that is not varied is worse: where more of a few shots meet no guard first.

    Where the shots do not tell, less of what stops balls is taken, and more of what lets them by.
    """
    drawn = builds.drawn(sizes)
    varied = {vary.path for vary in builds.varies}
    some = sample.table.take(np.linspace(0, len(sample) - 1, min(FEW, len(sample))).astype(np.intp)).launches()
    found = []
    for size in guard_sizes(drawn):
        if _same(size.path, varied) or size.value <= builds.tolerance:
            continue
        there = {sign: bay for sign in (-1.0, 1.0) if (bay := _off(builds, sizes, size, sign)) is not None}
        if not there:
            continue
        missed = first_curve([bay.bay for bay in there.values()], drawn.plugins, drawn.physics, some).missed.sum(axis=1)
        counts = dict(zip(there, missed.tolist(), strict=True))
        usual = -1.0 if size.wider else 1.0
        sign = max(counts, key=lambda s: (counts[s], s == usual))
        off = sign * builds.tolerance
        found.append(Worse(size.path, size.words, size.value + off, off))
    return tuple(found)


def _off(builds: Builds, sizes: Sizes, size: GuardSize, sign: float) -> OpenBay | None:
    """The bay with one size off; None where it cannot be built."""
    sets = (f"{size.path}={size.value + sign * builds.tolerance:.6f}m",)
    try:
        return Builds(builds.file, (*builds.sets, *sets), builds.varies).drawn(sizes)
    except BadInputError:
        return None


def _same(path: str, varied: set[str]) -> bool:
    """Whether a path is among those varied, which may leave out the index of an only entry."""
    plain = ".".join(step for step in path.split(".") if not step.isdecimal())
    return plain in {".".join(step for step in other.split(".") if not step.isdecimal()) for other in varied}
