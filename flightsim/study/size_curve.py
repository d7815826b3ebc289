"""Misses against size, from one batch of flights: the whole range, under other aerodynamic models as well."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from flightsim.errors import BadInputError
from flightsim.flight.aerodynamics import AERO_MODELS
from flightsim.study.build import OpenBay
from flightsim.study.builds import Builds, Sizes
from flightsim.study.first_curve import first_curve
from flightsim.study.proportion import Sample

MOST_SIZES = 31  # of a curve
AERO = ("naruo2004", "ferguson2022")  # two published models that differ


@dataclass(frozen=True)
class Curve:
    """How many of all balls meet no guard first, by size of the last dimension, as drawn.

    sizes `(m,)`; rate, lower, upper `(m,)`: of the group with the highest rate; models: rate `(m,)` by model.
    """

    sizes: tuple[float, ...]
    rate: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    models: dict[str, tuple[float, ...]]


def misses_curve(builds: Builds, held: Sizes, sample: Sample, alpha: float) -> Curve:
    """The curve over the last dimension, the others held. Sizes of which no bay can be built are left out."""
    values = builds.varies[-1].values()
    at = sorted({round(k) for k in np.linspace(0, len(values) - 1, min(MOST_SIZES, len(values)))})
    sizes, bays = _bays(builds, held, [values[k] for k in at])
    missed = _missed(bays, sample)
    rates = [max(sample.rates(row)) for row in missed]
    lower, upper = [max(sample.lower(row, alpha)) for row in missed], [max(sample.upper(row, alpha)) for row in missed]
    models = {}
    for name in AERO:
        others = [replace(bay, physics=replace(bay.physics, aero=AERO_MODELS[name])) for bay in bays]
        models[name] = tuple(max(sample.rates(row)) for row in _missed(others, sample))
    return Curve(tuple(sizes), tuple(rates), tuple(lower), tuple(upper), models)


def _bays(builds: Builds, held: Sizes, values: Sequence[float]) -> tuple[list[float], list[OpenBay]]:
    sizes, bays = [], []
    for value in values:
        try:
            bays.append(builds.drawn((*held, value)))
        except BadInputError:
            continue
        sizes.append(value)
    return sizes, bays


def _missed(bays: Sequence[OpenBay], sample: Sample) -> np.ndarray:
    first = bays[0]
    curve = first_curve([bay.bay for bay in bays], first.plugins, first.physics, sample.table.launches())
    return curve.missed
