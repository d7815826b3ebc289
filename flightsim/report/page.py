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
from flightsim.report.figures import FigureInfo
from flightsim.report.tables import (
    assumptions,
    outcome_counts_table,
    outcome_table,
    type_table,
    where_table,
    worst_words,
)
from flightsim.report.words import CAUTION, bounds_words, failed_words, requirement_words, verdict, weights_words
from flightsim.study.require import Judgement
from flightsim.study.result import RunResult

TEMPLATE = "page.html.j2"
PIXELS = 104  # of the page for one inch of a drawing, so that all drawings have lettering of one size


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
    source = files("flightsim.report").joinpath(TEMPLATE).read_text(encoding="utf-8")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return environment.from_string(source).render(_facts(result, judgements, pictures, sections))


def _facts(
    result: RunResult,
    judgements: Sequence[Judgement],
    pictures: Sequence[FigureInfo],
    sections: Sequence[ReportSection],
) -> dict[str, Any]:
    tables = [outcome_table(result)]
    if result.rates.total["not_met_guard"].count:
        tables.append(where_table(result))
    return {
        "name": result.scenario.name,
        "caution": CAUTION,
        "verdict": verdict(result),
        "failed": failed_words(result),
        "requirements": [requirement_words(judgement) for judgement in judgements],
        "tables": tables,
        "type_tables": [type_table(result), outcome_counts_table(result)],
        "worst": worst_words(result),
        "bounds": bounds_words(result),
        "weights": weights_words(result),
        "findings": result.findings,
        "warnings": [str(problem) for problem in result.warnings],
        "pictures": [_embedded(picture) for picture in pictures],
        "assumptions": assumptions(result),
        "sections": sections,
    }


def _embedded(picture: FigureInfo) -> _Picture:
    data = b64encode(picture.path.read_bytes()).decode("ascii")
    width = None if picture.width is None else round(picture.width * PIXELS)
    return _Picture(picture.title, picture.caption, f"data:{picture.media_type};base64,{data}", width)
