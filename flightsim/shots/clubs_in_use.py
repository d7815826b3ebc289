"""The hands and clubs that a scenario's shots are hit with, whichever section says so."""

from __future__ import annotations

from collections.abc import Iterable

from flightsim.scenario.reading.models import Scenario
from flightsim.strike.clubs import club_names, shipped_club

INCH = 0.0254
Bag = tuple[tuple[str, float], ...]  # clubs with their lengths, m

# What is taken where no length is known: lengths of the trade (common practice, no source).
PLAIN_BAG: Bag = (("driver", 45.0 * INCH), ("mid iron", 37.0 * INCH), ("wedge", 35.5 * INCH))


def hands_in_use(scenario: Scenario) -> list[str]:
    """`right`, `left` or both, right first; right where no shots are given."""
    for shots in scenario.entries("shots"):
        return sorted({player.hand for player in shots.players}, reverse=True)
    if any(measured.as_hit for measured in scenario.entries("measured")):
        return ["right", "left"]
    hands = [shots.hand for key in ("measured", "launches") for shots in scenario.entries(key)]
    return hands or ["right"]


def clubs_in_use(scenario: Scenario) -> Bag:
    """The clubs of the shots, longest first, one of each length; a plain bag where some have no known length."""
    for shots in scenario.entries("shots"):
        return one_a_length((entry.club, shots.club(entry.club).length) for entry in shots.clubs)
    known = known_clubs(scenario)
    named = [name for launches in scenario.entries("launches") for name in launches.use or ()]
    named += [strike.club for launches in scenario.entries("launches") for strike in launches.types]
    plain = [name.replace("_", " ") for name in named]
    if not plain or any(name not in known for name in plain):
        return PLAIN_BAG
    return one_a_length((name, known[name]) for name in plain)


def known_clubs(scenario: Scenario) -> dict[str, float]:
    """Lengths, m, of all clubs with a name here: the scenario's own, the shipped ones, and the plain bag's others."""
    own = {name: club.length for shots in scenario.entries("shots") for name, club in shots.own_clubs.items()}
    shipped = {name: float(shipped_club(name).length) for name in club_names()}
    return {**dict(PLAIN_BAG), **shipped, **own}


def one_a_length(clubs: Iterable[tuple[str, float]]) -> Bag:
    """Longest first; of several of one length the first."""
    by_length: dict[float, str] = {}
    for name, length in clubs:
        by_length.setdefault(length, name)
    return tuple((by_length[length], length) for length in sorted(by_length, reverse=True))
