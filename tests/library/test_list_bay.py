"""The page of a run tells what the bay takes to build, and a list that cannot be made takes nothing from the run."""

from __future__ import annotations

from pathlib import Path

from flightsim.library.list_bay import NOT_CHECKED, build_sections, list_bay
from flightsim.study.run.open_bay import open_bay

BAY = """\
name: Test
units: metric
room: {length: 6 m, width: 3.4 m, roof: {kind: flat, height: 2.8 m}}
tee: {from_end_wall: 3.6 m, from_left_wall: 1.7 m}
screen: {width: 2.8 m, height: 2.2 m, gap_behind: 400 mm, above_floor: 50 mm}
launches: {hand: right, use: [driver]}
"""
FRAME = "frame: {wall_bars: straight}\n"


def opened(tmp_path: Path, more: str) -> Path:
    path = tmp_path / "bay.yaml"
    path.write_text(BAY + more, encoding="utf-8")
    return path


def test_a_bay_without_frame_and_build_has_no_such_section(tmp_path: Path) -> None:
    assert build_sections(open_bay(opened(tmp_path, ""))) == []


def test_the_section_has_every_mark_and_says_that_nothing_was_checked_there(tmp_path: Path) -> None:
    bay = open_bay(opened(tmp_path, FRAME))
    words, table = build_sections(bay)
    assert NOT_CHECKED in words.paragraphs
    marks = {bar.mark for bar in list_bay(bay).bars}
    assert marks <= {row[0].split()[0] for row in table.table_rows}
    assert any(row[0] == "screen, as drawn" for row in table.table_rows)


def test_what_cannot_be_listed_is_told_in_the_section(tmp_path: Path) -> None:
    (section,) = build_sections(open_bay(opened(tmp_path, FRAME + "build: {stock: [2m]}\n")))
    assert "It could not be listed" in section.paragraphs[0]
    assert "build.stock" in section.paragraphs[0]
    (section,) = build_sections(open_bay(opened(tmp_path, FRAME + "build: {prices: none.yaml}\n")))
    assert "none.yaml" in section.paragraphs[0]
