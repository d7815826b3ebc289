"""One player's strikes with one club in words: the title and the table of strike classes."""

from __future__ import annotations

from math import degrees

import numpy as np

from flightsim.report.words.common_words import percent
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.display import Display
from flightsim.study.single.strike_mix import StrikeMix

_RPM = 60.0 / (2.0 * np.pi)
PLAYER_WORDS = {
    "low": "low-handicap player",
    "mid": "mid-handicap player",
    "high": "high-handicap player",
    "slow": "slow swinger",
    "junior": "junior",
}
WEAK_LINES = (
    "Shares of miss-hits are an order of magnitude: no published rates exist,",
    "and the thresholds are judgements.",
)


def mix_title(mix: StrikeMix) -> str:
    """Whose strikes these are, and with what."""
    order = mix.order
    player = PLAYER_WORDS.get(order.player, f"{order.player} player")
    return f"{player}{', left-handed,' if order.left else ''} with a {order.club}"


def mix_terms(mix: StrikeMix) -> str:
    """On what terms."""
    order = mix.order
    words = [f"{order.swing} swing", "normal tails" if order.tails == "gaussian" else f"{order.tails} Student t tails"]
    if order.bad_day != 1.0:
        words.append(f"a bad day: odds of a miss times {order.bad_day:g}")
    return ", ".join(words)


def mix_lines(mix: StrikeMix, units: str) -> list[str]:
    """A table of the classes: share, and medians of the launches, in the user's units."""
    lines = [
        f"{mix_title(mix)}: {mix_terms(mix)}",
        "",
        f"{'strike':<8} {'share':>9}  {'ball speed':>10}  {'up':>9}  {'left-right':>16}  {'backspin':>10}",
    ]
    for word, share, speed, up, side, spin in mix_rows(mix, units):
        lines.append(f"{word:<8} {share:>9}  {speed:>10}  {up:>9}  {side:>16}  {spin:>10}")
    return [*lines, "", medians_words(mix), " ".join(WEAK_LINES)]


def mix_rows(mix: StrikeMix, units: str) -> list[tuple[str, str, str, str, str, str]]:
    """The word and share of each class, and medians of ball speed, up and left-right angle, and backspin."""
    scale, unit = Display("imperial" if units == "imperial" else "metric").speed_axis
    return [
        (strike_class.word, percent(strike_class.share), f"{float(np.median(strike_class.speed)) * scale:.1f} {unit}",
         f"{degrees(np.median(strike_class.elevation)):.1f} deg", _sided(degrees(np.median(strike_class.azimuth))),
         f"{round(float(np.median(strike_class.backspin)) * _RPM):,} rpm")
        for strike_class in mix.classes
    ]  # fmt: skip


def medians_words(mix: StrikeMix) -> str:
    """How many strikes the medians are of."""
    return f"Medians of {len(mix.classes[-1].speed):,} strikes of each class, seed {mix.order.seed}."


def mix_table(mix: StrikeMix, units: str) -> Table:
    """The rows of the classes as a table."""
    head = ("strike", "share", "ball speed", "up", "left-right", "backspin")
    return Table("", head, tuple(mix_rows(mix, units)), frozenset(range(1, 6)), medians_words(mix))


def _sided(degs: float) -> str:
    if abs(degs) < 0.05:
        return "straight"
    return f"{abs(degs):.1f} deg {'right' if degs > 0.0 else 'left'}"
