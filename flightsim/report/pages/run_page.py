"""The page: one file that holds all of a run's answer, with its pictures inside, and needs no network."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from jinja2 import Environment, StrictUndefined

from flightsim.plugin.hookspecs import ReportSection
from flightsim.report.draw.figures import FigureInfo
from flightsim.report.words.adverse_words import adverse_words
from flightsim.report.words.beside import beside_words
from flightsim.report.words.common_words import (
    CAUTION,
    air_words,
    bounds_words,
    requirement_words,
    verdict,
    weights_words,
)
from flightsim.report.words.tables import (
    assumptions,
    faces_table,
    flags_table,
    outcome_counts_table,
    outcome_table,
    people_table,
    type_table,
    what_if_table,
    where_table,
    worst_words,
)
from flightsim.report.words.trouble_words import trials_words, tried_words, trouble_title, trouble_words
from flightsim.study.run.require import Judgement
from flightsim.study.run.result import RunResult
from flightsim.study.run.troubles import Trouble

TEMPLATE = "page.html.j2"
PIXELS = 104  # of the page for one inch of a drawing, so that all drawings have lettering of one size


@dataclass(frozen=True)
class _Told:
    """A trouble in words: its title, how often and how fast, what was tried, and shots to look at."""

    title: str
    words: str
    tried: tuple[str, ...]
    examples: str


@dataclass(frozen=True)
class _Picture:
    """A picture with its bytes as an address of its own."""

    title: str
    caption: str
    source: str
    width: int | None  # CSS pixels


def write_page(
    result: RunResult,
    judgements: Sequence[Judgement],
    pictures: Sequence[FigureInfo],
    sections: Sequence[ReportSection],
    path: Path,
) -> None:
    """Write the page of a run. Raises OSError when it cannot be written."""
    path.write_text(make_page(result, judgements, pictures, sections), encoding="utf-8")


def make_page(
    result: RunResult,
    judgements: Sequence[Judgement],
    pictures: Sequence[FigureInfo],
    sections: Sequence[ReportSection],
) -> str:
    """The page as text. Everything that comes from a scenario or a plugin is escaped."""
    source = files("flightsim.report.pages").joinpath(TEMPLATE).read_text(encoding="utf-8")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.from_string(source).render(_facts(result, judgements, pictures, sections))


def _facts(
    result: RunResult,
    judgements: Sequence[Judgement],
    pictures: Sequence[FigureInfo],
    sections: Sequence[ReportSection],
) -> dict[str, Any]:
    return {
        "name": result.scenario.name,
        "caution": CAUTION,
        "verdict": verdict(result),
        "beside": f"{beside_words(result)} {adverse_words(result)}".strip(),
        "requirements": [requirement_words(judgement) for judgement in judgements],
        "troubles": [_told(trouble, result) for trouble in result.troubles],
        "tried": trials_words(result),
        "people": people_table(result),
        "tables": [outcome_table(result), flags_table(result), where_table(result)],
        "what_if": what_if_table(result) if result.what_if else None,
        "faces": faces_table(result),
        "type_tables": [type_table(result), outcome_counts_table(result)],
        "worst": worst_words(result),
        "bounds": bounds_words(result),
        "weights": " ".join(words for words in (weights_words(result), air_words(result)) if words),
        "findings": result.findings,
        "warnings": [str(problem) for problem in result.warnings],
        "pictures": [_embedded(picture) for picture in pictures],
        "assumptions": assumptions(result),
        "sections": sections,
    }


def _told(trouble: Trouble, result: RunResult) -> _Told:
    shots = ", ".join(str(shot) for shot in trouble.examples)
    examples = f"Fastest first, in shots.csv: {shots}." if shots else ""
    return _Told(trouble_title(trouble), trouble_words(trouble, result), tuple(tried_words(trouble)), examples)


def _embedded(picture: FigureInfo) -> _Picture:
    data = b64encode(picture.path.read_bytes()).decode("ascii")
    width = None if picture.width is None else round(picture.width * PIXELS)
    return _Picture(picture.title, picture.caption, f"data:{picture.media_type};base64,{data}", width)
