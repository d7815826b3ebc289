"""What is told in rows, once for the terminal and the page: outcomes, shot types, places, assumptions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flightsim import __version__
from flightsim.contact.outcomes import Outcome
from flightsim.report.words import (
    FAILED,
    FLOOR_COUNTS,
    NOT_COMPUTED,
    NOT_MET,
    NOT_MET_WORDS,
    OUTCOME_WORDS,
    SHORT_WORDS,
    at_worst,
    bound,
    per_thousand,
    percent,
    seen,
    seen_in_all,
)
from flightsim.scenario.display import Display
from flightsim.study.columns import UNNAMED_GAP
from flightsim.study.result import Rate, RunResult

NO_BOUND = "no bound"


@dataclass(frozen=True)
class Table:
    """A title, the column heads, rows of text, and which columns hold numbers."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int]


def outcome_table(result: RunResult) -> Table:
    """All shots together, by outcome."""
    total = result.rates.total
    rows = [_outcome_row(OUTCOME_WORDS[outcome], total[outcome.key], outcome, result) for outcome in Outcome]
    rows.append(_outcome_row(f"in all: {NOT_MET_WORDS}", total[NOT_MET], None, result))
    head = ("the ball", "shots", "share of balls" if result.sampled else "share of grid", "as seen", "bound")
    return Table(f"All {len(result.shots):,} shots", head, tuple(rows), frozenset({1, 2}))


def _outcome_row(words: str, rate: Rate, outcome: Outcome | None, result: RunResult) -> tuple[str, ...]:
    share = percent(rate.rate) if rate.count else ""
    if rate.upper is None or rate.lower is None:
        return (words, f"{rate.count:,}", share, "", NO_BOUND)
    if outcome is Outcome.MET_GUARD:
        return (words, f"{rate.count:,}", share, "", f"at least {percent(rate.lower)}")
    return (words, f"{rate.count:,}", share, seen_in_all(rate), bound(rate))


def worst_first(result: RunResult) -> list[int]:
    """Shot types by how many of all balls that met no guard first they send, most first."""
    sent = [kind.share * some[NOT_MET].rate for kind, some in zip(result.types, result.rates.by_type, strict=True)]
    return sorted(range(len(sent)), key=lambda k: (-sent[k], k))


def type_table(result: RunResult) -> Table:
    """Each shot type: how often it is played, and how often it did not meet a guard first."""
    rows = []
    for k in worst_first(result):
        kind, past = result.types[k], result.rates.by_type[k][NOT_MET]
        worst = NO_BOUND if past.upper is None else at_worst(past.upper)
        rows.append(
            (kind.label, percent(kind.share), f"{past.shots:,}", f"{past.count:,}", seen(past, result.sampled), worst)
        )
    head = ("shot type", "played", "shots", "met no guard", "as seen", "at worst")
    title = "Shot types, by how many balls they send elsewhere" if result.sampled else "The grid, by tee spot"
    return Table(title, head, tuple(rows), frozenset({1, 2, 3}))


def outcome_counts_table(result: RunResult) -> Table:
    """Each shot type's shots by outcome."""
    rows = [
        (kind.label, *(f"{some[key].count:,}" for key in (*(o.key for o in Outcome), FAILED)))
        for kind, some in zip(result.types, result.rates.by_type, strict=True)
    ]
    head = ("shot type", *(SHORT_WORDS[outcome] for outcome in Outcome), "of these failed")
    return Table("Shots by type and outcome", head, tuple(rows), frozenset(range(1, 6)))


def worst_words(result: RunResult) -> str:
    """Which shot types send most of what met no guard first."""
    total = result.rates.total[NOT_MET]
    if not total.count or not result.sampled:
        return ""
    told = []
    for k in worst_first(result)[:3]:
        part = result.types[k].share * result.rates.by_type[k][NOT_MET].rate / total.rate if total.rate > 0.0 else 0.0
        if part > 0.0:
            told.append(f"{result.types[k].label} ({percent(part)} of them)" if part < 1.0 else result.types[k].label)
    return f"Of the balls that {NOT_MET_WORDS}, most come from: {', '.join(told)}." if told else ""


def where_table(result: RunResult, most: int | None = None) -> Table:
    """What the balls that met no guard first met, or left through; `most` rows, the rest in one."""
    rows = sorted(_places(result), key=lambda row: -row[3])
    shown, rest = (rows, []) if most is None or len(rows) <= most + 1 else (rows[:most], rows[most:])
    cells = [(name, how, f"{count:,}", per_thousand(1000.0 * share)) for name, how, count, share in shown]
    if rest:
        count, share = sum(row[2] for row in rest), sum(row[3] for row in rest)
        cells.append((f"{len(rest)} more", "", f"{count:,}", per_thousand(1000.0 * share)))
    title = f"Where the balls go that {NOT_MET_WORDS}"
    of = "in 1,000 balls" if result.sampled else "in 1,000 grid shots"
    return Table(title, ("place", "", "shots", of), tuple(cells), frozenset({2, 3}))


def _places(result: RunResult) -> list[tuple[str, str, int, float]]:
    """Name, what happened there, shots and share, of every place that a ball without a guard went first."""
    contacts, bay = result.contacts, result.bay
    names = [part.label for part in bay.parts]
    openings = [*(opening.name for opening in bay.openings), UNNAMED_GAP]
    ways: list[tuple[Outcome, np.ndarray, list[str]]] = [
        (Outcome.HIT_UNPROTECTED, contacts.part, names),
        (Outcome.GOT_OUT, contacts.opening, openings),
        (Outcome.NOT_FOLLOWED, contacts.part, names),
    ]
    found: dict[tuple[str, str], tuple[int, float]] = {}
    for outcome, index, labels in ways:
        shots = result.which(outcome)
        count = np.bincount(index[shots] + 1, minlength=len(labels) + 1)
        share = np.bincount(index[shots] + 1, weights=result.weight[shots], minlength=len(labels) + 1)
        for k in np.flatnonzero(count):
            key = (labels[k - 1] if k else "could not be followed", SHORT_WORDS[outcome] if k else "")
            before = found.get(key, (0, 0.0))
            found[key] = before[0] + int(count[k]), before[1] + float(share[k])
    return [(name, how, count, share) for (name, how), (count, share) in found.items()]


def assumptions(result: RunResult) -> list[tuple[str, str]]:
    """What the numbers stand on, as name and words."""
    scenario, physics = result.scenario, result.physics
    display, ball = Display(scenario.units), physics.ball
    tee = scenario.tee
    spots = [(spot.name, spot.from_end_wall, spot.from_left_wall) for spot in tee.spots]
    places = "; ".join(
        f"{name}: {display.length(along)} from the end wall, {display.length(across)} from the left wall"
        for name, along, across in spots or [("the tee", tee.from_end_wall, tee.from_left_wall)]
    )
    shots = (
        f"{len(result.shots):,} shots of {len(result.types)} shot types, seed {result.seed}"
        if result.sampled
        else f"a grid of {len(result.shots):,} shots"
    )
    told = [
        ("Ball", f"{ball.name}: {1000 * ball.mass:.2f} g, {1000 * ball.diameter:.2f} mm. {ball.source}."),
        ("Air", f"{physics.air.density:.4g} kg/m3, {physics.air.viscosity:.3g} Pa s."),
        ("Drag and lift", f"{scenario.aero}, one published model. Other models differ; run the scenario with another."),
        ("Hit from", f"{places}; the ball stands {display.length(scenario.ground_height)} above the slab."),
        ("Shots", f"{shots}. How often each is played, and how it scatters, is what the scenario says."),
        ("Not computed", f"{NOT_COMPUTED} Nor is whether anything breaks, gives way, or is worn."),
        ("The floor", FLOOR_COUNTS),
        ("Made by", f"flightsim {__version__}; {_plugin_words(result)}."),
    ]
    if scenario.overrides:
        told.insert(0, ("Changed for this run", "; ".join(scenario.overrides)))
    return told


def _plugin_words(result: RunResult) -> str:
    names: Sequence[str] = [str(plugin.get("name", "?")) for plugin in result.plugins]
    return f"plugins: {', '.join(names)}" if names else "no plugins"
