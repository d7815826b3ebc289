"""Players as data: how one player's strikes scatter from shot to shot."""

from __future__ import annotations

import json
from functools import cache
from math import radians
from typing import TYPE_CHECKING, Literal, TypeAlias

from pydantic import Field

from flightsim.scenario.reading.models import Model
from flightsim.scenario.reading.quantities import quantity
from flightsim.strike.clubs import Club, shipped_data

if TYPE_CHECKING:
    HeadSpeed: TypeAlias = float
    Spread: TypeAlias = float
    Bias: TypeAlias = float
    StrikeSpread: TypeAlias = float
else:
    HeadSpeed = quantity("speed", above=1.0, most=90.0)
    Spread = quantity("angle", above=0.0, most=radians(30.0))
    Bias = quantity("angle", least=radians(-30.0), most=radians(30.0))
    StrikeSpread = quantity("length", above=0.0, most=0.05)
LEAST_LOFT = radians(1.0)  # of the face at impact
FACE_PATH_CORRELATION = 0.4  # [players]


class Player(Model):
    """One player. Standard deviations are from shot to shot; `tail_nu` is Student's nu of their tails."""

    driver_speed: HeadSpeed = Field(description="head speed with a driver")
    speed_sd: float = Field(gt=0.0, lt=0.2, description="of the head speed, as a share of it")
    path_sd: Spread = Field(description="of the club's path")
    face_sd: Spread = Field(description="of where the face points")
    attack_sd: Spread = Field(description="of the angle of attack")
    loft_sd: Spread = Field(description="of the dynamic loft")
    driver_toe_sd: StrikeSpread = Field(description="strike heel to toe")
    driver_up_sd: StrikeSpread = Field(description="strike low to high")
    iron_toe_sd: StrikeSpread = Field(description="strike heel to toe")
    iron_edge_sd: StrikeSpread = Field(description="height of the leading edge above the mat")
    path_mean: Bias = Field(0.0, description="bias of the path, + right")
    face_mean: Bias = Field(0.0, description="bias of the face, + right")
    iron_loft_taken: Bias = Field(description="loft less dynamic loft, with irons and wedges")
    tail_nu: float = Field(gt=2.0, le=200.0, description="Student's nu: the smaller, the more bad misses")


Swing = Literal["full", "half", "chip"]
# Share of the full head speed: judgement, no source.
SWING_SPEED: dict[str, float] = {"full": 1.0, "half": 0.6, "chip": 0.3}
# Means by club, judgement, no source: attack angle and dynamic loft over the club's loft, deg.
ATTACK_MEAN_DEG = {"driver": 0.0, "wood": -2.0, "iron": -4.0, "wedge": -4.0}
DRIVER_LOFT_ADDED_DEG = 2.0


@cache
def shipped_player(name: str) -> Player:
    """A shipped player. Raises KeyError."""
    return Player.model_validate_json(json.dumps(shipped_data("flightsim.shots", "players")[name]), strict=True)


def player_names() -> tuple[str, ...]:
    """Names of the shipped players."""
    return tuple(shipped_data("flightsim.shots", "players"))


def dynamic_loft(player: Player, club: Club) -> float:
    """Mean elevation of the face's normal at impact, rad."""
    if club.kind == "driver":
        return float(club.loft + radians(DRIVER_LOFT_ADDED_DEG))
    if club.kind == "wood":
        return float(club.loft)
    return max(float(club.loft - player.iron_loft_taken), LEAST_LOFT)
