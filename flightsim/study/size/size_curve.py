"""Misses against size, from one batch of flights: the whole range, under other models as well."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flightsim.errors import BadInputError
from flightsim.flight.aerodynamics import AERO_MODELS
from flightsim.shots.played_plan import all_strata
from flightsim.shots.tails import Tails
from flightsim.study.run.open_bay import OpenBay, tee_spots
from flightsim.study.run.proportional import Sample
from flightsim.study.size.builds import Builds, Sizes
from flightsim.study.size.missed_first import missed_first

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
MOST_SIZES = 31  # of a curve
AERO = ("naruo2004", "ferguson2022")  # two published models that differ
TAILS = {
    "normal tails": Tails(model="gaussian"),
    "Student's t tails": Tails(),
    "Student's t tails, one for all of a swing": Tails(axes="joint"),
}


@dataclass(frozen=True)
class Curve:
    """How many of all balls meet no guard first, by size of the last dimension, as drawn.

    sizes `(m,)`; rate, lower, upper `(m,)`: of the group with the highest rate; models: rate `(m,)` by model of the
    air, and by how misses scatter where the shots are played (the shares of the kinds of strike alone change).
    """

    sizes: tuple[float, ...]
    rate: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    models: dict[str, tuple[float, ...]]


def misses_curve(builds: Builds, held: Sizes, sample: Sample, home: OpenBay, alpha: float) -> Curve | None:
    """The curve over the last dimension, the others held. Sizes of which no bay can be built are left out.

    home: the bay that the sample was drawn in. None where no bay at all can be built.
    """
    values = builds.varies[-1].values()
    picked = sorted({round(k) for k in np.linspace(0, len(values) - 1, min(MOST_SIZES, len(values)))})
    sizes, bays = _bays(builds, held, [values[k] for k in picked])
    if not bays:
        return None
    missed = missed_first(bays, home, sample.table)
    rates = [max(sample.rates(row)) for row in missed]
    lower, upper = [max(sample.lower(row, alpha)) for row in missed], [max(sample.upper(row, alpha)) for row in missed]
    models = {}
    for name in AERO:
        others = [replace(bay, physics=replace(bay.physics, aero=AERO_MODELS[name])) for bay in bays]
        models[f"air after {name}"] = tuple(max(sample.rates(row)) for row in missed_first(others, home, sample.table))
    models |= _by_tails(missed, sample, home)
    return Curve(tuple(sizes), tuple(rates), tuple(lower), tuple(upper), models)


def _by_tails(missed: Mask, sample: Sample, home: OpenBay) -> dict[str, tuple[float, ...]]:
    """The same shots, each kind of strike counted as often as other tails have it come.

    Strikes that were too rare to be flown count as misses.
    """
    found = {}
    for shots in home.scenario.entries("shots"):
        for words, tails in TAILS.items():
            every = all_strata(shots.model_copy(update={"tails": tails}), tee_spots(home.scenario), home.physics.ball)
            share = {kind.label: kind.share for kind, _ in every}
            whole: dict[tuple[str, str, str], float] = {}
            for kind, _ in every:
                group_of = (kind.player, kind.hand, kind.spot)
                whole[group_of] = whole.get(group_of, 0.0) + kind.share
            of_group = []
            for group in sample.groups:
                first = home.plan.types[group.types[0]]
                played = np.array([share.get(home.plan.types[k].label, 0.0) for k in group.types])
                of_group.append(played / whole[first.player, first.hand, first.spot])
            found[words] = tuple(_highest(row, sample, of_group) for row in missed)
    return found


def _highest(hits: Mask, sample: Sample, shares: Sequence[Array]) -> float:
    """The highest rate of a group, its types `(k,)` weighted with these shares; what they lack counts as a hit."""
    rates = []
    for group, share in zip(sample.groups, shares, strict=True):
        shots_of_type = np.array([(sample.table.type == k).sum() for k in group.types])
        seen = np.array([hits[sample.table.type == k].sum() for k in group.types])
        rates.append(float(share @ (seen / np.maximum(shots_of_type, 1))) + max(0.0, 1.0 - float(share.sum())))
    return max(rates)


def _bays(builds: Builds, held: Sizes, values: Sequence[float]) -> tuple[list[float], list[OpenBay]]:
    sizes, bays = [], []
    for value in values:
        try:
            bays.append(builds.drawn((*held, value)))
        except BadInputError:
            continue
        sizes.append(value)
    return sizes, bays
