"""The page of a search for a size."""

from __future__ import annotations

from pathlib import Path

from flightsim.report.pages.frame import Section, made_by, page, picture
from flightsim.report.words.size_tables import doubts_table, front_table, looks_table, not_varied_words, worse_table
from flightsim.report.words.size_words import LUCK, SizeReport, backward_words, cost_words, headline, present_words


def size_page(report: SizeReport, bill: str, drawn: Path) -> str:
    """The page as text. bill: what the bay costs, in words; drawn: the picture on disk."""
    every = (headline(report), cost_words(report), bill, present_words(report), backward_words(report))
    answer = [words for words in every if words]
    tables = [table for table in (looks_table(report), front_table(report)) if table.rows]
    doubts, worse = doubts_table(report), worse_table(report)
    sections = [
        Section("The answer", answer, (), [picture(drawn, "Misses against size", alt=headline(report))]),
        Section("Sizes looked at", (), tables),
        *([Section("How far it hangs on what nobody knows", (), [doubts])] if doubts.rows else []),
        Section("What was not varied", (), [worse] if worse.rows else [], folds=_kept(report)),
        Section("How to read this", [LUCK]),
    ]  # fmt: skip
    facts = (*made_by(report.scenario), f"seed {report.answer.seed}")
    return page(report.scenario.name, sections, kind="How large it has to be", facts=facts)


def _kept(report: SizeReport) -> list[Section]:
    """Every key that was left as it is, shut on the screen: for who looks one up."""
    words = not_varied_words(report)
    return [Section("Keys left as they are in the file", [words], printed_shut=True)] if words else []
