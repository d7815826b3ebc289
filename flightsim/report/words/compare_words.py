"""Two bays on the same shots, in words and rows."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from flightsim import __version__
from flightsim.contact.fates import Flag, Outcome
from flightsim.report.words.common_words import ESCAPE_WORDS, FLAG_WORDS, OUTCOME_WORDS, at_worst, one_in, seen_in_all
from flightsim.report.words.plain_table import Table
from flightsim.study.compare.paired_bays import MOST_TOSSES, Changed, Comparison
from flightsim.study.run.open_bay import OpenBay
from flightsim.study.run.rates import ESCAPE

SCHEMA_VERSION = 1
LUCK = 0.05  # a split that comes more often than this by luck shows nothing
MOST_TYPES = 6
LUCK_WORDS = (
    "By luck: how often a split so uneven comes if neither bay is the better for any kind of shot (a paired test on "
    "the balls that only one lets past, each counted as often as it is played)."
)
WORST_WORDS = (
    "Each kind of shot counted as often as it is played. At worst: one-sided bounds of how many of all balls only the "
    "one, or only the other, lets past. They cover the luck of the draw only, not what the model leaves out."
)


def verdict(found: Comparison) -> str:
    """The answer in a few sentences."""
    past, n = found.changed[0], len(found.shots)
    first, second = found.names
    kind = "shots" if found.sampled else "grid shots"
    same = n - sum(_moved(found))
    counts = (
        f"On the same {n:,} {kind}: in the first bay {past.first.count:,} {ESCAPE_WORDS}, in the second "
        f"{past.second.count:,}. {past.only_first:,} did so only in the first, {past.only_second:,} only in the "
        f"second. {same:,} ended alike in both."
    )
    return f"First: {first}. Second: {second}. {counts} {_which(past, found.sampled)}"


def _which(past: Changed, sampled: bool) -> str:
    if not past.only_first + past.only_second:
        return "No ball tells the two apart."
    if not sampled:
        return "A grid says nothing of how often a ball goes there: no test can be made."
    luck = f"a split so uneven comes by luck {chance_words(past.chance)}"
    if past.chance > LUCK:
        return f"These shots do not tell which is better: {luck}."
    better, other = ("second", "first") if past.first.rate > past.second.rate else ("first", "second")
    return (
        f"Of balls as they are played, fewer get past in the {better} than in the {other}: if they were alike, {luck}."
    )


def chance_words(chance: float) -> str:
    """How often something comes by luck: `in 1 of 240 cases`."""
    if chance >= 0.995:
        return "as a rule"
    if chance < 2.0 / MOST_TOSSES:
        return f"in less than 1 of {MOST_TOSSES // 2:,} cases"
    return f"in {one_in(chance).replace(' in ', ' of ')} cases"


def _moved(found: Comparison) -> list[int]:
    return [int(found.moved[a, b]) for a in Outcome for b in Outcome if a is not b]


def changed_table(found: Comparison) -> Table:
    """Escape and every flag that any ball carries in either bay: shots."""
    rows = []
    for row in _there(found):
        luck = chance_words(row.chance).removeprefix("in ").removesuffix(" cases") if found.sampled else "no test"
        if not row.only_first + row.only_second:
            luck = ""
        counts = (row.first.count, row.second.count, row.only_first, row.only_second)
        rows.append((_words(row), *(f"{count:,}" for count in counts), luck))
    head = ("the ball", "first", "second", "only 1st", "only 2nd", "by luck")
    note = LUCK_WORDS if rows and found.sampled else ""
    return Table("What changed, in shots", head, tuple(rows), frozenset({1, 2, 3, 4}), note)


def rates_table(found: Comparison) -> Table:
    """The counts as rates of all balls; no rows for a grid."""
    rows = [
        (_words(row), seen_in_all(row.first), seen_in_all(row.second), at_worst(row.only_first_upper),
         at_worst(row.only_second_upper))
        for row in _there(found)
        if row.only_first_upper is not None and row.only_second_upper is not None
    ]  # fmt: skip
    head = ("of all balls", "first", "second", "only 1st, at worst", "only 2nd, at worst")
    return Table("What changed, of all balls", head, tuple(rows), frozenset({1, 2, 3, 4}), WORST_WORDS)


def _there(found: Comparison) -> list[Changed]:
    return [row for row in found.changed if row.first.count + row.second.count]


def _words(row: Changed) -> str:
    return ESCAPE_WORDS if row.key == ESCAPE else FLAG_WORDS[Flag[row.key.upper()]]


def moved_table(found: Comparison) -> Table:
    """Which outcome became which; only rows that any ball is in, most first."""
    cells = [(int(found.moved[a, b]), a, b) for a in Outcome for b in Outcome if a is not b and found.moved[a, b]]
    rows = [
        (OUTCOME_WORDS[a], OUTCOME_WORDS[b], f"{count:,}", _sense(a, b))
        for count, a, b in sorted(cells, key=lambda cell: -cell[0])
    ]
    head = ("in the first", "in the second", "shots", "")
    return Table("Balls that changed their outcome", head, tuple(rows), frozenset({2}))


def _sense(a: Outcome, b: Outcome) -> str:
    if a.escape == b.escape:
        return ""
    return "better" if a.escape else "worse"


def types_words(found: Comparison) -> str:
    """Which shots tell the two apart."""
    sentences = []
    for shots, words in ((found.worse, "only in the second"), (found.better, "only in the first")):
        if shots.size:
            count = np.bincount(found.shots.type[shots], minlength=len(found.types))
            order = [k for k in np.argsort(-count, kind="stable")[:MOST_TYPES] if count[k]]
            types = ", ".join(f"{found.types[k].label} ({count[k]:,})" for k in order)
            sentences.append(f"Past the protection {words}: {types}.")
    return " ".join(sentences)


def compare_data(results: Sequence[Comparison], bays: Sequence[OpenBay]) -> dict[str, Any]:
    """compare.json, without cost and variants. docs/compare.md tells every key."""
    found = results[0]
    names = (found.names[0], *(pair.names[1] for pair in results))
    return {
        "schema_version": SCHEMA_VERSION,
        "flightsim": __version__,
        "bays": [
            {"name": name, "scenario": bay.scenario.name, "scenario_file": Path(bay.scenario.file).name,
             "scenario_sha256": hashlib.sha256(bay.scenario.text.encode("utf-8")).hexdigest(),
             "sets": list(bay.scenario.overrides)}
            for name, bay in zip(names, bays, strict=True)
        ],
        "shots": len(found.shots),
        "seed": found.seed,
        "sampled": found.sampled,
        "confidence": found.confidence if found.sampled else None,
        "changed": [
            {"key": row.key, "first": asdict(row.first), "second": asdict(row.second), "only_first": row.only_first,
             "only_second": row.only_second, "chance": row.chance if found.sampled else None,
             "only_first_upper": row.only_first_upper, "only_second_upper": row.only_second_upper}
            for row in found.changed
        ],
        "moved": [
            {"first": a.key, "second": b.key, "shots": int(found.moved[a, b])}
            for a in Outcome for b in Outcome if found.moved[a, b]
        ],
        "only_in_the_second": found.worse.tolist(),
        "only_in_the_first": found.better.tolist(),
    }  # fmt: skip
