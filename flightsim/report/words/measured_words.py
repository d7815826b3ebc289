"""Measured shots read back in words, so that a wrong unit or side is heard."""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees, hypot, pi

import numpy as np

from flightsim.shots.measured_rows import ALL, MeasuredRows

SHOWN = 5
_MPH = 0.44704  # m/s, exactly: 1609.344 m in 3600 s
_LEVEL = 0.05  # deg: what is told as straight
_RPM = 30.0 / pi


def some_rows(rows: MeasuredRows, count: int = SHOWN) -> list[int]:
    """Rows that tell most: the first, then those furthest right, left and up, and the fastest; each once."""
    speed, up, right = rows.numbers[0], rows.numbers[1], rows.numbers[2]
    picked = [0, int(right.argmax()), int(right.argmin()), int(up.argmax()), int(speed.argmax())]
    return sorted(dict.fromkeys([*dict.fromkeys(picked), *range(len(rows))]), key=lambda k: k not in picked)[:count]


def row_words(rows: MeasuredRows, k: int) -> str:
    """One row, as a player would tell it."""
    speed, up, right, back, side = (float(value) for value in rows.numbers[:, k])
    club = rows.clubs[rows.club[k]]
    hand = ", left-handed" if rows.left[k] else ""
    whose = "" if club == ALL else f"{club}{hand}: "
    return (
        f"line {rows.line[k]}: {whose}the ball leaves at {speed:.1f} m/s ({speed / _MPH:.0f} mph), "
        f"{_angle(up, 'up', 'down', 'level')} and {_angle(right, 'to the right', 'to the left', 'straight')}, "
        f"with {hypot(back, side) * _RPM:,.0f} rpm {_spin(back, side)}"
    )


def _angle(value: float, plus: str, minus: str, none: str) -> str:
    size = degrees(value)
    return none if abs(size) < _LEVEL else f"{abs(size):.1f} deg {plus if size > 0 else minus}"


def _spin(back: float, side: float) -> str:
    tilt = degrees(float(np.arctan2(side, abs(back))))
    kind = "of backspin" if back >= 0.0 else "of topspin"
    if abs(tilt) < _LEVEL:
        return f"{kind} that curves it neither way"
    return f"{kind}, its axis {abs(tilt):.1f} deg over, which curves it {'right' if tilt > 0 else 'left'}"


def back_in_words(rows: MeasuredRows) -> Iterator[str]:
    """Some rows in words, in the order of the file."""
    for k in sorted(some_rows(rows)):
        yield row_words(rows, k)
