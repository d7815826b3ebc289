"""The frame of all pages: escaped, whole, with a place for every section and words for every picture."""

import re
from dataclasses import dataclass

import numpy as np
import pytest
from PIL import Image

from flightsim.report.pages.frame import Section, page, picture
from flightsim.report.words.common_words import CAUTION
from flightsim.report.words.plain_table import Table

BAD = "<script>alert('x')</script>"
PIXEL = bytes.fromhex("89504e470d0a1a0a0000000d4948445200000002000000010802000000")


@dataclass(frozen=True)
class _Line:
    sign: str
    word: str
    text: str
    level: str


@pytest.fixture
def drawn(tmp_path):
    path = tmp_path / "one.png"
    path.write_bytes(PIXEL)
    return picture(path, BAD, BAD, "What it shows", 2.0)


@pytest.fixture
def text(drawn):
    table = Table(BAD, (BAD,), ((BAD,),), frozenset({0}), BAD)
    fold = Section(BAD, [BAD], folded=True)
    sections = [Section("Sizes", [BAD], [table], [drawn], [fold]), Section("Sizes"), Section("", folded=True)]
    return page(BAD, sections, kind=BAD, facts=[BAD], lines=[_Line("!", BAD, BAD, "bad")])


def test_what_means_harm_stays_text_wherever_it_stands(text):
    assert "<script" not in text
    assert text.count("&lt;script&gt;") >= 14


def test_every_section_has_an_anchor_of_its_own(text):
    anchors = re.findall(r'id="([^"]+)"', text)
    assert anchors == ["sizes", "script-alert-x-script", "sizes-2", "part"]


def test_the_caution_opens_and_closes_a_page(text):
    assert text.index(CAUTION[0]) < text.index('id="sizes"') < text.rindex(CAUTION[2])


def test_a_picture_keeps_its_place_before_it_is_loaded_and_says_what_it_shows(drawn, text):
    assert (drawn.width, drawn.height) == (208, 104)
    assert 'alt="What it shows"' in text


def test_a_drawing_is_turned_dark_and_a_plugins_photograph_or_broken_file_is_not(tmp_path):
    drawing = np.full((60, 80), 255, dtype=np.uint8)
    drawing[10:50, 20:23] = 0
    photograph = np.random.default_rng(1).integers(0, 256, (60, 80), dtype=np.uint8)
    for name, shades, line_work in (("drawing", drawing, True), ("photograph", photograph, False)):
        path = tmp_path / f"{name}.png"
        Image.fromarray(shades).save(path)
        shown = picture(path, name, ours=False)
        assert shown.line_work is line_work
        assert ('class="drawing line-work"' in page("", [Section("", (), (), [shown])])) is line_work
    broken = tmp_path / "broken.png"
    broken.write_bytes(PIXEL)
    assert not picture(broken, "broken", ours=False).line_work


def test_whoever_cannot_drag_can_scroll_a_wide_table_by_keyboard(text):
    assert 'class="scroll" tabindex="0" role="region"' in text


def test_a_page_refers_to_nothing_outside_itself(text):
    assert not re.search(r"https?:|url\(|@import|<link|<iframe", text)


@pytest.mark.parametrize("many", [3, 4])
def test_a_long_page_has_its_contents_first(many):
    html = page("Bay", [Section(f"Part {k}") for k in range(many)])
    assert ('href="#part-0"' in html) is (many >= 4)
