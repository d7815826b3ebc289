"""Whether two things are equal, arrays and all."""

from __future__ import annotations

from typing import Any

import numpy as np


def same(one: Any, other: Any) -> bool:
    """Whether two things are equal, through and through: arrays, and what holds them."""
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray):
        alike = one.dtype == other.dtype and one.dtype.kind != "O" and one.shape == other.shape
        if alike and one.tobytes() == other.tobytes():  # several times as fast
            return True
        return bool(np.array_equal(one, other, equal_nan=True))
    if isinstance(one, tuple | list):
        return len(one) == len(other) and all(same(a, b) for a, b in zip(one, other, strict=True))
    if hasattr(one, "__dataclass_fields__"):
        return all(same(getattr(one, name), getattr(other, name)) for name in one.__dataclass_fields__)
    return bool(one == other)
