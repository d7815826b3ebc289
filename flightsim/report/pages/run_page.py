"""The page of a run: one file that holds all of its answer, the most asked first, and needs no network."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from flightsim import __version__
from flightsim.plugin.hookspecs import ReportSection
from flightsim.report.draw.figures import WALL_SHEET, FigureInfo
from flightsim.report.pages.frame import Picture, page, picture, text_of
from flightsim.report.pages.run_sections import run_sections
from flightsim.report.pages.scene_data import SceneData
from flightsim.report.words.common_words import bounds_words, requirement_words, stands_on_words
from flightsim.report.words.fix_words import EACH_ALONE, first_words, fixes, fixing_words
from flightsim.report.words.picture_words import finding
from flightsim.report.words.verdict import VerdictLine, verdict
from flightsim.report.words.who_words import who_words
from flightsim.study.run.require import Judgement
from flightsim.study.run.result import RunResult

TEMPLATE = "run.html.j2"
KIND = "What becomes of the balls"
ELSEWHERE = ("caution", "the rest")
SCRIPT = "scene.min.js"  # built of what is in scene/; a test holds it to its sources


def write_page(
    result: RunResult,
    judgements: Sequence[Judgement],
    pictures: Sequence[FigureInfo],
    sections: Sequence[ReportSection],
    path: Path,
    scene: SceneData | None = None,
) -> None:
    """Write the page of a run. Raises OSError when it cannot be written."""
    path.write_text(make_page(result, judgements, pictures, sections, scene), encoding="utf-8")


def make_page(
    result: RunResult,
    judgements: Sequence[Judgement],
    pictures: Sequence[FigureInfo],
    sections: Sequence[ReportSection],
    scene: SceneData | None = None,
) -> str:
    """The page as text. Everything that comes from a scenario or a plugin is escaped.

    scene: the bay in three dimensions; without it the page has its still alone.
    """
    shown = {info.name: _shown(info, result) for info in pictures}
    still = shown.pop("overview", None)
    plan = shown.pop(WALL_SHEET, None)
    required = [requirement_words(judgement) for judgement in judgements]
    return page(
        result.scenario.name, run_sections(result, required, shown, sections), kind=KIND, facts=_facts(result),
        lines=_lines(result), template=TEMPLATE, who=who_words(result), scene=scene, still=still,
        plan=plan, fixes=fixes(result), fixing=fixing_words(result),
        first_steps=first_words(result), each_alone=EACH_ALONE,
        limits=[bounds_words(result), stands_on_words(result)], script=text_of(SCRIPT) if scene else "",
    )  # fmt: skip


def _lines(result: RunResult) -> list[VerdictLine]:
    """The verdict's lines, but for those that this page says elsewhere on its first screen."""
    return [line for line in verdict(result).lines if line.word not in ELSEWHERE]


def _facts(result: RunResult) -> tuple[str, ...]:
    digest = hashlib.sha256(result.scenario.text.encode("utf-8")).hexdigest()[:12]
    shots = (
        f"{len(result.shots):,} shots, seed {result.seed}" if result.sampled else f"{len(result.shots):,} grid shots"
    )
    return date.today().isoformat(), f"flightsim {__version__}", f"scenario sha256 {digest}", shots


def _shown(info: FigureInfo, result: RunResult) -> Picture:
    words = f"{info.title}: {info.finding}." if info.finding else finding(info.name, info.title, result)
    alt = re.sub(r"\s+", " ", words)
    return replace(picture(info.path, info.title, info.caption, alt, info.width, info.ours), about=info.about)
