"""One `strike` from order to answer: the launch, or a player's strikes, on the terminal and as files where asked."""

from __future__ import annotations

from collections.abc import Callable

import click

from flightsim.jobs.print_json import print_json
from flightsim.report.words.strike_words import mix_lines
from flightsim.study.single.one_strike import OneStrike, Struck, strike_lines, strike_once
from flightsim.study.single.strike_mix import MixOrder, StrikeMix, mix_data, strike_mix


def strike_one_and_report(
    order: OneStrike, units: str, as_json: bool, write: Callable[[Struck], str] | None = None
) -> None:
    """The launch of one strike. write: its page and what goes with it; says where it is."""
    struck = strike_once(order)
    where = "" if write is None else write(struck)
    if as_json:
        print_json(struck.numbers)
    else:
        _tell(strike_lines(struck, order, units), where)


def strike_many_and_report(
    order: MixOrder, units: str, as_json: bool, write: Callable[[StrikeMix], str] | None = None
) -> None:
    """A player's strikes with one club. write: as above."""
    mix = strike_mix(order)
    where = "" if write is None else write(mix)
    if as_json:
        print_json(mix_data(mix))
    else:
        _tell(mix_lines(mix, units), where)


def _tell(lines: list[str], where: str) -> None:
    click.echo("\n".join(lines))
    if where:
        click.echo(where)
