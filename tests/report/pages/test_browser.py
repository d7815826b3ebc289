"""The page in a real browser: Debian's Chromium, driven by playwright. Run with `pytest -m browser`."""

import re
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from browser_looks import PLACES, serious, tab_to, tells_where_it_was_made
from PIL import Image
from shared_pages import made_once

import flightsim

SCENARIOS = Path(__file__).parents[3] / "scenarios"
pytestmark = pytest.mark.browser

NAME = "<script>document.title = 'run'</script> & shed"
MOST_EMPTY = 0.5  # of a printed page's height


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """The page of a shipped bay whose name means harm."""

    def make(folder):
        bay = flightsim.load(SCENARIOS / "single_garage.yaml").with_changes({"name": NAME})
        flightsim.run(bay, 500, 3).save(folder)

    return made_once(tmp_path_factory, "named_run", make) / "report.html"


@pytest.fixture
def live(look, written):
    """The page once its bay is drawn."""

    def open_page(*args, **more):
        shown = look(written, *args, **more)
        shown.wait_for_selector("#bay[data-ready=yes]")
        return shown

    return open_page


@pytest.mark.parametrize(("width", "scheme"), PLACES)
def test_a_page_runs_without_an_error_asks_for_nothing_and_fits_its_screen(live, width, scheme):
    shown = live(width, scheme)
    assert shown.evaluate("document.documentElement.scrollWidth") <= width
    paper = shown.evaluate("getComputedStyle(document.body).backgroundColor")
    assert (paper == "rgb(255, 255, 255)") is (scheme == "light")
    for box in shown.query_selector_all("figure img, #bay canvas"):
        place = box.bounding_box()
        assert place is None or place["x"] + place["width"] <= width + 0.5


@pytest.mark.parametrize(("width", "scheme"), PLACES)
def test_whoever_reads_otherwise_can_read_it(live, width, scheme):
    assert serious(live(width, scheme)) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_drawings_and_the_bay_are_dark_where_a_reader_prefers_that(live, scheme):
    shown = live(1280, scheme)
    for drawn in (shown.locator(".stage"), shown.locator("figure img.line-work").locator("visible=true").first):
        shades = np.asarray(Image.open(BytesIO(drawn.screenshot())).convert("L"))
        assert bool(np.median(shades) > 200) is (scheme == "light")
        assert np.ptp(shades) > 150  # lines are seen on it


def test_names_that_mean_harm_stay_text(live):
    shown = live()
    assert shown.inner_text("h1") == NAME
    assert shown.title().startswith(NAME)


def test_the_first_screen_holds_name_verdict_bay_and_what_helps(live):
    shown = live(1280)
    for selector in ("h1", ".facts", ".who", ".lines", "canvas", ".fixes"):
        assert shown.locator(selector).first.bounding_box()["y"] < 800, selector


def test_a_page_is_short_before_anything_is_opened(live):
    shown = live(1280)
    shown.evaluate("document.querySelectorAll('select').forEach((some) => some.remove())")
    assert 300 < len(shown.inner_text("body").split()) <= 1500


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


@pytest.mark.parametrize("view", ["tee", "behind", "side", "above"])
def test_every_view_is_another_picture(live, view):
    shown = live(1280)
    first = picture(shown)
    shown.click(f"[data-view={view}]")
    shown.wait_for_timeout(200)
    assert shown.get_attribute(f"[data-view={view}]", "aria-pressed") == "true"
    assert picture(shown) != first


@pytest.mark.parametrize("width", [1280, 390])
def test_no_name_in_the_bay_hides_another_and_a_thread_comes_to_its_name(live, width):
    shown = live(width)
    for view in ("corner", "tee", "behind", "side", "above"):
        shown.click(f"[data-view={view}]")
        shown.wait_for_timeout(200)
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


@pytest.mark.parametrize("more", [{"java_script_enabled": False}])
def test_without_a_script_a_still_stands_in_its_place(look, written, more):
    shown = look(written, **more)
    assert shown.is_visible("#bay .still")
    assert not shown.is_visible("#bay canvas")
    assert not shown.is_visible("#bay-pick")


def test_without_webgl_the_still_stays(look, written, chromium):
    context = chromium.new_context()
    context.add_init_script("HTMLCanvasElement.prototype.getContext = () => null;")
    shown = context.new_page()
    shown.goto(written.as_uri())
    assert shown.is_visible("#bay .still")
    assert not shown.is_visible("#bay canvas")
    context.close()


def printed(shown, form, opened=False):
    """The pages as they are printed: `(height, width)` arrays of how dark each point is, 0 to 1."""
    import pypdfium2

    if opened:
        shown.evaluate("document.querySelectorAll('details').forEach((some) => { some.open = true; })")
    pages = pypdfium2.PdfDocument(shown.pdf(format=form))
    return [1.0 - np.asarray(one.render(scale=1.0).to_pil().convert("L")) / 255.0 for one in pages]


@pytest.mark.parametrize("form", ["A4", "Letter"])
@pytest.mark.parametrize("opened", [False, True])
def test_no_printed_page_is_more_than_half_empty_but_the_last(live, form, opened):
    pages = printed(live(1280), form, opened)
    assert 3 <= len(pages) <= (24 if opened else 8)
    for number, dark in enumerate(pages[:-1], start=1):
        height = len(dark)
        rows = np.flatnonzero((dark[: int(0.93 * height)] > 0.3).any(axis=1))  # without the page's number
        assert rows.max() > MOST_EMPTY * height, f"page {number} of {len(pages)}"


@pytest.mark.parametrize("form", ["A4", "Letter"])
def test_the_sheet_for_the_wall_is_one_page(live, form):
    import pypdfium2

    shown = live(1280)
    pages = pypdfium2.PdfDocument(shown.pdf(format=form))
    first, second = (pages[k].get_textpage().get_text_range() for k in (0, 1))
    for words in ("Checked by", "seed 3", "sha256", "What helps most", "Limits", " asked ("):
        assert words in first
    assert f"1 / {len(pages)}" in first
    assert "Checked by" not in second


def test_a_page_tells_no_path_and_no_user(written):
    assert not tells_where_it_was_made(written)


def test_on_a_phone_a_picture_is_whole_at_first_and_larger_when_asked(live):
    shown = live(390)
    drawn = shown.locator("figure img").locator("visible=true").first
    assert drawn.bounding_box()["width"] <= 390
    tick = shown.locator(".larger input").locator("visible=true").first
    tick.focus()
    shown.keyboard.press("Space")
    assert drawn.bounding_box()["width"] > 800
    assert shown.evaluate("document.documentElement.scrollWidth") <= 390  # the box scrolls, not the page
    assert not live(1280).locator(".larger").first.is_visible()


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
    shown.evaluate("document.querySelectorAll('select').forEach((some) => some.remove())")
    assert 600 < len(shown.inner_text("body").split()) <= 1500
    told = shown.evaluate(
        "[...document.querySelectorAll('p:not(.facts), li, figcaption')].filter((one) => one.checkVisibility())"
        ".map((one) => one.innerText)"
    )
    assert len(told) > 30
    crowded = [words for words in told if len(re.findall(f"{ONE}|{NUMBER}", words)) > 10]
    assert crowded == []
    assert demo.stat().st_size < 3_000_000
