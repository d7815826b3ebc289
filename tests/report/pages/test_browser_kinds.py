"""The pages of all commands in a real browser, of a bay whose name means harm. Run with `pytest -m browser`."""

import re

import pytest
from browser_looks import CONTRAST, PLACES, look_at, tells_where_it_was_made
from kinds_of_page import KINDS, NAME
from printed_pages import FORMS

pytestmark = pytest.mark.browser

SCRIPTED = ("run",)  # its keys have a test of their own
MOST_EMPTY = 0.5  # of a printed page's height
ALL_STOPS = "summary, a[href], [tabindex='0']"
AT_A_SHUT_FOLD = (
    "(() => { const here = document.activeElement; here.dataset.seen = 'yes';"
    " return here.matches('summary') && !here.parentElement.open; })()"
)


@pytest.mark.parametrize("kind", KINDS)
def test_a_page_of_any_kind_runs_without_an_error_and_asks_for_nothing(seen, kind):
    assert seen(kind).wrong == []


@pytest.mark.parametrize(("width", "scheme"), PLACES)
@pytest.mark.parametrize("kind", KINDS)
def test_a_page_of_any_kind_fits_its_screen_shut_and_with_every_fold_open(seen, kind, width, scheme):
    place = seen(kind).places[width, scheme]
    assert max(place.across) <= width
    assert place.too_wide == []
    assert (place.paper == "rgb(255, 255, 255)") is (scheme == "light")


@pytest.mark.parametrize("kind", KINDS)
def test_no_column_of_any_kind_is_a_word_wide_on_a_phone(seen, kind):
    assert seen(kind).places[390, "light"].tall_cells == []


@pytest.mark.parametrize(("width", "scheme"), PLACES)
@pytest.mark.parametrize("kind", KINDS)
def test_whoever_reads_otherwise_can_read_a_page_of_any_kind(seen, kind, width, scheme):
    assert seen(kind).places[width, scheme].serious == []


@pytest.mark.parametrize("kind", KINDS)
def test_a_page_of_any_kind_runs_no_name_tells_no_path_and_is_small(seen, page_at, kind):
    shown = seen(kind)
    assert shown.title != "run"
    assert shown.scripts == (2 if kind in SCRIPTED else 0)
    if not kind.startswith("strike"):
        assert NAME in shown.text
    assert not tells_where_it_was_made(page_at(kind))
    assert page_at(kind).stat().st_size < 3_000_000


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_of_any_kind_says_its_finding_to_whoever_cannot_see_it(seen, kind):
    alts = seen(kind).alts
    assert alts or kind == "build"
    for alt in alts:  # a finding has a number in it, says that none is, or what most are
        assert re.search(r"\d|Nowhere|: most ", alt), alt


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in SCRIPTED])
def test_every_fold_and_box_of_a_page_of_any_kind_is_reached_and_opened_by_keyboard(look, page_at, kind):
    shown = look(page_at(kind))
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


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("kind", KINDS)
def test_no_printed_page_of_any_kind_is_more_than_half_empty_but_the_last(seen, kind, form):
    sheets = seen(kind).printed[form]
    assert 1 <= len(sheets) <= 10
    assert [k for k, sheet in enumerate(sheets[:-1], start=1) if sheet.filled <= MOST_EMPTY] == []


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("kind", KINDS)
def test_every_printed_page_of_any_kind_has_its_number_and_how_many_there_are(seen, kind, form):
    sheets = seen(kind).printed[form]
    for number, sheet in enumerate(sheets, start=1):
        assert f"{number} / {len(sheets)}" in sheet.text


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("kind", KINDS)
def test_no_printed_picture_of_any_kind_is_cut_drawn_out_or_left_away(seen, kind, form):
    sheets = seen(kind).printed[form]
    assert [sheet.cut for sheet in sheets if sheet.cut] == []
    assert sum(len(sheet.pictures) for sheet in sheets) == seen(kind).pictures


@pytest.mark.parametrize("kind", KINDS)
def test_no_printed_table_of_any_kind_is_wider_than_the_paper(seen, kind):
    assert seen(kind).wide_tables == []


@pytest.mark.parametrize("form", FORMS)
def test_lists_that_are_shut_on_a_builds_page_are_printed_all_the_same(seen, form):
    on_paper = "".join(sheet.text for sheet in seen("build").printed[form])
    for words in ("Measured on the tube itself", "The nearest to its limit of each kind", "weld its stub"):
        assert words in on_paper
        assert words not in seen("build").text


def test_a_contrast_that_only_a_phone_in_the_dark_has_is_asked_though_all_others_were(chromium, tmp_path):
    page = tmp_path / "planted.html"
    only = "@media screen and (max-width: 400px) and (prefers-color-scheme: dark)"
    style = f"body {{ background: #fff; color: #111; }} {only} {{ p {{ color: #ccc; }} }}"
    page.write_text(f'<!DOCTYPE html><html lang="en"><title>A</title><style>{style}</style><main><h1>A</h1><p>words')
    looked, asked = [], set()
    for _ in range(2):
        found = look_at(chromium, page, asked)
        looked.append({place: [rule for rule, _ in found.places[place].serious] for place in PLACES})
    assert looked[0].pop((390, "dark")) == [CONTRAST]
    assert not any([*looked[0].values(), *looked[1].values()])  # asked once
