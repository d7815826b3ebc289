"""The headline under another published drag and lift model: the honest error of the flight."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from flightsim.flight.aerodynamics import AERO_MODELS
from flightsim.study.run.fly import Flyer
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import OtherAir

MODELS = ("naruo2004", "ferguson2022")
MOST_SHOTS = 1000


def other_air(opened: OpenBay, result: RunResult, most: int = MOST_SHOTS) -> OtherAir:
    """The run's first shots, as they were struck, flown by the other of two models."""
    name = next(model for model in MODELS if model != opened.scenario.aero)
    n = min(len(result.shots), most)
    shots = result.shots.take(slice(0, n))
    bay = replace(opened, physics=replace(opened.physics, aero=AERO_MODELS[name]))
    _, fates = Flyer.of(bay, result.seed).follow(shots)
    kinds = len(result.types)
    each = np.bincount(shots.type, minlength=kinds)
    count = np.bincount(shots.type[fates.escaped], minlength=kinds)
    share, flown = np.array([kind.share for kind in result.types]), each > 0
    rate = float(share[flown] @ (count[flown] / each[flown]) / share[flown].sum())
    return OtherAir(name, n, int(result.fates.escaped[:n].sum()), int(fates.escaped.sum()), rate)
