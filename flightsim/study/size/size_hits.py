"""Which balls count against a target."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flightsim.contact.fates import Fates, Flag
from flightsim.study.run.rates import ESCAPE

Mask = NDArray[np.bool_]


def has_trouble(fates: Fates, name: str) -> Mask:
    """Balls `(n,)` that count towards a requirement's rate: what is unresolved always does."""
    if name == ESCAPE:
        return fates.escaped
    flags = fates.flags
    return np.asarray(flags[[flag.key for flag in Flag].index(name)] | flags[Flag.UNRESOLVED])
