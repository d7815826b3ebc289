"""What is told in rows, once for the terminal and the page: outcomes, flags, places, people, failures, assumptions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flightsim import __version__
from flightsim.contact.facings import shipped_facings
from flightsim.contact.fates import Flag, Outcome
from flightsim.contact.surroundings import FRAGILE
from flightsim.report.words.common_words import (
    ESCAPE_WORDS,
    FLAG_WORDS,
    NOBODY,
    NOT_COMPUTED,
    ONLY_HITTERS,
    OUTCOME_WORDS,
    SHORT_WORDS,
    as_legal,
    at_worst,
    bands_words,
    bound,
    fastest,
    one_in,
    per_thousand,
    percent,
    seen,
    seen_in_all,
)
from flightsim.report.words.plain_table import Table
from flightsim.scenario.reading.display import INCH, Display
from flightsim.scenario.reading.harm import TOLD_SPEEDS
from flightsim.study.run.find_troubles import persons, rate_of, source_of, zones_of
from flightsim.study.run.rates import ESCAPE
from flightsim.study.run.result import Rate, RunResult
from flightsim.study.run.run_files import places

Array = NDArray[np.float64]
Index = NDArray[np.intp]
NO_BOUND = "no bound"
LEAST_SHOWN = 0.01  # a lower bound under one in a hundred says nothing
HEAD, BELOW = "head", "below"
SHOWN_SPEEDS = (10.0, 40.0)  # m/s at which the table of faces shows what comes back


def outcome_table(result: RunResult) -> Table:
    """All shots together, each counted once by the worst that became of it."""
    rows = [_outcome_row(outcome, result) for outcome in Outcome]
    past = result.rates.total[ESCAPE]
    rows.append((f"in all: {ESCAPE_WORDS}", f"{past.count:,}", _share(past), bound(past)))
    head = ("the ball", "shots", "share of balls" if result.sampled else "share of grid", "bound")
    title = f"What became of {len(result.shots):,} shots: each counted once, by its worst"
    return Table(title, head, tuple(rows), frozenset({1, 2}))


def _outcome_row(outcome: Outcome, result: RunResult) -> tuple[str, ...]:
    shots = result.which(outcome)
    weighted, upper = rate_of(result, shots)
    most = result.rates.total[outcome.key].upper  # of the flag, which counts all of these
    upper = None if upper is None or most is None else min(upper, most)
    rate = Rate(int(shots.size), len(result.shots), weighted, None, upper)
    row = (OUTCOME_WORDS[outcome], f"{rate.count:,}", _share(rate))
    if outcome.escape or upper is None:
        return (*row, bound(rate))
    lower = result.rates.total[outcome.key].lower or 0.0
    return (*row, f"at least {percent(lower)}" if lower >= LEAST_SHOWN else "")


def _share(rate: Rate) -> str:
    return percent(rate.rate) if rate.count else "none seen"


def flags_table(result: RunResult) -> Table:
    """All that went wrong: a ball counts in every row that applies."""
    total, show = result.rates.total, Display(result.scenario.units)
    rows = []
    for flag in Flag:
        rate = total[flag.key]
        speed = show.speed(fastest(result, flag)) if rate.count else ""
        rows.append(_flag_row(FLAG_WORDS[flag], rate, speed))
    rows.append(_flag_row(f"any: {ESCAPE_WORDS}", total[ESCAPE], ""))
    head = ("the ball", "shots", "as seen", "bound", "fastest")
    return Table("What went wrong: a ball counts in each row that applies", head, tuple(rows), frozenset({1, 4}))


def _flag_row(words: str, rate: Rate, speed: str) -> tuple[str, ...]:
    return (words, f"{rate.count:,}", "" if rate.upper is None else seen_in_all(rate), bound(rate), speed)


def worst_first(result: RunResult) -> list[int]:
    """Shot types by how many of all balls they send past the protection, most first."""
    sent = [kind.share * rates[ESCAPE].rate for kind, rates in zip(result.types, result.rates.by_type, strict=True)]
    return sorted(range(len(sent)), key=lambda k: (-sent[k], k))


def type_table(result: RunResult) -> Table:
    """Each shot type: how often it is played, and how often it got past the protection."""
    rows = []
    for k in worst_first(result):
        kind, past = result.types[k], result.rates.by_type[k][ESCAPE]
        worst = NO_BOUND if past.upper is None else at_worst(past.upper)
        rows.append(
            (kind.label, percent(kind.share), f"{past.shots:,}", f"{past.count:,}", seen(past, result.sampled), worst)
        )
    head = ("shot type", "played", "shots", "got past", "as seen", "at worst")
    title = "Shot types, by how many balls they send past" if result.sampled else "The grid, by tee spot"
    return Table(title, head, tuple(rows), frozenset({1, 2, 3}))


def outcome_counts_table(result: RunResult) -> Table:
    """Each shot type's shots by outcome."""
    counts = np.zeros((len(result.types), len(Outcome)), dtype=np.intp)
    np.add.at(counts, (result.shots.type, result.outcome), 1)
    rows = [
        (kind.label, *(f"{count:,}" for count in of_group)) for kind, of_group in zip(result.types, counts, strict=True)
    ]
    head = ("shot type", *(SHORT_WORDS[outcome] for outcome in Outcome))
    title = "Shots by type, each counted once by its worst"
    return Table(title, head, tuple(rows), frozenset(range(1, len(head))))


def worst_words(result: RunResult) -> str:
    """Which shot types send most of what got past the protection."""
    total = result.rates.total[ESCAPE]
    if not total.count or not result.sampled:
        return ""
    sources = []
    for k in worst_first(result)[:3]:
        part = result.types[k].share * result.rates.by_type[k][ESCAPE].rate / total.rate if total.rate > 0.0 else 0.0
        if part > 0.0:
            sources.append(
                f"{result.types[k].label} ({percent(part)} of them)" if part < 1.0 else result.types[k].label
            )
    return f"Of the balls that {ESCAPE_WORDS}, most come from: {', '.join(sources)}." if sources else ""


def where_table(result: RunResult, most: int | None = None) -> Table:
    """What went wrong where, and how fast at most; `most` rows, the rest in one."""
    show = Display(result.scenario.units)
    order = {flag.key: flag for flag in Flag}
    rows = sorted(places(result), key=lambda row: (order[row["flag"]], -row["share"]))
    shown, rest = (rows, []) if most is None or len(rows) <= most + 1 else (rows[:most], rows[most:])
    cells = [(FLAG_WORDS[order[row["flag"]]], row["place"], *_where_numbers([row], show)) for row in shown]
    if rest:
        cells.append((f"{len(rest)} more", "", *_where_numbers(rest, show)))
    of = "in 1,000 balls" if result.sampled else "in 1,000 grid shots"
    head = ("the ball", "who or what", "shots", of, "fastest")
    note = "" if rows else f"No ball {ESCAPE_WORDS} in this run: the bounds say what that proves."
    return Table("Where it went wrong", head, tuple(cells), frozenset({2, 3, 4}), note)


def _where_numbers(rows: Sequence[dict[str, Any]], show: Display) -> tuple[str, str, str]:
    shots, share = sum(row["shots"] for row in rows), sum(row["share"] for row in rows)
    return f"{shots:,}", per_thousand(1000.0 * share), show.speed(max(row["fastest_m_s"] for row in rows))


def people_table(result: RunResult, by_part: bool = True) -> Table:
    """Who balls come to after a touch, or an onlooker at any time, at what height and from what, harm or none: how many
    of 1,000 as played at each speed or faster. by_part: a row for each part they come from.
    """
    show, rows = Display(result.scenario.units), []
    limits = np.array(TOLD_SPEEDS if by_part else TOLD_SPEEDS[:-1]) / as_legal(1.0, result)
    for where, shots, speed in _hits_of_people(result, by_part):
        weight = 1000.0 * result.weight[shots]
        shares = [float(weight[speed >= limit].sum()) for limit in limits]
        cells = (per_thousand(share) if share > 0.0 else "-" for share in shares)
        rows.append((*where, f"{shots.size:,}", *cells, _bare(show, float(speed.max()))))
    unit = show.speed(1.0).split()[-1]
    speeds = (f"{_bare(show, limit)}+" for limit in limits)
    head = ("who", "height", "from" if by_part else "most from", "shots", *speeds, "fastest")
    title = f"Who could be hit: how many of 1,000 balls, at so many {unit} or more"
    return Table(title, head, tuple(rows), frozenset(range(3, len(head))), people_words(result))


def _bare(show: Display, speed: float) -> str:
    """A speed without its unit."""
    return show.speed(speed).split()[0]


def _hits_of_people(result: RunResult, by_part: bool) -> list[tuple[tuple[str, str, str], Index, Array]]:
    """Who, height, and the part that balls come from (most of them, unless by_part), with these shots `(k,)` and how
    fast each is there at its worst, m/s; most first for each person, heads before what is below.
    """
    found = []
    came = {person: ~np.isnan(result.fates.hits(zones_of(result.bay, person))) for person in persons(result.bay)}
    for person in sorted(came, key=lambda person: (-float(result.weight[came[person]].sum()), person)):
        for height, head in ((HEAD, True), (BELOW, False)):
            zones = zones_of(result.bay, person, head)
            speed = result.fates.hits(zones)
            shots = np.flatnonzero(~np.isnan(speed))
            if not shots.size:
                continue
            sources = source_of(result, zones, shots)
            shares = {str(label): float(result.weight[shots[sources == label]].sum()) for label in set(sources)}
            labels = sorted(shares, key=lambda label: (-shares[label], label))
            if not by_part:
                found.append(((person, height, labels[0]), shots, speed[shots]))
                continue
            for label in labels:
                of_group = shots[sources == label]
                found.append(((person, height, label), of_group, speed[of_group]))
    return found


def people_words(result: RunResult) -> str:
    """How the table of people is to be read: bands, and whose zones there are."""
    if not result.bay.zones:
        return NOBODY
    count = result.rates.total[Flag.PERSON_HIT.key].count
    none = "" if count else f"None was seen: {bound(result.rates.total[Flag.PERSON_HIT.key])}."
    alone = ONLY_HITTERS if all(zone.own_spot for zone in result.bay.zones) else ""
    read = (
        "Of 1,000 balls as they are played, so many come there at this speed or faster; one that comes to head and "
        "body counts in both rows."
    )
    return " ".join(words for words in (none, alone, read, bands_words(result)) if words)


def what_if_table(result: RunResult, most: int | None = None) -> Table:
    """Each guard failed in turn, on the same shots: what gets past the protection then."""
    rows: list[tuple[str, ...]] = [
        (failure.guard, failure.how, one_in(failure.rate_before), one_in(failure.rate),
         NO_BOUND if failure.upper is None else at_worst(failure.upper), f"{failure.before:,}", f"{failure.after:,}",
         *(one_in(failure.rate_by_flag.get(flag.key, 0.0)) for flag in Flag if most is None))
        for failure in result.what_if[:most]
    ]  # fmt: skip
    flags = tuple(SHORT_WORDS[Outcome(flag)] for flag in Flag if most is None)
    head = ("protection", "what fails", "as seen", "as seen then", "at worst then", "as built", "then", *flags)
    shots = f"the same {result.what_if[0].shots:,} shots" if result.what_if else "the same shots"
    title = f"What if one fails: how many balls as played get past the protection, from {shots}"
    note = "A few more or fewer may be chance: rebounds are easily turned." if rows else ""
    return Table(title, head, tuple(rows), frozenset(range(2, len(head))), note)


def faces_table(result: RunResult) -> Table:
    """What each face of the bay does to a ball, and where its numbers are from."""
    show, known = Display(result.scenario.units), shipped_facings()
    rows: list[tuple[str, ...]] = []
    for name in sorted(_faces(result)):
        facing = known.get(name)
        if facing is None:
            rows.append((name, "", "", "", "", "the scenario's, or a plugin's"))
            continue
        back = facing.restitution(np.array(SHOWN_SPEEDS), result.physics.ball)
        breaks = (_from_speed(energy, result, show) for energy in (facing.damage, facing.broken))
        rows.append((name, *(f"{share:.2f}" for share in back), *breaks, facing.source))
    speeds = (f"of {show.speed(speed)}" for speed in SHOWN_SPEEDS)
    head = ("face", *(f"comes back, {words}" for words in speeds), "marked from", "gone through from", "source")
    note = (
        "Share of the speed that comes back from a square hit; the speeds of such a hit that marks it, and that goes "
        f"through. What is fragile is marked from {_from_speed(FRAGILE, result, show)}. A plugin may give a part a law "
        "of its own instead."
    )
    return Table("What faces do to a ball", head, tuple(rows), frozenset({1, 2, 3, 4}), note)


def _from_speed(energy: float, result: RunResult, show: Display) -> str:
    """The speed of a square hit with this energy, J."""
    return "never" if energy == inf else show.speed((2.0 * energy / result.physics.ball.mass) ** 0.5)


def assumptions(result: RunResult) -> list[tuple[str, str]]:
    """What the numbers stand on, as name and words."""
    rows = [*_set_up(result), *_judgements(result)]
    if result.scenario.overrides:
        rows.insert(0, ("Changed for this run", "; ".join(result.scenario.overrides)))
    return rows


def _set_up(result: RunResult) -> Iterator[tuple[str, str]]:
    scenario, physics = result.scenario, result.physics
    display, ball, tee = Display(scenario.units), physics.ball, scenario.tee
    spots = [(spot.name, spot.from_end_wall, spot.from_left_wall) for spot in tee.spots]
    hit_from = "; ".join(
        f"{name}: {display.length(along)} from the end wall, {display.length(across)} from the left wall"
        for name, along, across in spots or [("the tee", tee.from_end_wall, tee.from_left_wall)]
    )
    sampled = f"{len(result.shots):,} shots of {len(result.types)} shot types, seed {result.seed}"
    shots = sampled if result.sampled else f"a grid of {len(result.shots):,} shots"
    yield "Ball", f"{ball.name}: {display.mass(ball.mass)}, {_across(ball.diameter, display)}. {ball.source}."
    yield "Air", f"{display.density(physics.air.density)}, viscosity {physics.air.viscosity:.3g} Pa s."
    yield (
        "Drag and lift",
        f"{scenario.aero}, one published model. Other models differ; run the scenario with another.",
    )
    yield "Hit from", f"{hit_from}; the ball stands {display.length(scenario.ground_height)} above the slab."
    yield "Shots", f"{shots}. How often each is played, and how it scatters, is what the scenario says."


def _across(diameter: float, show: Display) -> str:
    """A ball's diameter: `42.67 mm` or `1.680 in`."""
    return f"{diameter / INCH:.3f} in" if show.units == "imperial" else f"{1000 * diameter:.2f} mm"


def _judgements(result: RunResult) -> Iterator[tuple[str, str]]:
    show = Display(result.scenario.units)
    speed, body = show.speed(result.harm_speed), show.speed(result.scenario.blunt_speed_of(result.physics.ball.mass))
    energy, blunt = show.energy(result.scenario.harm_energy), show.energy(result.scenario.blunt_harm_energy)
    yield (
        "Harm",
        f"{energy} at a head, anywhere at a small child, and out of the room as it lands: {speed} of this ball; "
        f"{blunt} elsewhere at a person: {body}. From there on a ball counts as {ESCAPE_WORDS}; a slower one "
        "does not, whatever it would do to an eye.",
    )
    yield (
        "Held, ended slow",
        f"Held: its last touch of a protection left it slower than {speed}. Ended slow: it lost its speed elsewhere, "
        "in the room or out of it. Neither did any of what went wrong.",
    )
    yield "People", _zones_words(result)
    yield (
        "Rebounds",
        f"A solid ball with friction and spin, off faces of: {', '.join(sorted(_faces(result)))}. Measured values "
        "scatter by 0.12 of the speed and more; many faces and all energies that mark one are judgements.",
    )
    yield "Not computed", NOT_COMPUTED
    names = ", ".join(str(plugin.get("name", "?")) for plugin in result.plugins)
    yield "Made by", f"flightsim {__version__}; {f'plugins: {names}' if names else 'no plugins'}."


def _faces(result: RunResult) -> set[str]:
    return {part.facing for part in result.bay.parts}


def _zones_words(result: RunResult) -> str:
    """Whose zones there are, and that they are judgements."""
    people = sorted({zone.person for zone in result.bay.zones})
    if not people:
        return NOBODY
    alone = f" {ONLY_HITTERS}" if all(zone.own_spot for zone in result.bay.zones) else ""
    return (
        f"{', '.join(people)}. Zones are where a person may be, wider than the person: their sizes are judgements. Who "
        f"hits is counted only after the ball has touched something, and only for own shots.{alone}"
    )
