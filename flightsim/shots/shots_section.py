"""The `shots` section: players and clubs, from whose strikes the launches follow."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum
from typing import TYPE_CHECKING, Annotated, Any, Literal, TypeAlias

from pydantic import AfterValidator, Field

from flightsim.scenario.reading.asking import Asks, Draft
from flightsim.scenario.reading.models import Model, Section
from flightsim.scenario.reading.quantities import quantity, refusal
from flightsim.shots.players import Player, Swing, player_names, shipped_player
from flightsim.shots.tails import Tails
from flightsim.strike.classes import Thresholds
from flightsim.strike.clubs import Club, club_names, shipped_club

Share = Annotated[float, Field(gt=0.0, le=1.0)]
if TYPE_CHECKING:
    TeeHeight: TypeAlias = float
else:
    TeeHeight = quantity("length", least=0.0, most=0.15)
_SHARES_TOLERANCE = 1e-9
CLUBS = ("driver", "7-iron", "sand wedge")  # what a new file offers
USUAL = "usual"
_KINDS = (
    "Kinds differ in head speed and in how far their strikes stray: tour is a professional, low, mid and high are club "
    "players, slow one with a slow swing, junior a child."
)
_ALSO_PLAYERS = {
    "pro": "tour", "professional": "tour", "scratch": "low", "average": "mid", "medium": "mid", "middle": "mid",
    "beginner": "high", "novice": "high", "senior": "slow", "child": "junior", "kid": "junior", "children": "junior",
}  # fmt: skip
_ALSO_CLUBS = {
    "dr": "driver", "1w": "driver", "1-wood": "driver", "pw": "pitching wedge", "gw": "gap wedge", "aw": "gap wedge",
    "approach wedge": "gap wedge", "sw": "sand wedge", "lw": "lob wedge", "rescue": "hybrid", "hy": "hybrid",
}  # fmt: skip


class PlayerEntry(Model):
    """One player of the bay."""

    player: str = Field(description="tour, low, mid, high, slow, junior, or a name of `own_players`")
    share: Share = Field(1.0, description="part of the shots; all add to 1; default 1")
    hand: Literal["right", "left"] = Field("right", description="a left-hander is the mirror of a right-hander")


class ClubEntry(Model):
    """One club that is used."""

    club: str = Field(description="driver ... lob wedge, or a name of `own_clubs`")
    share: Share = Field(description="part of each player's shots; all add to 1")
    swing: Swing = Field("full", description="full, half or chip: at 1, 0.6, 0.3 of the head speed (judgement)")
    tee_height: TeeHeight | None = Field(
        None, description="mat to the ball's underside; default 40 mm with a driver, 10 mm with woods, else 0"
    )


def _add_to_one(entries: tuple[PlayerEntry, ...] | tuple[ClubEntry, ...]) -> Any:
    total = fsum(entry.share for entry in entries)
    if abs(total - 1.0) > _SHARES_TOLERANCE:
        fix = ", ".join(f"share: {entry.share / total:.6g}" for entry in entries)
        raise refusal(f"the shares add to {total:.12g}", "shares that add to 1", fix)
    return entries


Whole = AfterValidator(_add_to_one)


class Shots(Model):
    """Who plays, and with what. The launches are computed from how the club meets the ball."""

    players: Annotated[tuple[PlayerEntry, ...], Field(min_length=1), Whole] = Field(
        description="who plays, each with a share"
    )
    clubs: Annotated[tuple[ClubEntry, ...], Field(min_length=1), Whole] = Field(
        description="with what, each with a share"
    )
    bad_day: float = Field(1.0, ge=1.0, le=100.0, description="multiplies the odds of a miss; misses cluster: 10 to 20")
    tails: Tails = Tails()
    thresholds: Thresholds = Thresholds()
    own_players: dict[str, Player] = Field(default_factory=dict, description="players of your own, by name")
    own_clubs: dict[str, Club] = Field(default_factory=dict, description="clubs of your own, by name")

    def player(self, name: str) -> Player:
        """A player of this name: the scenario's own, or a shipped one."""
        return self.own_players[name] if name in self.own_players else shipped_player(name)

    def club(self, name: str) -> Club:
        """A club of this name: the scenario's own, or a shipped one."""
        return self.own_clubs[name] if name in self.own_clubs else shipped_club(name)


def ask_shots(ask: Asks, draft: Draft) -> dict[str, Any] | None:
    """The questions of `shots` in a new file: what kinds of player, and which clubs, each as often.

    For one hand there is also the usual mix of shots, which `launches` asks about.
    """
    hands = draft.facts.get("hands") or ("right",)
    usual = (USUAL,) if len(hands) == 1 else ()
    kinds_said = "low, mid and high are handicaps; several with commas between"
    question = (
        f"How good is who hits: the usual mix of shots, or kinds of player; {kinds_said}"
        if usual
        else (f"What kinds of player hit; {kinds_said}")
    )
    mix = "usual: a driver, a middle iron and a wedge with their usual misses. " if usual else ""
    about = f"{mix}{_KINDS}"
    kinds = ask.several(question, (*usual, *player_names()), ((*usual, "mid")[0],), about, _ALSO_PLAYERS)
    if kinds == usual:
        return None
    kinds = tuple(kind for kind in kinds if kind != USUAL)
    about = "Each is hit as often as the others; shares can be set in the file."
    clubs = ask.several("Clubs", club_names(), CLUBS, about, also_clubs(club_names()))
    played = [(kind, hand) for kind in kinds for hand in hands]
    return {
        "players": [
            {"player": kind, "share": each, "hand": hand}
            for (kind, hand), each in zip(played, _alike(len(played)), strict=True)
        ],
        "clubs": [{"club": club, "share": each} for club, each in zip(clubs, _alike(len(clubs)), strict=True)],
    }


def also_clubs(names: Sequence[str]) -> dict[str, str]:
    """What golfers write for clubs of these names, each with the name: `pw`, `7i`, `3w`."""
    short = {f"{name[0]}{name[2]}": name for name in names if name[:1].isdecimal() and name[1:2] == "-"}
    return {word: club for word, club in {**_ALSO_CLUBS, **short}.items() if club in names}


def _alike(count: int) -> list[float]:
    """Shares of so many that are played as often as one another."""
    share = [round(1.0 / count, 6)] * (count - 1)
    return [*share, round(1.0 - sum(share), 6)]


SHOTS_SECTION = Section("shots", Shots, "Players and clubs", owner="strike", order=890, ask=ask_shots)
