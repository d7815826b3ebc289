"""The pages of one strike and of a player's strikes: what the club does to the ball, and what says so."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from flightsim import __version__
from flightsim.report.pages.frame import Section, page, picture
from flightsim.report.words.common_words import percent
from flightsim.report.words.plain_table import Table
from flightsim.report.words.strike_sources import HOW_GOOD, delivery_table, met_words, mix_sources, strike_sources
from flightsim.report.words.strike_words import WEAK_LINES, mix_table, mix_terms, mix_title
from flightsim.study.single.one_strike import OneStrike, Struck, strike_rows
from flightsim.study.single.strike_mix import StrikeMix

KIND = "What the club does to the ball"
READING = (
    "Left and right, up and down are as seen by who stands behind the ball. Backspin lifts it; sidespin curves it to "
    "the side that is named."
)


def strike_page(struck: Struck, order: OneStrike, units: str, drawn: Path) -> str:
    """One strike, as text. drawn: the picture on disk."""
    rows = strike_rows(struck, order, units)
    launch = Table("", (), tuple(rows), frozenset())
    values = dict(rows)
    alt = (
        f"From the side and from above: met by {values['met by']}, the ball leaves at {values['ball speed']}, "
        f"up angle {values['up angle']}, {values['left-right']}"
    )
    point = order.club is None and order.head is None and bool(order.toe or order.up)
    warning = ["A point head does not turn: where on the face the ball is met changes nothing."] if point else []
    sections = [
        Section("The launch", warning, [launch], [picture(drawn, "The strike", alt=alt, width=9.0)]),
        Section("How the club came to it", [met_words(struck)], [delivery_table(order, units)]),
        Section("How far to believe it, and whom", [HOW_GOOD, READING], [strike_sources(struck, order)]),
    ]
    club = order.club or ("a head of your own" if order.head else "a point head")
    return page(f"A strike with {_article(club)}", sections, kind=KIND, facts=_facts())


def mix_page(mix: StrikeMix, units: str, drawn: Path) -> str:
    """A player's strikes with one club, as text. drawn: the picture on disk."""
    title = f"Strikes of a {mix_title(mix)}"
    shares = (
        "Of all strikes "
        + ", ".join(f"{percent(strike_class.share)} are {strike_class.word}" for strike_class in mix.classes)
        + "."
    )
    sections = [
        Section("The strikes, the most frequent first", [shares, f"Taken: {mix_terms(mix)}."], [mix_table(mix, units)],
                [picture(drawn, "Where the ball is met, and where it goes", alt=shares, width=_INCHES)]),
        Section("How far to believe it, and whom", [" ".join(WEAK_LINES), HOW_GOOD, READING], [mix_sources()]),
    ]  # fmt: skip
    return page(title, sections, kind=KIND, facts=(*_facts(), f"seed {mix.order.seed}"))


_INCHES = 9.5  # that the picture of a player's strikes is wide


def _facts() -> tuple[str, ...]:
    return date.today().isoformat(), f"flightsim {__version__}"


def _article(club: str) -> str:
    return club if club.startswith("a ") else f"{'an' if club[0] in 'aeio8' else 'a'} {club}"
