"""What a strike rests on: how it was delivered, the sources of its numbers (docs/sources.md), and how far they go."""

from __future__ import annotations

from math import degrees

from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.display import Display
from flightsim.strike.classes import StrikeClass
from flightsim.study.single.one_strike import CLASS_WORDS, OneStrike, Struck, loft_of

HOW_GOOD = (
    "A full shot's ball speed is good to about 3 %, its launch to 1 deg, the spin of irons to 10 %, that of drivers "
    "only to 35 to 40 %. A miss-hit's numbers are worse: its restitution is common practice, its levers are judgement."
)
BETWEEN = (
    "A ball leaves between the way of the head and where the face points, nearer to the face. What lies between the "
    "two is the obliquity: the more of it, the more spin and the less speed."
)
IMPACT = ("the impact", "two rigid bodies, one impulse, restitution and friction: Stronge 2000, ch. 3-4; Penner 2003",
          "memory; a head-on strike read")  # fmt: skip
BALL = ("the ball", "USGA and R&A, Equipment Rules", "read")
CLUB = ("mass and moments of the head", "usual clubs; limits in the rules", "memory and practice; limits read")
POINT = ("the head", "a point that does not turn, as given", "no club in particular")
FACE = ("restitution and friction of the face", "limit in the rules; slope by speed; a wedge test",
        "limit read, slope practice, friction computed")  # fmt: skip
EDGES = ("edges, crown and hosel", "restitution 0.55 to 0.75, +-0.15; levers and a cap of 75 deg",
         "practice; levers judgement")  # fmt: skip
BORDERS = ("which class a strike is", "heel, toe and height where one class ends and the next begins", "judgement")
MAT = ("a ball struck down into the mat", "Cross 2002; restitution of turf after Penner", "memory")
PLAYER = ("a player's scatter", "computed, calibrated to dispersion tables; no published rates of miss-hits exist",
          "tables read; rates judgement")  # fmt: skip
TAILS = ("how often a miss comes", "Student's t, since normal tails are wrong: Ko 2012", "read")
NOTE = "How we know it: read in the source itself, from memory, common practice without a source, or our judgement."


def met_words(struck: Struck) -> str:
    """Between what a ball leaves, or that it was not the face that met it."""
    if struck.strike_class is StrikeClass.FACE:
        return BETWEEN
    return f"The ball was met by {CLASS_WORDS[struck.strike_class]}. Where the face points says little of such a ball."


def strike_sources(struck: Struck, order: OneStrike) -> Table:
    """Every source that this one strike leans on."""
    club = order.club is not None
    rows = [IMPACT, BALL, CLUB if club or order.head is not None else POINT, FACE]
    rows += [BORDERS] if club else []
    rows += [EDGES] if club and struck.strike_class is not StrikeClass.FACE else []
    rows += [MAT] if struck.bounced else []
    return _table(rows)


def mix_sources() -> Table:
    """Every source that a player's strikes lean on."""
    return _table([PLAYER, TAILS, BORDERS, IMPACT, CLUB, FACE, EDGES, MAT, BALL])


def _table(rows: list[tuple[str, str, str]]) -> Table:
    return Table("", ("what", "source", "how we know it"), tuple(rows), frozenset(), NOTE)


def delivery_table(order: OneStrike, units: str) -> Table:
    """How the club came to the ball: what, how much, and who said so."""
    display = Display("imperial" if units == "imperial" else "metric")
    club = f"the {order.club}" if order.club else "a head of your own" if order.head else "a point"
    rows = [
        ("club", club, "given" if order.club or order.head else "nothing else was said"),
        ("head speed", display.speed(order.club_speed), "given"),
        ("loft at impact", f"{degrees(loft_of(order)):.1f} deg", "given" if order.loft is not None else "the club's"),
        *_angles(order),
        ("toward the toe", display.to_cut(order.toe), _said(order.toe)),
        ("above the middle of the face", display.to_cut(order.up), _said(order.up)),
    ]
    if order.edge_height is not None:
        rows[-1] = ("leading edge above the mat", display.to_cut(order.edge_height), "given")
    hand = "left-handed: all is mirrored" if order.left else ""
    return Table("", ("what", "how much", ""), tuple(rows), frozenset(), hand)


def _angles(order: OneStrike) -> list[tuple[str, str, str]]:
    named = (("way of the head, up", order.attack), ("way of the head, to the right", order.path),
             ("where the face points, to the right", order.face))  # fmt: skip
    return [(name, f"{degrees(angle):.1f} deg", _said(angle)) for name, angle in named]


def _said(value: float) -> str:
    return "given" if value else "default"
