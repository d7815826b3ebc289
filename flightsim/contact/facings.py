"""Facings: what the face of a part is made of, and so how a ball leaves it, and what it breaks."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from math import inf, isfinite
from typing import Any

import numpy as np
import yaml
from numpy.typing import NDArray

from flightsim.flight.ball import Ball
from flightsim.flight.bounce import (
    TANGENTIAL_RESTITUTION,
    ball_restitution,
    foam_capacity,
    foam_on_board,
    plate_share,
    turf_restitution,
)

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Plate:
    """A wide board: Young's modulus Pa, thickness m, density kg/m3, Poisson's ratio."""

    stiffness: float
    thickness: float
    density: float
    poisson: float = 0.3


@dataclass(frozen=True)
class Foam:
    """Foam in front of something: thickness m, crush stress Pa."""

    thickness: float
    crush_stress: float


@dataclass(frozen=True)
class Facing:
    """What a face does to a ball. Exactly one of own, plate, fixed, table and turf says how it returns one.

    own: share of the ball's own restitution; plate: a wide board; fixed: one restitution at all speeds; table: pairs
    of normal speed, m/s, and restitution; turf: turf on a foam mat. foam: lies in front. friction mu and tangential
    e_t: of the oblique bounce. hold, m/s: a ball that would leave slower stays. damage and broken, J of normal
    energy: marked, gone through. rolling: friction mu_r of a
    ball that rolls on it. soft: it gives way, as cloth does. lively: what is
    not known of how cloth drags is taken as its liveliest (adverse cloth). source: where the numbers are from. Raises
    ValueError for numbers that no face has.
    """

    name: str
    own: float | None = None
    plate: Plate | None = None
    fixed: float | None = None
    table: tuple[tuple[float, float], ...] = ()
    turf: bool = False
    foam: Foam | None = None
    friction: float = 0.35
    tangential: float = TANGENTIAL_RESTITUTION
    hold: float = 0.0
    damage: float = inf
    broken: float = inf
    rolling: float = 0.03
    soft: bool = False
    lively: bool = False
    source: str = ""

    def __post_init__(self) -> None:
        ways = [self.own is not None, self.plate is not None, self.fixed is not None, bool(self.table), self.turf]
        if sum(ways) != 1:
            raise ValueError(f"facing {self.name}: give one of own, plate, fixed, table and turf")
        shares = [s for s in (self.own, self.fixed, *(e for _, e in self.table)) if s is not None]
        for words, values in (("restitution", shares), ("tangential restitution", [self.tangential])):
            for value in values:
                if not 0.0 <= value <= 1.0:
                    raise ValueError(f"facing {self.name}: a {words} must lie between 0 and 1, found {value:g}")
        sizes = [self.friction, self.hold, self.rolling, *(s for s, _ in self.table)]
        sizes += [*vars(self.plate).values()] if self.plate else []
        sizes += [*vars(self.foam).values()] if self.foam else []
        if not all(isfinite(size) and size >= 0.0 for size in sizes):
            raise ValueError(f"facing {self.name}: its numbers must be finite, and none below nought")
        if self.plate and 0.0 in (self.plate.stiffness, self.plate.thickness, self.plate.density):
            raise ValueError(f"facing {self.name}: a plate has stiffness, thickness and density above nought")
        if not (self.damage > 0.0 and self.broken > 0.0):
            raise ValueError(f"facing {self.name}: damage and broken must be more than 0 J")
        if any(a >= b for (a, _), (b, _) in zip(self.table, self.table[1:], strict=False)):
            raise ValueError(f"facing {self.name}: the speeds of its table must rise")

    def restitution(self, normal_speed: Array, ball: Ball) -> Array:
        """Normal restitution `(n,)` at normal speeds `(n,)`, m/s, for this ball."""
        bare = self._bare(np.asarray(normal_speed, dtype=np.float64), ball)
        if self.foam is None:
            return bare
        capacity = foam_capacity(self.foam.crush_stress, self.foam.thickness, ball.radius)
        return foam_on_board(normal_speed, ball.mass, capacity, bare)

    def _bare(self, speed: Array, ball: Ball) -> Array:
        """Without the foam."""
        if self.turf:
            return turf_restitution(speed)
        if self.fixed is not None:
            return np.full_like(speed, self.fixed)
        if self.table:
            speeds, values = np.array(self.table).T
            return np.asarray(np.interp(speed, speeds, values))
        if self.plate is not None:
            p = self.plate
            return ball_restitution(speed) * plate_share(p.stiffness, p.thickness, p.density, p.poisson, ball.mass)
        return ball_restitution(speed) * float(self.own or 0.0)


def facing_from(name: str, numbers: dict[str, Any]) -> Facing:
    """A facing from the words of a data file. Raises ValueError for words and numbers that no facing has."""
    known = {field.name for field in fields(Facing)} - {"name", "lively"}
    if unknown := sorted(set(numbers) - known):
        raise ValueError(f"facing {name}: {', '.join(unknown)} is unknown; known: {', '.join(sorted(known))}")
    built = dict(numbers)
    try:
        if "plate" in built:
            built["plate"] = Plate(**built["plate"])
        if "foam" in built:
            built["foam"] = Foam(**built["foam"])
        if "table" in built:
            built["table"] = tuple((float(speed), float(e)) for speed, e in built["table"])
        return Facing(name, **built)
    except TypeError as error:
        raise ValueError(f"facing {name}: {error}") from error


@cache
def shipped_facings() -> dict[str, Facing]:
    """The facings that come with flightsim, by name."""
    text = files("flightsim.contact").joinpath("facings.yaml").read_text(encoding="utf-8")
    # The same reader in C where there is one: ten times as fast.
    data = yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))  # noqa: S506
    return {name: facing_from(name, numbers) for name, numbers in data.items()}
