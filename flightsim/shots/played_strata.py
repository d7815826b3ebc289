"""Shots that players play: strata of player, club and strike class, each sampled within its cell of strike points."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, sqrt

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.ball import LEGAL_BALL, Ball
from flightsim.shots.players import (
    ATTACK_MEAN_DEG,
    FACE_PATH_CORRELATION,
    SWING_SPEED,
    Player,
    Swing,
    dynamic_loft,
)
from flightsim.shots.tails import Law, Span, Tails
from flightsim.strike.classes import Cells, StrikeClass, Thresholds, cells, strike
from flightsim.strike.clubs import Club
from flightsim.strike.delivery import Delivery
from flightsim.strike.edges import mean_edge
from flightsim.strike.mat_bounce import bounce_off_mat

Array = NDArray[np.float64]
DIMS = 8  # uniforms a shot: toe, height, factor, path, face, attack, loft, speed


@dataclass(frozen=True)
class Stratum:
    """One strike class of one player with one club. share: its part of that player's strikes with that club."""

    player: Player
    club: Club
    swing: Swing
    cell: Cells
    share: float


def strata(
    player: Player, club: Club, swing: Swing, tails: Tails, thresholds: Thresholds, bad_day: float, ball: Ball
) -> tuple[Stratum, ...]:
    """The strike classes of a player and club, with their shares; `bad_day` multiplies the odds of a miss."""
    law = tails.law(player.tail_nu)
    found = cells(club, dynamic_loft(player, club), thresholds, ball)
    weights = np.array([law.weight(*_scores(player, club, cell, ball)) for cell in found])
    # Odds are a ratio: all misses that many times as heavy, and the whole brought back to 1.
    weights[[cell.strike_class is not StrikeClass.FACE for cell in found]] *= bad_day
    weights /= weights.sum()
    return tuple(
        Stratum(player, club, swing, cell, float(weight))
        for cell, weight in zip(found, weights, strict=True)
        if weight > 0
    )


def _spread(player: Player, club: Club, ball: Ball) -> tuple[float, float, float]:
    """Mean height, and standard deviations of toe and height, m."""
    if club.kind == "driver":
        return 0.0, player.driver_toe_sd, player.driver_up_sd
    return float(mean_edge(dynamic_loft(player, club), ball)), player.iron_toe_sd, player.iron_edge_sd


def _scores(player: Player, club: Club, cell: Cells, ball: Ball) -> tuple[Span, Span]:
    """A cell in standard scores."""
    height, toe_sd, height_sd = _spread(player, club, ball)
    toe = (cell.toe[0] / toe_sd, cell.toe[1] / toe_sd)
    return toe, ((cell.height[0] - height) / height_sd, (cell.height[1] - height) / height_sd)


def deliveries(stratum: Stratum, tails: Tails, u: Array, ball: Ball = LEGAL_BALL) -> Delivery:
    """Deliveries of a stratum from uniforms `(DIMS, n)`.

    Face and path have their correlation as normal scores. The head speed has normal tails.
    """
    from scipy.special import ndtri

    player, club = stratum.player, stratum.club
    law: Law = tails.law(player.tail_nu)
    toe, height, factor = law.draw(*_scores(player, club, stratum.cell, ball), u[:3])
    mean_height, toe_sd, height_sd = _spread(player, club, ball)
    path, face, attack, loft, speed = ndtri(u[3:])
    face = FACE_PATH_CORRELATION * path + sqrt(1.0 - FACE_PATH_CORRELATION**2) * face
    path, face, attack, loft = (law.other(score, factor) for score in (path, face, attack, loft))
    head_speed = player.driver_speed * club.speed_of_driver * SWING_SPEED[stratum.swing]
    met = mean_height + height_sd * height
    return Delivery(
        speed=head_speed * np.maximum(1.0 + player.speed_sd * speed, 0.1),
        attack=radians(ATTACK_MEAN_DEG[club.kind]) + player.attack_sd * attack,
        path=player.path_mean + player.path_sd * path,
        face=player.face_mean + player.face_sd * face,
        loft=np.clip(dynamic_loft(player, club) + player.loft_sd * loft, radians(1.0), radians(85.0)),
        toe=toe_sd * toe,
        up=met if club.kind == "driver" else np.zeros_like(met),
        edge=np.zeros_like(met) if club.kind == "driver" else met,
    )


def launch_numbers(
    stratum: Stratum, tails: Tails, thresholds: Thresholds, on_mat: bool, ball: Ball, u: Array
) -> tuple[Array, ...]:
    """Ball speed, elevation, azimuth, spin rate, spin tilt and spin along the path, each `(n,)`, SI.

    on_mat: a ball struck downward bounces off the mat at once; a teed ball falls onto it by its flight.
    """
    blow = strike(stratum.cell.strike_class, stratum.club, deliveries(stratum, tails, u, ball), thresholds, ball)
    velocity, spin = bounce_off_mat(blow.velocity, blow.spin, ball) if on_mat else (blow.velocity, blow.spin)
    return golfers_numbers(velocity, spin)


def golfers_numbers(velocity: Array, spin: Array) -> tuple[Array, ...]:
    """Speed, elevation, azimuth (+ right), spin rate, tilt (+ right), and spin along the path, of `(3, n)` vectors."""
    speed = np.sqrt((velocity**2).sum(axis=0))
    along = velocity / np.maximum(speed, 1.0e-300)
    elevation = np.arctan2(velocity[2], np.hypot(velocity[0], velocity[1]))
    azimuth = np.arctan2(-velocity[1], velocity[0])
    right = np.stack([-np.sin(azimuth), -np.cos(azimuth), np.zeros_like(azimuth)])
    up = np.cross(right, along, axis=0)
    back, side = (spin * right).sum(axis=0), -(spin * up).sum(axis=0)
    # Rate keeps the sign of the backspin, so that a topped ball has topspin and a small tilt.
    sign = np.where(back < 0.0, -1.0, 1.0)
    rate = sign * np.hypot(back, side)
    tilt = np.arctan2(sign * side, sign * back)
    return speed, elevation, azimuth, rate, tilt, (spin * along).sum(axis=0)
