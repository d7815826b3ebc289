"""The page of a run in a real browser: Debian's Chromium, driven by playwright. Run with `pytest -m browser`.

What it has in common with the pages of all commands is asked in test_browser_kinds.py.
"""

import re
from functools import cache
from io import BytesIO

import numpy as np
import pytest
from browser_looks import Looks, drawn, tab_to
from kinds_of_page import NAME, SCENARIOS
from PIL import Image
from printed_pages import FORMS, printed
from shared_pages import made_once

import flightsim

pytestmark = pytest.mark.browser
VIEWS = ("tee", "behind", "side", "above", "corner")  # the last as it is found


@pytest.fixture(scope="module")
def loaded(chromium, page_at):
    """The run's page on a laptop and on a phone, loaded once each; its bay is drawn."""
    looks = Looks(chromium)
    yield cache(lambda width: drawn(looks.open(page_at("run"), width))), looks
    looks.close()


@pytest.fixture
def read(loaded):
    """The page for who leaves it as it was found: shut, unticked, from the corner; nothing may have gone wrong."""
    pages, looks = loaded

    def open_page(width=1280, scheme="light"):
        shown = pages(width)
        shown.emulate_media(color_scheme=scheme)
        return shown

    yield open_page
    assert looks.wrong() == []


@pytest.fixture
def live(look, page_at):
    """The page for who changes it: loaded anew."""
    return lambda *args, **more: drawn(look(page_at("run"), *args, **more))


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_drawings_and_the_bay_are_dark_where_a_reader_prefers_that(read, scheme):
    shown = read(1280, scheme)
    for drawing in (shown.locator(".stage"), shown.locator("figure img.line-work").locator("visible=true").first):
        shades = np.asarray(Image.open(BytesIO(drawing.screenshot())).convert("L"))
        assert bool(np.median(shades) > 200) is (scheme == "light")
        assert np.ptp(shades) > 150  # lines are seen on it


def test_names_that_mean_harm_stay_text(read):
    shown = read()
    assert shown.inner_text("h1") == NAME
    assert shown.title().startswith(NAME)


def test_the_first_screen_holds_name_verdict_bay_and_what_helps(read):
    shown = read(1280)
    for selector in ("h1", ".facts", ".who", ".lines", "canvas", ".fixes"):
        assert shown.locator(selector).first.bounding_box()["y"] < 800, selector


def words_before_the_folds(shown):
    """As many as are read without opening anything; not the balls that one may pick."""
    picked = [box.inner_text() for box in shown.locator("select").all()]
    return len(shown.inner_text("body").split()) - len(" ".join(picked).split())


def test_a_page_is_short_before_anything_is_opened(read):
    assert 300 < words_before_the_folds(read(1280)) <= 1500


def picture(shown):
    return shown.evaluate("document.querySelector('#bay canvas').toDataURL()")


def test_the_bay_is_drawn_thin_on_white_paper_and_ticks_take_ways_away(live):
    shown = live(1280)
    everything = picture(shown)
    share = shown.evaluate(
        """async () => {
          const drawn = document.querySelector('#bay canvas'), copy = document.createElement('canvas');
          copy.width = drawn.width; copy.height = drawn.height;
          const pen = copy.getContext('2d'); pen.drawImage(drawn, 0, 0);
          const all = pen.getImageData(0, 0, copy.width, copy.height).data;
          let white = 0;
          for (let k = 0; k < all.length; k += 4) if (all[k] + all[k + 1] + all[k + 2] > 700) white += 1;
          return white / (all.length / 4);
        }"""
    )
    assert 0.4 < share < 0.98
    before = int(shown.inner_text("[data-bay=count]").split()[0])
    for box in shown.query_selector_all("input[data-outcome]"):
        box.uncheck()
    shown.wait_for_timeout(200)
    assert shown.inner_text("[data-bay=count]").startswith("0 of ")
    assert before > 10
    assert picture(shown) != everything


def test_every_view_is_another_picture(read):
    shown = read(1280)
    pictures = []
    for view in VIEWS:
        look_from(shown, view)
        assert shown.get_attribute(f"[data-view={view}]", "aria-pressed") == "true"
        pictures.append(picture(shown))
    assert len(set(pictures)) == len(VIEWS)


def look_from(shown, view):
    """Turn the bay; it is drawn at the browser's next frame."""
    shown.click(f"[data-view={view}]")
    shown.wait_for_timeout(200)


@pytest.mark.parametrize("width", [1280, 390])
def test_no_name_in_the_bay_hides_another_and_a_thread_comes_to_its_name(read, width):
    shown = read(width)
    for view in VIEWS:
        look_from(shown, view)
        boxes = [one.bounding_box() for one in shown.locator(".bay-name").locator("visible=true").all()]
        assert boxes, view
        for k, one in enumerate(boxes):
            for other in boxes[:k]:
                apart = abs(one["x"] - other["x"]) >= min(one["width"], other["width"]) - 1
                assert apart or abs(one["y"] - other["y"]) >= 14, view
        gaps = shown.evaluate(
            "[...document.querySelectorAll('.bay-threads line:not([visibility=hidden])')].map((one) => {"
            "const box = one.closest('.stage').getBoundingClientRect(), x = box.x + Number(one.getAttribute('x1'));"
            "const y = box.y + Number(one.getAttribute('y1'));"
            "return Math.min(...[...document.querySelectorAll('.bay-name:not([hidden])')].filter((name) => {"
            "const at = name.getBoundingClientRect(); return Math.abs(y - at.y - at.height / 2) < 3; })"
            ".map((name) => { const at = name.getBoundingClientRect();"
            "return Math.min(Math.abs(x - at.left), Math.abs(x - at.right)); })); })"
        )
        assert all(gap < 6 for gap in gaps), (view, gaps)


def test_by_keyboard_alone_the_bay_turns_a_ball_is_picked_and_played_and_folds_open(live):
    shown = live(1280)
    tab_to(shown, "canvas")
    first = picture(shown)
    shown.keyboard.press("ArrowLeft")
    shown.keyboard.press("+")
    shown.wait_for_timeout(200)
    assert picture(shown) != first
    tab_to(shown, "[data-view=above]")
    shown.keyboard.press("Enter")
    assert shown.get_attribute("[data-view=above]", "aria-pressed") == "true"
    tab_to(shown, "#bay-pick")
    shown.keyboard.press("ArrowDown")
    assert re.match(r"Shot \d+, .* it leaves the club at", shown.inner_text("#bay-story"))
    tab_to(shown, "[data-bay=play]")
    shown.keyboard.press("Enter")
    assert shown.inner_text("[data-bay=play]") == "Stop"
    playing = picture(shown)
    shown.wait_for_timeout(400)
    assert picture(shown) != playing
    shown.keyboard.press("Enter")
    assert shown.inner_text("[data-bay=play]") == "Play slowly"
    tab_to(shown, "main > section summary", 120)
    shown.keyboard.press("Enter")
    assert shown.evaluate("document.activeElement.parentElement.open")


def test_without_a_script_a_still_stands_in_its_place(look, page_at):
    shown = look(page_at("run"), java_script_enabled=False)
    assert shown.is_visible("#bay .still")
    assert not shown.is_visible("#bay canvas")
    assert not shown.is_visible("#bay-pick")


def test_without_webgl_the_still_stays(page_at, chromium):
    context = chromium.new_context()
    context.add_init_script("HTMLCanvasElement.prototype.getContext = () => null;")
    shown = context.new_page()
    shown.goto(page_at("run").as_uri())
    assert shown.is_visible("#bay .still")
    assert not shown.is_visible("#bay canvas")
    context.close()


@pytest.mark.parametrize("form", FORMS)
def test_with_every_fold_open_no_printed_page_is_more_than_half_empty_but_the_last(live, form):
    sheets = printed(live(1280), form, opened=True)
    assert 3 <= len(sheets) <= 24
    assert [k for k, sheet in enumerate(sheets[:-1], start=1) if sheet.filled <= 0.5] == []


@pytest.mark.parametrize("form", FORMS)
def test_the_sheet_for_the_wall_is_one_page(seen, form):
    first, second, *rest = seen("run").printed[form]
    assert 1 <= len(rest) <= 6
    for words in ("Checked by", "seed 3", "sha256", "What helps most", "Limits", " asked ("):
        assert words in first.text
    assert "Checked by" not in second.text


def test_on_a_phone_a_picture_is_whole_at_first_and_larger_when_asked(live, read):
    shown = live(390)
    picture = shown.locator("figure img").locator("visible=true").first
    assert picture.bounding_box()["width"] <= 390
    tick = shown.locator(".larger input").locator("visible=true").first
    tick.focus()
    shown.keyboard.press("Space")
    assert picture.bounding_box()["width"] > 800
    assert shown.evaluate("document.documentElement.scrollWidth") <= 390  # the box scrolls, not the page
    assert not read(1280).locator(".larger").first.is_visible()


BAYS = ("single_garage", "lean_to", "village_hall", "common_bay")


@pytest.fixture(scope="module", params=BAYS)
def demo(request, tmp_path_factory):
    """The whole page of a shipped bay: adverse cloth, failures, what would help, on few shots."""

    def make(folder):
        flightsim.run(SCENARIOS / f"{request.param}.yaml", 2000, 3, quick=False).save(folder)

    return made_once(tmp_path_factory, request.param, make) / "report.html"


NUMBER = r"\d[\d,.]*"
ONE = r"1 in \d[\d,.]*|\d+ in 100\b|(?:\d+ ft )?(?:\d+ )?\d+/\d+ in\b|\d+ ft \d+ in\b"  # each of these is one number


@pytest.mark.slow
def test_every_shipped_bays_page_is_short_has_few_numbers_a_paragraph_and_is_small(demo, look):
    shown = look(demo)
    assert 600 < words_before_the_folds(shown) <= 1500
    shown.evaluate("document.querySelectorAll('select').forEach((some) => some.remove())")
    paragraphs = shown.evaluate(
        "[...document.querySelectorAll('p:not(.facts), li, figcaption')].filter((one) => one.checkVisibility())"
        ".map((one) => one.innerText)"
    )
    assert len(paragraphs) > 30
    crowded = [words for words in paragraphs if len(re.findall(f"{ONE}|{NUMBER}", words)) > 10]
    assert crowded == []
    assert demo.stat().st_size < 3_000_000
