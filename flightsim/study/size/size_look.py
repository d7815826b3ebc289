"""One size looked at: the worse of the ways in which it may be built, flown with rebounds on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Flag
from flightsim.errors import BadInputError
from flightsim.scenario.reading.display import Display
from flightsim.study.run.adverse import adverse_bays
from flightsim.study.run.crew import CHUNK
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.proportional import Sample
from flightsim.study.run.require import Requirement
from flightsim.study.run.same_shots import started_in
from flightsim.study.size.builds import Builds, Sizes
from flightsim.study.size.keep import Keep
from flightsim.study.size.size_target import hits_of

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Look:
    """One size as flown: hits of the worse of its builds.

    sizes: of what is varied; rates, lower, upper: of each group; hits: shots in all that had the trouble; met: whether
    every bound is within the target and nothing else is against it; kept: which keep it breaks, and by what value;
    refused: why it, or what a builder may make of it, is no bay: then nothing was flown, and the rates are 1; flags:
    hits by Flag, of which a shot may carry several; mask `(n,)`: which shots.
    """

    sizes: Sizes
    rates: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    hits: int
    met: bool
    kept: str = ""
    refused: str = ""
    flags: tuple[int, ...] = ()
    mask: Mask = field(default_factory=lambda: np.zeros(0, dtype=bool), repr=False)

    @property
    def worst(self) -> float:
        """The highest bound of a group."""
        return max(self.upper)


def look_at(
    builds: Builds, sizes: Sizes, sample: Sample, home: OpenBay, requirement: Requirement, keeps: Sequence[Keep],
    alpha: float,
) -> Look:  # fmt: skip
    """One size on a sample, which was drawn in the bay `home`. Raises BadInputError where its shots would be others."""
    try:
        builds.drawn(sizes)
    except BadInputError as error:
        return _refused(sizes, sample, _first(error))
    try:
        bays = builds.built(sizes)
    except BadInputError as error:
        off = Display(home.scenario.units).length(builds.tolerance)
        return _refused(sizes, sample, f"built {off} off: {_first(error)}")
    kept = _broken(builds, sizes, bays, keeps)
    if requirement.at_worst:
        bays = [looked_at for bay in bays for looked_at in (bay, *(adverse for _, adverse in adverse_bays(bay)))]
    looks = [_flown(bay, sizes, sample, home, requirement, kept, alpha) for bay in bays]
    return max(looks, key=lambda look: look.worst)


def _flown(
    bay: OpenBay, sizes: Sizes, sample: Sample, home: OpenBay, requirement: Requirement, kept: str, alpha: float
) -> Look:
    table, flyer = started_in(sample.table, home, bay), Flyer.of(bay, 0)
    hits, flags = np.zeros(len(sample), dtype=bool), np.zeros(len(Flag), dtype=np.intp)
    for first in range(0, len(sample), CHUNK):
        chunk = slice(first, first + CHUNK)
        _, fates = flyer.follow(table.take(chunk))
        hits[chunk] = hits_of(fates, requirement, bay)
        flags += (fates.flags & hits[chunk]).sum(axis=1)
    upper = sample.upper(hits, alpha)
    met = all(requirement.met_by(bound) for bound in upper) and not kept
    return Look(
        sizes, sample.rates(hits), sample.lower(hits, alpha), upper, int(hits.sum()), met, kept, "",
        tuple(flags.tolist()), hits,
    )  # fmt: skip


def _refused(sizes: Sizes, sample: Sample, words: str) -> Look:
    every = (1.0,) * len(sample.groups)
    return Look(sizes, every, every, every, 0, False, "", words)


def _first(error: BadInputError) -> str:
    """What the first line of a refusal says, without where it stands."""
    line = str(error).splitlines()[0]
    return line.partition(": ")[2] or line


def _broken(builds: Builds, sizes: Sizes, bays: Sequence[OpenBay], keeps: Sequence[Keep]) -> str:
    """Which keep does not hold, as drawn or as it may be built, with the worst that was measured."""
    if not keeps:
        return ""
    drawn = builds.drawn(sizes)
    measured = [measures_of(bay) for bay in (drawn, *bays)]
    return "; ".join(
        _told(keep, measured, Display(drawn.scenario.units))
        for keep in keeps
        if not all(keep.holds(measures) for measures in measured)
    )


def _told(keep: Keep, measured: Sequence[dict[str, float]], display: Display) -> str:
    """The worst of what was measured, and of what: swing_room is that of swing_room.canopy."""
    worst = (min if keep.more else max)(measured, key=lambda measures: measures[keep.name])
    value = worst[keep.name]
    of = [name for name, other in sorted(worst.items()) if name.startswith(f"{keep.name}.") and other == value]
    where = f" ({of[0].removeprefix(keep.name + '.').replace('_', ' ')})" if of else ""
    missed = display.estimate(abs(keep.limit - value))
    return f"'{keep.text}' does not hold: {'short' if keep.more else 'over'} by {missed}{where}"


def measures_of(opened: OpenBay) -> dict[str, float]:
    """What the plugins measure of a bay, m, by name."""
    return opened.plugins.measures(opened.scenario, opened.bay, opened.physics.ball, opened.facings)
