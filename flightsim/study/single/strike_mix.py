"""What one player does with one club: strike classes, their shares, and the launches of each."""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.ball import LEGAL_BALL, Ball
from flightsim.shots.played_plan import CLASS_WORDS, TEE_HEIGHT
from flightsim.shots.played_strata import DIMS, Stratum, launch_numbers, strata
from flightsim.shots.players import Player, Swing, dynamic_loft, player_names, shipped_player
from flightsim.shots.tails import Tails
from flightsim.strike.classes import Thresholds
from flightsim.strike.clubs import Club
from flightsim.strike.edges import mean_edge
from flightsim.study.run.streams import uniforms
from flightsim.study.single.one_strike import known_club, unknown

Array = NDArray[np.float64]
_RPM = 60.0 / (2.0 * np.pi)
TAILS = {
    "independent": Tails(),
    "joint": Tails(axes="joint"),
    "gaussian": Tails(model="gaussian"),
}


@dataclass(frozen=True)
class MixOrder:
    """Whose strikes, with what, how many. strikes: in all, shared evenly among the classes; bad_day multiplies the
    odds of a miss; tails: a key of TAILS.
    """

    player: str
    club: str
    strikes: int = 20_000
    seed: int = 1
    bad_day: float = 1.0
    tails: str = "independent"
    swing: Swing = "full"
    left: bool = False


@dataclass(frozen=True)
class ClassMix:
    """One strike class: its share of the strikes, and launches drawn within it, each `(n,)`, SI and radians."""

    stratum: Stratum
    speed: Array
    elevation: Array
    azimuth: Array
    backspin: Array
    sidespin: Array

    @property
    def share(self) -> float:
        """Part of this player's strikes with this club."""
        return self.stratum.share

    @property
    def word(self) -> str:
        """What golfers call it."""
        kind = self.stratum.cell.strike_class
        return CLASS_WORDS.get(kind, str(kind))


@dataclass(frozen=True)
class StrikeMix:
    """The classes, the most frequent first, and what they were drawn from."""

    order: MixOrder
    player: Player
    club: Club
    loft: float
    thresholds: Thresholds
    classes: tuple[ClassMix, ...]
    ball: Ball

    @property
    def mean_edge(self) -> float:
        """Mean height of the leading edge, m."""
        return float(mean_edge(self.loft, self.ball))


def strike_mix(order: MixOrder, ball: Ball = LEGAL_BALL) -> StrikeMix:
    """Strikes of each class of a player and club. Raises BadInputError for a name that nobody knows."""
    if order.player not in player_names():
        raise unknown("player", order.player, player_names())
    player, club = shipped_player(order.player), known_club(order.club)
    tails, thresholds = TAILS[order.tails], Thresholds()
    found = strata(player, club, order.swing, tails, thresholds, order.bad_day, ball)
    u = uniforms(order.seed, 0, order.strikes, "strike", DIMS)
    classes = [
        _drawn(stratum, tails, thresholds, ball, u[:, k :: len(found)], order.left) for k, stratum in enumerate(found)
    ]
    classes.sort(key=lambda strike_class: -strike_class.share)
    return StrikeMix(order, player, club, dynamic_loft(player, club), thresholds, tuple(classes), ball)


def _drawn(stratum: Stratum, tails: Tails, thresholds: Thresholds, ball: Ball, u: Array, left: bool) -> ClassMix:
    on_mat = TEE_HEIGHT[stratum.club.kind] == 0.0
    speed, elevation, azimuth, rate, tilt, _ = launch_numbers(stratum, tails, thresholds, on_mat, ball, u)
    hand = -1.0 if left else 1.0
    return ClassMix(stratum, speed, elevation, hand * azimuth, rate * np.cos(tilt), hand * rate * np.sin(tilt))


def mix_data(mix: StrikeMix) -> dict[str, Any]:
    """Shares and launch medians, with units in the names."""
    order = mix.order
    return {
        "player": order.player,
        "club": order.club,
        "hand": "left" if order.left else "right",
        "swing": order.swing,
        "tails": order.tails,
        "bad_day": order.bad_day,
        "seed": order.seed,
        "strike_classes": [
            {
                "strike_class": str(strike_class.stratum.cell.strike_class),
                "share": strike_class.share,
                "strikes": len(strike_class.speed),
                "ball_speed_m_s": float(np.median(strike_class.speed)),
                "elevation_deg": degrees(np.median(strike_class.elevation)),
                "azimuth_deg": degrees(np.median(strike_class.azimuth)),
                "backspin_rpm": float(np.median(strike_class.backspin) * _RPM),
                "sidespin_rpm": float(np.median(strike_class.sidespin) * _RPM),
            }
            for strike_class in mix.classes
        ],
    }
