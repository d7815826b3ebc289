"""All files of a bay's maps: pictures, map.json and a page that holds them, moved into place whole."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from flightsim.errors import Asked, BadInputError
from flightsim.report.draw.map_figure import map_figure
from flightsim.report.draw.map_paths import escape_sheet
from flightsim.report.draw.style import DPI, save
from flightsim.report.pages.folder import built_beside, check_out
from flightsim.report.pages.frame import Section, made_by, page, picture
from flightsim.report.words.common_words import NOT_COMPUTED
from flightsim.report.words.map_ways import at_its_speed
from flightsim.report.words.map_words import (
    DIRECTIONS_SAID,
    FLOOR_SAID,
    STRINGS_SAID,
    WAYS_SAID,
    envelope_words,
    escape_table,
    region_table,
    string_table,
    title,
    verdict,
)
from flightsim.study.map.bay_map import BayMap, ClubMap
from flightsim.study.map.map_files import map_facts
from flightsim.study.run.run_files import write_json


def write_map(found: BayMap, out: Path, dpi: int = DPI) -> Path:
    """Write all files to `out`; an earlier result stays whole until the new one is.

    Raises BadInputError when the folder cannot be written or is full.
    """
    check_out(out)
    try:
        with built_beside(out) as building:
            write_json(building / "map.json", map_facts(found))
            pictures = [_draw(club, found, number, building, dpi) for number, club in enumerate(found.clubs, start=1)]
            (building / "map.html").write_text(_page(found, pictures), encoding="utf-8")
    except OSError as error:
        raise BadInputError(
            Asked("folder", str(out)),
            f": {error.strerror or error}; nothing was written there\n  try: another ",
            Asked("folder"),
            ", or free space",
        ) from error
    return out


def _draw(club: ClubMap, found: BayMap, number: int, folder: Path, dpi: int) -> list[Path]:
    """The two pictures of a club, named by their place and club."""
    plain = re.sub(r"[^a-z0-9]+", "_", club.aim.name.lower()).strip("_") or "club"
    paths = [folder / f"{number}_{plain}_{kind}.png" for kind in ("map", "escapes")]
    for path, draw in zip(paths, (map_figure, escape_sheet), strict=True):
        save(draw(club, found), path, dpi)
    return paths


def _page(found: BayMap, pictures: list[list[Path]]) -> str:
    """The page as text. Everything that comes from a scenario or a plugin is escaped."""
    warnings = [
        str(replace(problem, file=Path(problem.file).name)).partition("\n") for problem in found.opened.warnings
    ]
    heads = [f"Warning {k}: {words}" for k, (words, _, _) in enumerate(warnings, start=1)]
    tries = [f"Warning {k}\n{rest.strip()}" for k, (_, _, rest) in enumerate(warnings, start=1) if rest]
    ways_out = [Section("What is allowed there, and what to try", tries, printed_shut=True)] if tries else []
    clubs = [_club(club, found, paths) for club, paths in zip(found.clubs, pictures, strict=True)]
    reading = Section("How to read this", [WAYS_SAID, STRINGS_SAID, FLOOR_SAID, NOT_COMPUTED])
    sections = [Section("All directions", [DIRECTIONS_SAID, *heads], folds=ways_out), *clubs, reading]
    return page(found.opened.scenario.name, sections, kind="Where a ball may go", facts=made_by(found.opened.scenario))


def _club(club: ClubMap, found: BayMap, paths: list[Path]) -> Section:
    name = title(club, found)
    words = (f"Launch directions of {name}", f"Nearest escapes of {name}")
    tables = [escape_table(club, found), region_table(club), string_table(club, found)]
    shown = [table if table.rows else replace(table, note="None found.") for table in tables]
    said = verdict(club, found)
    alts = (said[1], said[3] if at_its_speed(club) else said[2])
    pictures = [picture(path, text, alt=alt) for path, text, alt in zip(paths, words, alts, strict=True)]
    return Section(name, [*said, envelope_words(club)], shown, pictures)
