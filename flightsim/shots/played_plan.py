"""The plan of a scenario's `shots`: one stratum for each player, club, strike class and tee spot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flightsim.flight.ball import Ball
from flightsim.shots.played_strata import DIMS, Stratum, launch_numbers, strata
from flightsim.shots.shot_table import ShotTable, ShotType, kinds_of, weights_of
from flightsim.shots.shots_section import ClubEntry, PlayerEntry, Shots
from flightsim.shots.tails import Tails
from flightsim.shots.typed_plan import Draw, Spot
from flightsim.strike.classes import StrikeClass, Thresholds

Array = NDArray[np.float64]
LEAST_SHARE = 1.0e-9  # of all shots: rarer strata are left out, which is told; no run could see them matter

# mat to the ball's underside, m: judgement
TEE_HEIGHT = {"driver": 0.040, "wood": 0.010, "iron": 0.0, "wedge": 0.0}
CLASS_WORDS = {StrikeClass.FACE: "clean", StrikeClass.SKY: "skied", StrikeClass.TOP: "topped"}


@dataclass(frozen=True)
class Place:
    """A stratum at a tee spot: its ball's height on the tee, m, and the player's hand, 1 right, -1 left."""

    stratum: Stratum
    spot: Spot
    tee_height: float
    hand: float


@dataclass(frozen=True)
class PlayedPlan:
    """How played shots are drawn; the same questions as a ShotPlan's.

    left_out: labels and shares of the strata that are too rare to be flown.
    """

    types: tuple[ShotType, ...]
    places: tuple[Place, ...]
    spots: tuple[Spot, ...]
    tails: Tails
    thresholds: Thresholds
    ground_height: float
    ball: Ball
    left_out: tuple[tuple[str, float], ...] = ()
    sampled: bool = True
    grid_size: int = 0

    def weights(self, n: int) -> Array:
        """Share of each of n shots `(n,)`, adding to 1."""
        return weights_of(self.types, n)

    def draw(self, draw: Draw, first: int, count: int) -> ShotTable:
        """Shots first..first+count-1, of the types of kinds_of."""
        kind = kinds_of(self.types, np.arange(first, first + count))
        u = draw("strike", DIMS)
        table = ShotTable.empty(count)
        for k, place in enumerate(self.places):
            own = np.flatnonzero(kind == k)
            self._fill(table, place, own, u[:, own])
        table.type[:] = kind
        return table

    def _fill(self, table: ShotTable, place: Place, own: NDArray[np.intp], u: Array) -> None:
        on_mat = place.tee_height == 0.0
        speed, elevation, azimuth, rate, tilt, along = launch_numbers(
            place.stratum, self.tails, self.thresholds, on_mat, self.ball, u
        )
        height = self.ground_height + self.ball.radius + place.tee_height
        table.start[:, own] = np.array([[place.spot[2]], [place.spot[3]], [height]])
        table.ball_speed[own], table.elevation[own] = speed, elevation
        table.azimuth[own] = place.hand * azimuth
        table.spin_rate[own], table.spin_tilt[own] = rate, place.hand * tilt
        table.spin_along[own] = place.hand * along


def plan_played(shots: Shots, spots: Sequence[Spot], ground_height: float, ball: Ball) -> PlayedPlan:
    """The plan of a `shots` section. spots: (name, share, x, y) of each tee spot, m."""
    every = all_strata(shots, spots, ball)
    found = [(kind, place) for kind, place in every if kind.share >= LEAST_SHARE]
    total = sum(kind.share for kind, _ in found)
    types = tuple(replace(kind, share=kind.share / total) for kind, _ in found)
    places = tuple(place for _, place in found)
    rare = tuple((kind.label, kind.share) for kind, _ in every if kind.share < LEAST_SHARE)
    return PlayedPlan(types, places, tuple(spots), shots.tails, shots.thresholds, ground_height, ball, rare)


def all_strata(shots: Shots, spots: Sequence[Spot], ball: Ball) -> list[tuple[ShotType, Place]]:
    """Every stratum with its share of all shots, the rarest included."""
    return [
        row for player in shots.players for club in shots.clubs for row in _of_pair(shots, player, club, spots, ball)
    ]


def _of_pair(
    shots: Shots, entry: PlayerEntry, club_entry: ClubEntry, spots: Sequence[Spot], ball: Ball
) -> list[tuple[ShotType, Place]]:
    player, club = shots.player(entry.player), shots.club(club_entry.club)
    tee = TEE_HEIGHT[club.kind] if club_entry.tee_height is None else float(club_entry.tee_height)
    hand = 1.0 if entry.hand == "right" else -1.0
    rows = []
    for stratum in strata(player, club, club_entry.swing, shots.tails, shots.thresholds, shots.bad_day, ball):
        strike = CLASS_WORDS.get(stratum.cell.strike_class, str(stratum.cell.strike_class))
        for spot in spots:
            share = entry.share * club_entry.share * stratum.share * spot[1]
            label = _label(shots, entry, club_entry, strike, spot if len(spots) > 1 else None)
            kind = ShotType(label, club_entry.club, strike, spot[0], share, entry.hand, entry.player)
            rows.append((kind, Place(stratum, spot, tee, hand)))
    return rows


def _label(shots: Shots, entry: PlayerEntry, club_entry: ClubEntry, strike: str, spot: Spot | None) -> str:
    """Club and strike; the player, hand, swing and spot only where there are several."""
    words = [club_entry.club, strike]
    if club_entry.swing != "full":
        words.insert(1, f"({club_entry.swing})")
    if len(shots.players) > 1:
        words.insert(0, f"{entry.player}{' left' if entry.hand == 'left' else ''}")
    if spot is not None:
        words.append(f"from {spot[0]}")
    return " ".join(words)
