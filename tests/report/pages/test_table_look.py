"""How a table stands on a page: cards for words, columns for numbers, bars for what is taken up of a limit."""

import re

from flightsim.report.pages.frame import Section, page
from flightsim.report.pages.table_look import as_cards
from flightsim.report.words.plain_table import Table

SHORT = ("A1", "2", "2434 mm")
WORDY = ("50x50x2.5 square tube", "2434 mm", "frame left upright, frame right upright")
NUMBERS = tuple(f"1 in {1000 * k:,}" for k in range(1, 8))


def table(*rows, head=(), numbers=frozenset(), taken=()):
    """Rows under heads of one letter, or under these."""
    return Table("", head or tuple("abcdefg"[: len(rows[0])]), rows, numbers, "", taken)


def test_rows_of_words_too_wide_for_a_phone_are_cards_and_numbers_stay_in_columns():
    assert as_cards(table(WORDY))
    assert as_cards(table(("A1", "2434 mm", "frame left upright, frame right upright, frame back bar")))
    assert not as_cards(table(SHORT))
    assert not as_cards(table(("struck something through the cloth", *NUMBERS)))
    assert not as_cards(table(("struck something through the cloth", *NUMBERS), numbers=frozenset(range(1, 8))))


def test_a_card_is_a_table_still_for_who_hears_it_and_each_cell_has_its_head():
    shown = page("Bay", [Section("Cut list", (), [table(WORDY, head=("of", "length", "which"))])])
    for role in ("table", "row", "columnheader", "cell"):
        assert f'role="{role}"' in shown
    assert re.findall(r'data-head="(\w+)"', shown) == ["of", "length", "which"]


def test_a_table_without_a_title_is_called_by_its_section():
    shown = page("Bay", [Section("Cut list", (), [table(SHORT)])])
    assert 'aria-label="Cut list"' in shown


def test_a_bar_stands_where_a_share_is_told_and_is_full_from_the_limit_on():
    rows = (("head", "1 in 44", "1 in 900"),)
    shown = page("Bay", [Section("Targets", (), [table(*rows, taken=((None, 1.0, 0.25),))])])
    assert re.findall(r'class="(taken[ \w]*)" style="--taken: (\d+)%"', shown) == [
        ("taken full", "100"),
        ("taken", "25"),
    ]


def test_what_is_taken_up_goes_with_its_column_and_its_row():
    whole = table(("head", "1", "2"), ("body", "3", "4"), taken=((None, 0.1, 0.2), (None, 0.3, 0.4)))
    assert whole.without("b").taken == ((None, 0.2), (None, 0.4))
    assert whole.first(1).taken == ((None, 0.1, 0.2),)


def test_a_fold_that_is_printed_though_shut_and_one_that_is_open_say_so():
    folds = [Section("Long", ["w"], printed_shut=True), Section("Short", ["w"], opened=True), Section("Plain", ["w"])]
    shown = page("Bay", [Section("Lists", (), folds=folds), Section("Notes", ["w"], folded=True, printed_shut=True)])
    assert re.findall(r'<details id="(\w+)"([^>]*)>', shown) == [
        ("long", ' class="on-paper"'), ("short", " open"), ("plain", ""), ("notes", ' class="on-paper"'),
    ]  # fmt: skip
