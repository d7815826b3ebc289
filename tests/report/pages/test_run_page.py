"""The page: one file, valid, complete without a network, and closed to what a scenario may smuggle in."""

import re
from base64 import b64decode
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from flightsim.contact.fates import Flag, Outcome
from flightsim.plugin.hookspecs import ReportFigure, ReportSection
from flightsim.report.draw.figures import write_extra
from flightsim.report.pages.run_page import make_page, write_page
from flightsim.report.words.common_words import CAUTION, RISKS, verdict
from flightsim.report.words.trouble_words import TRIED_WORDS

VOID = {"meta", "img", "link", "br", "hr", "input"}


class Page(HTMLParser):
    """Checks that tags nest, and gathers text, pictures and attributes."""

    def __init__(self, text):
        super().__init__()
        self.open, self.tags, self.images, self.attributes, self.text = [], [], [], [], ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [value for _, value in attrs if value]
        if tag == "img":
            self.images.append(dict(attrs))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag
        if tag in ("td", "th"):
            self.text += " "

    def handle_data(self, data):
        if "style" not in self.open:
            self.text += data


NAME = "<script>alert('x')</script> & shed"


@pytest.fixture(scope="module")
def whole(run_of, written, tmp_path_factory):
    """Result, pictures, the page as text and read, for a scenario and a plugin that mean harm."""
    extra = ReportFigure("../../evil name", "Own & drawing", "What <b>it</b> shows.", b"<svg/>", "image/svg+xml")
    folder = tmp_path_factory.mktemp("page")
    pictures = [*written, *write_extra([extra], folder, {"evil_name"})]
    section = ReportSection("Order <sizes>", ["A paragraph."], ["what", "size"], [["net", "3 m"]])
    result = run_of(name=NAME)
    write_page(result, (), pictures, [section], folder / "report.html")
    text = (folder / "report.html").read_text(encoding="utf-8")
    return result, pictures, text, Page(text), folder


def test_every_tag_is_closed_in_its_order(whole):
    assert whole[3].open == []
    assert {"html", "head", "title", "body", "main", "h1"} <= set(whole[3].tags)


def test_the_page_refers_to_nothing_outside_itself(whole):
    _, _, text, page, _ = whole
    assert not re.search(r"https?:|//[a-z]|url\(|@import", re.sub(r"base64,[^\"]*", "", text))
    assert not {"script", "link", "iframe", "object"} & set(page.tags)


def test_every_picture_is_inside_with_its_bytes_and_words_for_who_cannot_see_it(whole):
    _, pictures, _, page, _ = whole
    shown = {b64decode(image["src"].split(";base64,")[1]): image for image in page.images}
    for picture in pictures:
        if picture.name == "overview":  # the still of what is drawn in three dimensions, which this page lacks
            continue
        image = shown[picture.path.read_bytes()]
        assert image["src"].startswith(f"data:{picture.media_type};")
        assert picture.title in image["alt"]


def test_a_hostile_name_is_shown_and_not_run(whole):
    _, _, text, page, _ = whole
    assert "<script" not in text
    assert NAME in page.text
    assert "What <b>it</b> shows." in page.text
    assert "Order <sizes>" in page.text


def test_a_plugins_picture_stays_in_its_folder_whatever_its_name(whole):
    _, pictures, _, _, folder = whole
    assert pictures[-1].path == folder / "evil_name_2.svg"  # evil_name was taken
    assert pictures[-1].path.read_bytes() == b"<svg/>"


def test_the_caution_stands_at_the_top_and_at_the_bottom(whole):
    text = whole[3].text
    answer = text.index("What helps most")
    assert text.index(CAUTION[0]) < answer < text.rindex(CAUTION[0])
    assert text.rindex(CAUTION[2]) > text.index("What this stands on")


def test_the_page_tells_verdict_assumptions_warnings_and_findings(whole):
    result, _, _, page, _ = whole
    text = " ".join(page.text.split())
    for must in (verdict(result), "naruo2004", "45.93 g", "seed 3", "the canopy runs through the lamp",
                 "Roof above the tee", "Not computed", "3.60 m from the end wall", "Who could be hit",
                 "bench", RISKS):  # fmt: skip
        assert must in text


def test_a_requirement_can_be_read_on_the_page(run_of):
    from flightsim.study.run.require import judge_all, parse_requirements

    result = run_of()
    judged = judge_all(parse_requirements(["broke_through < 10 %"]), result.rates, result.types, True)
    assert "Required: broke_through < 10 %: met" in " ".join(Page(make_page(result, judged, [], [])).text.split())


def test_troubles_are_told_with_every_change_that_was_tried_and_failures_with_what_they_let_past(run_of):
    from flightsim.study.run.find_troubles import find_troubles
    from flightsim.study.run.troubles import Tried, WhatIf

    tried = (
        Tried("canopy depth 1.50 m", ("canopy.depth=1.5m",), 900, 60, 40, 12, 300, 200, 0.04, 0.013, 0.33, 0.22),
        Tried("tee 3.80 m", ("tee.from_end_wall=3.8m",), 900, 60, 40, 0, 300, 301, 0.04, 0.0, 0.33, 0.34),
    )
    troubles = tuple(replace(trouble, tried=tried) for trouble in find_troubles(run_of()))
    gone = WhatIf(
        "left net",
        "taken away",
        900,
        300,
        460,
        0.5,
        0.56,
        {flag.key: 92 for flag in Flag},
        0.33,
        0.4,
        {flag.key: 0.12 for flag in Flag},
    )
    text = make_page(replace(run_of(), troubles=troubles, what_if=(gone,)), (), [], [])
    shown = " ".join(Page(text).text.split())
    assert Page(text).open == []
    assert shown.count("Tried: canopy depth 1.50 m: 1 in 77 balls instead of 1 in 25 did this") == len(troubles)
    assert shown.count("Tried, no help: tee 3.80 m: no ball instead of 1 in 25 did this") == len(troubles)
    assert "--set canopy.depth=1.5m" in shown
    assert TRIED_WORDS in shown
    assert "left net taken away 33 in 100 50 in 100 56 in 100 300 460 12 in 100" in shown


def test_without_troubles_and_failures_the_page_says_nothing_of_them(run_of):
    text = Page(make_page(run_of(), (), [], [])).text
    for words in ("Each in full", "If one fails", "Tried"):
        assert words not in text


def open_words(text):
    """The words that a page shows before anything is opened."""
    while re.search(r"<details", text):
        text = re.sub(r"<details(?:(?!<details|</details>).)*</details>", " ", text, flags=re.DOTALL)
    page = Page(text)
    return page.text.split()


def test_before_anything_is_opened_the_page_is_short(whole):
    assert 100 < len(open_words(whole[2])) <= 1500


def test_all_that_a_run_has_to_say_is_on_the_page_however_short_the_terminal_is(run_of):
    from flightsim.report.words import common_words as words
    from flightsim.report.words.adverse_words import adverse_words
    from flightsim.report.words.beside import beside_words
    from flightsim.report.words.tables import outcome_table, people_table, type_table, where_table

    result = run_of()
    text = " ".join(Page(make_page(result, (), [], [])).text.split())
    sentences = [verdict(result), adverse_words(result), words.bounds_words(result), words.weights_words(result)]
    sentences += [words.stands_on_words(result), *CAUTION, beside_words(result)]
    sentences += [finding.text for finding in result.findings] + [str(problem) for problem in result.warnings]
    for table in (outcome_table(result), people_table(result, False), where_table(result), type_table(result)):
        sentences += [" ".join(row) for row in table.rows]
    for sentence in sentences:
        assert " ".join(sentence.split()) in text


def test_who_plays_and_who_is_not_asked_stands_first(whole):
    text = " ".join(whole[3].text.split())
    assert text.index("Who plays: hitter. Who else is there: bench. Not asked:") < text.index("no targets")


def test_what_helps_most_is_told_first_with_before_and_after(run_of):
    from flightsim.study.run.find_troubles import find_troubles
    from flightsim.study.run.troubles import Tried

    tried = tuple(
        Tried(f"canopy depth {k} m", (f"canopy.depth={k} m",), 900, 60, 40, 12, 300, 200, 0.04, 0.013, 0.33, after)
        for k, after in ((1, 0.3), (2, 0.05), (3, 0.2), (4, 0.25), (5, 0.4))
    )
    troubles = tuple(replace(trouble, tried=tried) for trouble in find_troubles(run_of()))
    text = " ".join(Page(make_page(replace(run_of(), troubles=troubles), (), [], [])).text.split())
    first = text[text.index("What helps most") : text.index("Limits")]
    assert "Canopy depth 2 m: 1 in 20 balls instead of 33 in 100 got past the protection" in first
    assert re.findall(r"Canopy depth (\d)", first) == ["2", "3", "4"]  # three, best first, and what does not help not


def test_alt_texts_say_what_was_found_and_not_only_what_is_drawn(whole):
    alts = {image["alt"] for image in whole[3].images}
    assert any("the tee 3.60 m from the end wall" in alt for alt in alts)
    assert any("of 1,000 balls meet it first" in alt for alt in alts)
    bare = {alt for alt in alts if ": " not in alt or len(alt) <= 30}
    assert bare == {"Own & drawing"}  # whose plugin said no finding


@pytest.mark.parametrize("changes", [{}, {"sampled": False}, *({"force": outcome} for outcome in Outcome)])
def test_the_page_never_says_safe_or_caught_but_where_it_says_that_limits_are_not(run_of, changes):
    text = " ".join(Page(make_page(run_of(**changes), (), [], [])).text.split()).replace(RISKS, "")
    assert not re.search(r"\b(safe|safely|caught)\b", text, re.IGNORECASE)
