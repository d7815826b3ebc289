"""The page of bays compared on the same shots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from flightsim.report.pages.frame import Section, made_by, page, picture
from flightsim.report.words.compare_words import changed_table, moved_table, rates_table, types_words, verdict
from flightsim.report.words.variant_words import VariantRow, targets_drawn, variants_headline, variants_table
from flightsim.study.compare.paired_bays import Comparison

KIND = "Bays on the same shots"


def pair_page(found: Comparison, cost: str, drawn: Path) -> str:
    """Two bays, as text. cost: what both cost, in words; drawn: the picture on disk."""
    paragraphs = [words for words in (verdict(found), types_words(found), cost) if words]
    shown = picture(drawn, "Balls whose end the change turns", alt=verdict(found))
    sections = [
        Section("The answer", paragraphs, (), [shown]),
        Section("What changed", (), [rates_table(found), changed_table(found)]),
        Section("Whose end moved", (), [moved_table(found)]),
    ]
    return page(_of_one(found, " and ".join(found.names)), sections, kind=KIND, facts=_facts(found))


def variants_page(rows: Sequence[VariantRow], found: Comparison, drawn: Path) -> str:
    """More than two, a row each. found: the first against the second, for its shots and seed."""
    headline, targets = variants_headline(rows), targets_drawn(rows)
    sections = [
        Section("The answer", [headline], [variants_table(rows)], [picture(drawn, "The bays", alt=headline)]),
        *([Section("Targets", (), [replace(targets, title="")])] if targets.rows else []),
    ]
    title = _of_one(found, f"{found.names[0]} and {len(rows) - 1} others")
    return page(title, sections, kind=KIND, facts=_facts(found))


def _of_one(found: Comparison, title: str) -> str:
    """A title that begins with the bay's name, where all that is compared is one bay otherwise."""
    bays = {result.scenario.name for result in found.results}
    return title if len(bays) > 1 or bays <= set(found.names) else f"{bays.pop()}: {title}"


def _facts(found: Comparison) -> tuple[str, ...]:
    bays = dict.fromkeys(result.scenario.name for result in found.results)
    names = (" and ".join(bays),) if len(bays) > 1 else ()
    return *names, *made_by(found.results[0].scenario), f"{len(found.shots):,} shots, seed {found.seed}"
