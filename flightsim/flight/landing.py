"""How fast a ball comes down to what is below it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def landing_speed(speed: Array, height: Array, gravity: float) -> Array:
    """Speed `(n,)`, m/s, at which balls that leave at this speed come down to what is this far below them, m.

    sqrt(v^2 + 2 g h): energy alone, without the air, which would only take (textbook mechanics).
    """
    return np.asarray(np.sqrt(speed * speed + 2.0 * gravity * np.maximum(height, 0.0)))
