"""Whom a map is drawn for: each club in use from each tee spot, its normal shot, and what its strikes can launch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray

from flightsim.errors import Asked, BadInputError
from flightsim.shots.shot_table import ShotTable, ShotType
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.streams import uniforms

Array = NDArray[np.float64]
Index = NDArray[np.intp]

EACH = 1024  # launches drawn of each kind of strike, whatever its share: rare miss-hits count like clean ones
SEED = 0
CLEAN = "clean"


@dataclass(frozen=True)
class Aim:
    """A club from a tee spot by a hand, and its normal shot.

    start `(3,)`, m: of the ball centre; ball_speed m/s, elevation and azimuth (+ right) rad, spin_rate rad/s of
    backspin, all means of the normal strike; kind: index into plan.types of that strike; strikes: what was drawn;
    drawn `(3, m)`, unit: launch directions of all its strikes alike; fastest: of what was drawn, m/s.
    """

    name: str
    club: str
    spot: str
    hand: str
    start: Array
    ball_speed: float
    elevation: float
    azimuth: float
    spin_rate: float
    kind: int
    strikes: tuple[str, ...]
    drawn: Array
    fastest: float


def unit(elevation: Array | float, azimuth: Array | float) -> Array:
    """Launch directions `(3, n)` of elevations and azimuths (+ right), rad."""
    el, az = np.broadcast_arrays(np.asarray(elevation, dtype=np.float64), np.asarray(azimuth, dtype=np.float64))
    return np.stack([np.cos(el) * np.cos(az), -np.cos(el) * np.sin(az), np.sin(el)])


def angles(direction: Array) -> tuple[Array, Array]:
    """Elevation and azimuth (+ right), rad, of directions `(3, n)`."""
    return np.arctan2(direction[2], np.hypot(direction[0], direction[1])), np.arctan2(-direction[1], direction[0])


def apart(direction: Array, other: Array) -> Array:
    """Angle `(n,)`, rad, between directions `(3, n)`: exact for small ones too."""
    cross = np.cross(direction, other, axis=0)
    return np.asarray(np.arctan2(np.sqrt((cross * cross).sum(axis=0)), (direction * other).sum(axis=0)))


def aims_of(opened: OpenBay, shots_of_type: int = EACH) -> tuple[Aim, ...]:
    """Every club in use, spot by spot, hand by hand and player by player, in the order of the scenario's shot types."""
    plan = opened.plan
    n = plan.grid_size or 2 * shots_of_type * len(plan.types)  # of which one half at least is one of each type in turn
    table = plan.draw(lambda purpose, dims: uniforms(SEED, 0, n, purpose, dims), 0, n)
    if not plan.grid_size:
        table = table.take(np.flatnonzero(table.rank < shots_of_type))
    groups: dict[tuple[str, str, str], list[int]] = {}
    for k, kind in enumerate(plan.types):
        groups.setdefault((_name(kind), kind.spot, kind.hand), []).append(k)
    return tuple(_aim(name, kinds, plan.types, table) for (name, _, _), kinds in groups.items())


def _name(kind: ShotType) -> str:
    """The label without the kind of strike: "driver", "mid 7-iron (half) from forward tee"."""
    return kind.label.replace(f" {kind.strike}", "", 1)


def _aim(name: str, kinds: list[int], types: Sequence[ShotType], table: ShotTable) -> Aim:
    clean = [k for k in kinds if types[k].strike == CLEAN]
    normal = clean[0] if clean else max(kinds, key=lambda k: types[k].share)
    of_kind = np.isin(table.type, kinds) & (table.ball_speed > 0.0)
    usual = table.take(np.flatnonzero(table.type == normal))
    launches = table.take(np.flatnonzero(of_kind)).launches()
    speed = np.sqrt((launches.velocity**2).sum(axis=0))
    return Aim(
        name, types[normal].club, types[normal].spot, types[normal].hand, usual.start.mean(axis=1),
        float(usual.ball_speed.mean()), float(usual.elevation.mean()), float(usual.azimuth.mean()),
        float(usual.spin_rate.mean()), normal, tuple(dict.fromkeys(types[k].strike for k in kinds)),
        launches.velocity / speed, float(speed.max()),
    )  # fmt: skip


def chosen(aims: Sequence[Aim], clubs: Sequence[str]) -> tuple[Aim, ...]:
    """The aims of these clubs, all where none is named. Raises BadInputError for a club that is not in use."""
    if not clubs:
        return tuple(aims)
    for club in clubs:
        if not any(_is_called(aim, club) for aim in aims):
            known = list(dict.fromkeys([*(aim.club for aim in aims), *(aim.name for aim in aims)]))
            near = get_close_matches(_plain(club), [_plain(name) for name in known], 1, 0.5)
            fix = next((name for name in known if near and _plain(name) == near[0]), known[0])
            words = f": this scenario plays no '{club}'\n  allowed: {', '.join(known)}\n  try: "
            raise BadInputError(Asked("clubs"), words, Asked("clubs", fix))
    return tuple(aim for aim in aims if any(_is_called(aim, club) for club in clubs))


def _is_called(aim: Aim, club: str) -> bool:
    return _plain(club) in (_plain(aim.club), _plain(aim.name))


def _plain(name: str) -> str:
    return " ".join(name.replace("_", " ").casefold().split())
