"""The page of changes that meet the targets: before and after, step by step, what became worse, what is not counted."""

from __future__ import annotations

from pathlib import Path

from flightsim.report.pages.frame import Picture, Section, made_by, page, picture
from flightsim.report.words.improve_steps import (
    improve_lines,
    moved,
    step_lines,
    step_table,
    typed,
    worse_words,
)
from flightsim.report.words.improve_words import cost_words, not_judged_words, offers_words, targets_table, unmet_words
from flightsim.study.improve.improve import Improved

KIND = "What to change"
HOW = (
    "Every plan is flown on the same shots, so that two differ by what they do and never by luck. What is found is "
    "flown again on fresh shots that the search did not see, with adverse cloth and with every size off."
)
GREEDY = "A search takes one change after another: a cheaper set of changes may exist."
NOTHING = "No change was found that helps: the bay stays as it is."
UNFLOWN = "The search was stopped: the changed bay was not flown on fresh shots, and nothing here is confirmed."


def improve_page(found: Improved, seed: int, currency: str, targets: Path | None, bays: Path | None) -> str:
    """The page as text. targets, bays: the pictures on disk; None where there is nothing to draw."""
    rates, steps, worse = targets_table(found), step_table(found), worse_words(found)
    folds = [Section("Every rate that each step changes", (), [steps])] if steps.rows else []
    if found.sets:
        folds.append(Section("The changes as one types them", [typed(found)]))
    todo = [*step_lines(found), cost_words(found, currency)] if found.steps else [NOTHING]
    sections = [
        Section("What to do, in this order", _said(todo), (), _bays(bays, step_lines(found)), folds),
        Section("The targets, before and after", _said(["" if found.after else UNFLOWN]), [rates],
                _targets(targets, found)),
        *([Section("What became worse", worse)] if worse else []),
        *_section_of("What cannot be met this way", unmet_words(found)),
        *_section_of("Would help too: the room and the play, not counted", offers_words(found)),
        *_section_of("Not looked at", not_judged_words(found)),
        Section("How to read this", [HOW, GREEDY]),
    ]  # fmt: skip
    facts = (*made_by(found.found.scenario), f"seed {seed}")
    return page(found.found.scenario.name, sections, kind=KIND, facts=facts, lines=improve_lines(found))


def _section_of(title: str, words: str) -> list[Section]:
    """A section with a paragraph a line, where there is anything to say; its title stands for the words' first line."""
    paragraphs = [line.removeprefix("- ") for line in words.splitlines()[1:]]
    return [Section(title, paragraphs)] if paragraphs else []


def _bays(path: Path | None, todo: list[str]) -> list[Picture]:
    if path is None:
        return []
    many = f"{len(todo)} change{'s' if len(todo) > 1 else ''}, first: {todo[0]}" if todo else "no change"
    alt = f"Side elevation and plan of the bay as it was found, and the same after {many}"
    return [picture(path, "The bay before and after", alt=alt, width=9.0)]


def _targets(path: Path | None, found: Improved) -> list[Picture]:
    if path is None:
        return []
    pairs = moved(found)
    met = sum(pair.after.good for pair in pairs)
    worse = [pair.name for pair in pairs if pair.worse and found.steps]
    when = "after the changes" if found.steps else "as found, on fresh shots"
    alt = f"Of {len(pairs)} targets {met} are met {when}" + (f"; worse: {', '.join(worse)}" if worse else "")
    return [picture(path, "The targets, before and after", alt=alt, width=9.0)]


def _said(words: list[str]) -> list[str]:
    return [text for text in words if text]
