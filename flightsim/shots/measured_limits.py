"""What a measured shot can be, and whether a column's numbers look as if they were in another unit.

A speed in m/s that is read as mph comes out at less than half, and so does every answer. The middle of a column tells:
where it makes no sense in the unit that is given, and does in another, the run stops and asks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flightsim.scenario.reading.quantities import KINDS
from flightsim.shots.measured_section import NumberColumn, unit_factor

Array = NDArray[np.float64]
Span = tuple[float, float]
LEAST_OF_A_CLUB = 5  # rows from which on a club is looked at by itself: the middle of fewer says little
_ROUNDING = 1e-9
FAR = 10.0  # times what is likely: no player and no club explains it (judgement)
LEAST_SIDE = 5  # values from which on the middle of a side's size says anything: straight shots come in twos and threes


@dataclass(frozen=True)
class Quantity:
    """One number of a shot: the unit that limits are told in, least and most in it, and the likely middle of a column.

    likely: by kind of club, "" where the club is not known: span of the median size of many shots. Judgement, wide:
    it must tell units apart, not players.
    """

    kind: str
    unit: str
    limits: Span
    likely: dict[str, Span]
    either_way: bool = False  # left and right, so that only the size tells the unit

    @property
    def si(self) -> float:
        """One unit, in SI."""
        return unit_factor(self.unit)

    def outside(self, values: Array) -> NDArray[np.bool_]:
        """Which values `(n,)`, SI, no ball has; rounding is forgiven, and NaN is not told here."""
        shown, (low, high) = values / self.si, self.limits
        return np.asarray((shown < low - _ROUNDING) | (shown > high + _ROUNDING))

    def out_of_range(self, value: float) -> str:
        """Why a value in SI cannot be flown."""
        low, high = self.limits
        return f"is {_shown(value / self.si)} {self.unit}, which is not within {low:,g} and {high:,g} {self.unit}"


_ANY = ""
_SPINS: dict[str, Span] = {
    "driver": (1200, 6000),
    "wood": (1500, 7000),
    "iron": (2500, 10_500),
    "wedge": (3500, 13_000),
    _ANY: (1100, 12_000),
}
MOST_SPIN = 15_000.0  # rpm
QUANTITIES = {
    "ball_speed": Quantity(
        "speed", "m/s", (3.0, 100.0),
        {"driver": (42, 90), "wood": (38, 85), "iron": (30, 75), "wedge": (22, 55), _ANY: (33, 85)},
    ),
    "elevation": Quantity("angle", "deg", (-30.0, 90.0), {_ANY: (1.6, 55)}),
    "azimuth": Quantity("angle", "deg", (-90.0, 90.0), {_ANY: (0.35, 30)}, either_way=True),
    "spin_rate": Quantity("spin rate", "rpm", (0.0, MOST_SPIN), _SPINS),
    "spin_tilt": Quantity("angle", "deg", (-180.0, 180.0), {_ANY: (1.2, 60)}, either_way=True),
    "backspin": Quantity("spin rate", "rpm", (-MOST_SPIN, MOST_SPIN), _SPINS),
    "sidespin": Quantity("spin rate", "rpm", (-MOST_SPIN, MOST_SPIN), {_ANY: (60, 4000)}, either_way=True),
    "spin_along": Quantity("spin rate", "rpm", (-MOST_SPIN, MOST_SPIN), {_ANY: (0, MOST_SPIN)}, either_way=True),
}  # fmt: skip
_CLUB_WORDS = (("driver", "driver"), ("wood", "wood"), ("hybrid", "wood"), ("iron", "iron"), ("wedge", "wedge"))


def club_kind(club: str) -> str:
    """Kind of club that a player's word means, or ""."""
    return next((kind for word, kind in _CLUB_WORDS if word in club.casefold()), _ANY)


@dataclass(frozen=True)
class Doubt:
    """A column that makes sense in another unit only, or in none.

    units: in which it would make sense; far: it is so far from what is likely that no player explains it.
    """

    name: str
    column: NumberColumn
    units: tuple[str, ...]
    found: str
    far: bool


def doubts(
    values: dict[str, Array], columns: Sequence[tuple[str, NumberColumn]], clubs: Sequence[str]
) -> Iterator[Doubt]:
    """Columns whose unit is in doubt. values: SI by our name `(n,)`, NaN where there is none; clubs: of each row."""
    groups = _groups(clubs)
    for name, column in columns:
        for kind, rows in groups:
            doubt = _doubt(name, column, kind, values[name][rows])
            if doubt is not None:
                yield doubt
                break


def _groups(clubs: Sequence[str]) -> list[tuple[str, NDArray[np.intp]]]:
    """Rows of each kind of club that has enough of them, and all the others together."""
    kinds = np.array([club_kind(club) for club in clubs], dtype=object)
    large = [kind for kind in dict.fromkeys(kinds) if kind and (kinds == kind).sum() >= LEAST_OF_A_CLUB]
    rest = np.flatnonzero(~np.isin(kinds, large)) if large else np.arange(len(kinds))
    return [(kind, np.flatnonzero(kinds == kind)) for kind in large] + [(_ANY, rest)]


def _doubt(name: str, column: NumberColumn, kind: str, values: Array) -> Doubt | None:
    quantity = QUANTITIES[name]
    sizes = np.abs(values[np.isfinite(values)])
    if sizes.size < (LEAST_SIDE if quantity.either_way else 1):
        return None
    middle = float(np.median(sizes))
    low, high = quantity.likely.get(kind, quantity.likely[_ANY])
    plain = middle / column.factor
    if low <= middle / quantity.si <= high:
        return None
    units = tuple(
        unit for unit in KINDS[quantity.kind].units
        if unit != column.unit and low <= plain * unit_factor(unit) / quantity.si <= high
    )  # fmt: skip
    if not units and quantity.either_way and middle < low * quantity.si:
        return None  # straight shots, or a tilt that was not measured
    looks = f"these look like {' or '.join(units)}" if units else "no unit explains these"
    found = (
        f"{looks}: the middle of {sizes.size:,} "
        f"{'sizes' if quantity.either_way else 'values'}{f' with a {kind}' if kind else ''} is {_shown(plain)}, "
        f"which in {column.unit} is {_shown(middle / quantity.si)} {quantity.unit}; likely is {low:g} to {high:g} "
        f"{quantity.unit}"
    )
    far = not units and not low / FAR <= middle / quantity.si <= high * FAR
    return Doubt(name, column, units, found, bool(units) or far)


def _shown(value: float) -> str:
    """Four digits, or all those before the point."""
    return f"{value:,.0f}" if abs(value) >= 1000.0 else f"{value:.4g}"
