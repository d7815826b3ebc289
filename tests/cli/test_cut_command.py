"""`flightsim cut` from the command line: its JSON, its words, its refusals."""

import json

import pytest
from click.testing import CliRunner, Result

from flightsim.cli import cli
from flightsim.errors import BadInputError


def cut(*arguments: str) -> Result:
    return CliRunner().invoke(cli, ["cut", *arguments])


def refused(*arguments: str) -> str:
    error = cut(*arguments).exception
    assert isinstance(error, BadInputError)
    return str(error)


def test_json_has_a_count_of_bars_and_one_entry_a_bar() -> None:
    data = json.loads(cut("--stock", "6000mm", "--kerf", "3mm", "3x4250mm", "2x3000mm", "--json").output)
    assert (data["bars"], data["optimal"], len(data["plan"])) == (5, True, 5)
    assert data["plan"][0] == {"stock_mm": 6000.0, "pieces_mm": [4250.0], "offcut_mm": 1747.0}
    assert data["plan"][4] == {"stock_mm": 6000.0, "pieces_mm": [3000.0], "offcut_mm": 2997.0}


def test_without_a_kerf_two_halves_come_from_one_bar() -> None:
    data = json.loads(cut("--stock", "6000mm", "--kerf", "0mm", "2x3000mm", "--json").output)
    assert data["plan"] == [{"stock_mm": 6000.0, "pieces_mm": [3000.0, 3000.0], "offcut_mm": 0.0}]


def test_words_say_what_to_buy_what_to_cut_and_what_is_left() -> None:
    words = cut("--stock", "6000mm", "3x4250mm", "1700mm").output
    assert "Buy 3 bars: 3 x 6000 mm (18.00 m) for 4 pieces, 14.45 m in all." in words
    assert "4250 mm + 1700 mm" in words
    assert "Offcuts: 2 x 1747 mm, 1 x 44 mm." in words


def test_prices_decide_and_are_told() -> None:
    data = json.loads(cut("--stock", "6000mm@40", "--stock", "6500mm@45.5x1", "2x3100mm", "--json").output)
    assert (data["cost"], data["bought"]) == (45.5, [{"stock_mm": 6500.0, "bars": 1, "price": 45.5}])


def test_feet_and_inches_are_read_and_told() -> None:
    words = cut("--stock", "20ft", "--kerf", "1/8in", "--units", "imperial", "5x6 ft 7 1/2 in").output
    assert "Buy 2 bars: 2 x 20 ft" in words
    assert "3 x 6 ft 7 1/2 in" in words
    assert "Each cut takes 1/8 in." in words


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--stock", "6000mm", "7000mm"), "7000 mm is longer than any stock"),
        (("--stock", "6000mm", "3x4250"), "4250 mm, if that is what you mean"),
        (("--stock", "6000mm@4,5", "1m"), "the price '4,5'"),
        (("--stock", "6000mmx0", "1m"), "'0' in '6000mmx0' is not a count of bars"),
        (("--stock", "6000mmx2", "3x4250mm"), "the stock does not suffice: 2 of 6000 mm"),
        (("--stock", "6000mm", "0x4250mm"), "0 is no count of pieces"),
        (("--stock", "6000mm", "4250mmx3"), "try: 3x4250mm"),
        (("--stock", "6000mm", "2.5x4250mm"), "'2.5' is no count of pieces"),
        (("--stock", "6000mm", "1e9x4250mm"), "'1e9' is no count of pieces"),
        (("--stock", "6000mm", "1000000000x4250mm"), "1000000000 is no count of pieces"),
        (("--stock", "6000mm@EUR42", "1m"), "the price 'EUR42'"),
        (("--stock", "6000mm", "-1m"), "out of range"),
        (("--stock", "6000mm", "--kerf", "3", "1m"), "no unit"),
    ],
)
def test_what_cannot_be_cut_is_refused_with_a_way_out(arguments: tuple[str, ...], words: str) -> None:
    refusal = refused("--stock", "6000mm", "--", "-1m") if arguments[-1] == "-1m" else refused(*arguments)
    assert words in refusal
    assert "try:" in refusal


@pytest.mark.parametrize(("stock", "piece", "answer"), [
    ("20ft", "5x6 ft 7 1/2 in", "Buy 2 bars: 2 x 20 ft"),
    ("240in", "30in", "Buy 1 bar: 1 x 20 ft"),
    ("6000mm", "3x4250mm", "Buy 3 bars: 3 x 6000 mm"),
    ("6m", "3x30in", "Buy 1 bar: 1 x 6000 mm"),
])  # fmt: skip
def test_it_answers_in_the_units_that_it_was_asked_in(stock: str, piece: str, answer: str) -> None:
    result = CliRunner().invoke(cli, ["cut", "--stock", stock, piece], standalone_mode=False)
    assert answer in result.output


def test_units_that_are_asked_for_are_those_of_the_text() -> None:
    words = ["cut", "--stock", "20ft", "30in", "--units", "metric"]
    assert "6096 mm" in CliRunner().invoke(cli, words, standalone_mode=False).output
