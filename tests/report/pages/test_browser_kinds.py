"""The pages of all other commands in a real browser, of a bay whose name means harm. Run with `pytest -m browser`."""

import os
import re
from functools import partial
from pathlib import Path

import pytest
from browser_looks import PLACES, serious, tells_where_it_was_made
from click.testing import CliRunner
from improved_by_hand import improved
from shared_pages import made_once
from size_bays import HALL, LOFTED

from flightsim.cli import cli
from flightsim.library.find_changes import Improvement

pytestmark = pytest.mark.browser

NAME = "<script>document.title = 'run'</script> & shed"
GARAGE = Path(__file__).parents[3] / "flightsim" / "scenario" / "new" / "garage.yaml"
CALLS = {
    "size": ("size", "hall.yaml", "--vary", "canopy.depth=0.5m..1.5m", "--step", "500mm",
             "--target", "escape < 1 in 4"),
    "map": ("map", "hall.yaml", "--club", "iron"),
    "spot": ("spot", "hall.yaml", "--box", "300x300x150mm", "--shots", "60", "--under-roof", "100mm"),
    "compare": ("compare", "hall.yaml", "--set", "canopy.depth=0.5m", "--shots", "60"),
    "variants": ("compare", "hall.yaml", "--variant", "shallow: canopy.depth=0.5m",
                 "--variant", "deep: canopy.depth=1.5m", "--shots", "60"),
    "build": ("build", "garage.yaml"),
    "strike": ("strike", "--club", "7-iron", "--club-speed", "38m/s", "--toe", "-30mm"),
    "strikes": ("strike", "--player", "mid", "--club", "7-iron", "--strikes", "1200"),
}  # fmt: skip
KINDS = (*CALLS, "improve")
ALL_STOPS = "summary, a[href], [tabindex='0']"
AT_A_SHUT_FOLD = (
    "(() => { const here = document.activeElement; here.dataset.seen = 'yes';"
    " return here.matches('summary') && !here.parentElement.open; })()"
)


def named(text):
    """A scenario under a name that means harm."""
    kept = [line for line in text.splitlines(keepends=True) if not line.startswith("name:")]
    return f'name: "{NAME}"\n' + "".join(kept)


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Where each command writes its page, made when it is asked for."""
    bays = tmp_path_factory.mktemp("bays")
    (bays / "hall.yaml").write_text(named(HALL) + LOFTED, encoding="utf-8")
    (bays / "garage.yaml").write_text(named(GARAGE.read_text(encoding="utf-8")), encoding="utf-8")

    def make(kind, folder):
        if kind == "improve":
            Improvement(improved(bays, NAME), 3).save(folder)
            return
        before = os.getcwd()
        os.chdir(bays)
        try:
            answer = CliRunner().invoke(cli, [*CALLS[kind], "--out", str(folder)], standalone_mode=False)
        finally:
            os.chdir(before)
        assert answer.exception is None, answer.output

    return lambda kind: next(made_once(tmp_path_factory, kind, partial(make, kind)).glob("*.html"))


@pytest.mark.parametrize(("width", "scheme"), PLACES)
@pytest.mark.parametrize("kind", KINDS)
def test_a_page_of_any_kind_fits_its_screen_and_can_be_read_by_everybody(look, pages, kind, width, scheme):
    shown = look(pages(kind), width, scheme)
    assert shown.evaluate("document.documentElement.scrollWidth") <= width
    paper = shown.evaluate("getComputedStyle(document.body).backgroundColor")
    assert (paper == "rgb(255, 255, 255)") is (scheme == "light")
    assert serious(shown) == []
    for box in shown.query_selector_all("figure img"):
        assert box.bounding_box()["width"] <= width


@pytest.mark.parametrize("kind", KINDS)
def test_a_page_of_any_kind_runs_no_name_tells_no_path_and_is_small(look, pages, kind):
    shown = look(pages(kind))
    assert shown.title() != "run"
    assert shown.evaluate("document.scripts.length") == 0
    if not kind.startswith("strike"):
        assert NAME in shown.inner_text("body")
    assert not tells_where_it_was_made(pages(kind))
    assert pages(kind).stat().st_size < 3_000_000
    for shown_picture in shown.query_selector_all("figure img"):  # a finding has a number in it, or says that none is
        assert re.search(r"\d|Nowhere", shown_picture.get_attribute("alt"))


@pytest.mark.parametrize("kind", KINDS)
def test_every_fold_and_box_of_a_page_of_any_kind_is_reached_and_opened_by_keyboard(look, pages, kind):
    shown = look(pages(kind))
    missed = f"[...document.querySelectorAll({ALL_STOPS!r})].filter((one) => !one.dataset.seen)"
    wanted = shown.evaluate(f"{missed}.length")
    assert wanted > 0
    for _ in range(4 * wanted + 20):
        shown.keyboard.press("Tab")
        if shown.evaluate(AT_A_SHUT_FOLD):
            shown.keyboard.press("Enter")
        elif shown.evaluate(f"{missed}.length") == 0:
            break
    assert shown.evaluate(f"{missed}.map((one) => one.outerHTML.slice(0, 80))") == []
    assert shown.evaluate("document.querySelectorAll('details:not([open])').length") == 0


@pytest.mark.parametrize("kind", KINDS)
def test_no_printed_page_of_any_kind_is_more_than_half_empty_but_the_last(look, pages, kind):
    import numpy as np
    import pypdfium2

    shown = look(pages(kind))
    printed = [one.render(scale=1.0).to_pil().convert("L") for one in pypdfium2.PdfDocument(shown.pdf(format="A4"))]
    for number, one in enumerate(printed[:-1], start=1):
        dark = np.asarray(one) < 180
        rows = np.flatnonzero(dark[: int(0.93 * len(dark))].any(axis=1))
        assert rows.max() > 0.5 * len(dark), f"page {number} of {len(printed)}"
