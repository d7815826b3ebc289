"""The page of a search for a size."""

from __future__ import annotations

from pathlib import Path

from flightsim.report.pages.frame import Section, made_by, page, picture
from flightsim.report.words.size_tables import doubts_table, front_table, looks_table, not_varied_words, worse_table
from flightsim.report.words.size_words import LUCK, Told, backward_words, cost_words, headline, present_words


def size_page(told: Told, bill: str, drawn: Path) -> str:
    """The page as text. bill: what the bay costs, in words; drawn: the picture on disk."""
    answer = [words for words in (headline(told), cost_words(told), bill, present_words(told), backward_words(told))
              if words]  # fmt: skip
    tables = [table for table in (looks_table(told), front_table(told)) if table.rows]
    doubts, worse = doubts_table(told), worse_table(told)
    sections = [
        Section("The answer", answer, (), [picture(drawn, "Misses against size", alt=headline(told))]),
        Section("Sizes looked at", (), tables),
        *([Section("How far it hangs on what nobody knows", (), [doubts])] if doubts.rows else []),
        Section("What was not varied", (), [worse] if worse.rows else [], folds=_kept(told)),
        Section("How to read this", [LUCK]),
    ]  # fmt: skip
    facts = (*made_by(told.scenario), f"seed {told.answer.seed}")
    return page(told.scenario.name, sections, kind="How large it has to be", facts=facts)


def _kept(told: Told) -> list[Section]:
    """Every key that was left as it is, shut on the screen: for who looks one up."""
    words = not_varied_words(told)
    return [Section("Keys left as they are in the file", [words], printed_shut=True)] if words else []
