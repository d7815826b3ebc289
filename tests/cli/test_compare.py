"""`flightsim compare` as a person calls it."""

import json
import sys
from dataclasses import replace
from io import StringIO
from pathlib import Path
from types import SimpleNamespace

import pytest
from rich.console import Console
from size_bays import hall

from flightsim.cli import main
from flightsim.report.words.compare_told import print_variants
from flightsim.report.words.compare_words import chance_words
from flightsim.report.words.variant_words import (
    VariantRow,
    bar,
    not_chance,
    taken_up,
    targets_drawn,
    targets_table,
    variants_table,
)
from flightsim.study.run.rates import ESCAPE
from flightsim.study.run.result import Rate

DOCS = Path(__file__).parents[2] / "docs" / "compare.md"


@pytest.fixture
def flightsim(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    hall(tmp_path)

    def call(*args):
        monkeypatch.setattr(sys, "argv", ["flightsim", *map(str, args)])
        with pytest.raises(SystemExit) as left:
            main()
        shown = capsys.readouterr()
        return int(left.value.code or 0), shown.out, shown.err

    return call


def test_a_change_is_compared_on_the_same_shots_and_written_whole(flightsim, tmp_path):
    code, out, err = flightsim("compare", "hall.yaml", "--set", "canopy.depth=0.5m", "--shots", 500, "--out", "o")
    words = " ".join(out.split())
    assert code == 0, err
    assert "First: as it is. Second: with canopy.depth=0.5m. On the same 500 shots" in words
    assert "fewer get past in the first than in the second" in words
    assert "hit something unprotected hard" in words.partition("changed their outcome")[2]
    assert "iron clean" in words
    assert "safe" not in words
    assert sorted(path.name for path in (tmp_path / "o").iterdir()) == [
        ".flightsim",
        "changed.png",
        "compare.html",
        "compare.json",
    ]
    data = json.loads((tmp_path / "o" / "compare.json").read_text())
    escape = data["changed"][0]
    assert escape["only_second"] == len(data["only_in_the_second"]) > 0
    assert sum(row["shots"] for row in data["moved"]) == data["shots"] == 500
    docs = DOCS.read_text()
    keys = [*data, *data["bays"][0], *escape, *data["moved"][0]]
    assert [key for key in keys if f"`{key}`" not in docs] == []


def test_two_files_are_told_apart_by_name_or_file(flightsim, tmp_path):
    other = (tmp_path / "hall.yaml").read_text().replace("depth: 1 m", "depth: 1 m, slope: 2 deg")
    (tmp_path / "other.yaml").write_text(other)
    code, out, err = flightsim("compare", "hall.yaml", "other.yaml", "--shots", 60, "--out", "o")
    assert code == 0, err
    assert "First: hall.yaml. Second: other.yaml." in " ".join(out.split())


def test_two_that_do_not_differ_are_drawn_without_balls(flightsim, tmp_path):
    code, out, err = flightsim("compare", "hall.yaml", "hall.yaml", "--shots", 20, "--out", "o")
    assert code == 0, err
    assert "No ball tells the two apart." in " ".join(out.split())


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["hall.yaml"], "nothing to compare"),
        (["hall.yaml", "hall.yaml", "--set", "canopy.depth=1m"], "--set is for one scenario"),
        (["hall.yaml", "--set", "launches.types.0.ball_speed=30 m/s"], "strike the ball differently"),
        (["hall.yaml", "--set", "launches.types.0.strike=thin"], "do not play the same shot types"),
        (["hall.yaml", "--set", "canopy.dept=1m"], "depth"),
        (["none.yaml", "--set", "canopy.depth=1m"], "none.yaml"),
        (["hall.yaml", "--set", "canopy.depth=1m", "--shots", "6000000"], "at most"),
    ],
)
def test_bad_input_exits_2_with_a_way_out_and_writes_nothing(flightsim, tmp_path, args, words):
    code, _, err = flightsim("compare", *args, "--out", "o")
    assert code == 2
    assert words in err
    assert "Traceback" not in err
    assert [path.name for path in tmp_path.iterdir()] == ["hall.yaml"]


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (1.0, "as a rule"),
        (0.5, "in 50 of 100 cases"),
        (0.004, "in 1 of 250 cases"),
        (1e-5, "in less than 1 of 50,000 cases"),
    ],
)
def test_a_chance_is_told_as_cases(chance, words):
    assert chance_words(chance) == words


def test_several_variants_are_told_in_one_table_a_row_each(flightsim, tmp_path):
    code, out, err = flightsim(
        "compare", "hall.yaml", "--variant", "shallow: canopy.depth=0.5m", "--variant", "canopy.depth=1.001m",
        "--variant", "tee back: tee.from_end_wall=3.8m; canopy.depth=1.2m", "--shots", 500, "--out", "o",
    )  # fmt: skip
    words = " ".join(out.split())
    assert code == 0, err
    assert "4 bays on the same 500 shots. In B (shallow)" in words
    assert "more balls get past than in the first; that is not chance" in words
    assert sorted(path.name for path in (tmp_path / "o").iterdir()) == [
        ".flightsim",
        "compare.html",
        "compare.json",
        "variants.png",
    ]
    data = json.loads((tmp_path / "o" / "compare.json").read_text())
    assert [bay["name"] for bay in data["bays"]] == ["as it is", "shallow", "canopy.depth=1.001m", "tee back"]
    first, shallow, same, _ = data["variants"]
    assert first["against_the_first"] is None
    assert shallow["against_the_first"]["told_apart"] is True
    assert same["against_the_first"]["told_apart"] is False
    counts = [shallow["against_the_first"][key] for key in ("only_second", "only_first")]
    assert counts[0] - counts[1] == shallow["escape"]["count"] - first["escape"]["count"] > 0
    docs = DOCS.read_text()
    assert [key for key in [*first, *shallow["against_the_first"]] if f"`{key}`" not in docs] == []


def row_of(name, room, chance=0.95, targets=()):
    rates = SimpleNamespace(total={ESCAPE: Rate(40, 10000, 0.004, 0.003, 0.0141)})
    scenario = SimpleNamespace(units="metric")
    result = SimpleNamespace(shots=range(10000), sampled=True, rates=rates, targets=targets, scenario=scenario)
    past = SimpleNamespace(chance=chance, only_first=2, only_second=3, first=Rate(39, 10000, 0.002, 0.001, 0.01),
                           second=Rate(40, 10000, 0.004, 0.003, 0.0141))  # fmt: skip
    pair = None if name == "as it is" else SimpleNamespace(changed=[past])
    return VariantRow(name, result, pair, {"swing_room": room, "swing_room.canopy": 1.0}, None)


def test_what_is_the_same_in_all_bays_is_told_once_below_them():
    same = variants_table([row_of("as it is", 0.34), row_of("deeper", 0.34)])
    assert "swing room" not in same.head
    assert same.note.endswith("The same in all: swing room 340 mm.")
    other = variants_table([row_of("as it is", 0.34), row_of("deeper", 0.54)])
    assert other.head[-1] == "swing room"
    assert [cells[-1] for cells in other.rows] == ["340 mm", "540 mm"]
    assert "The same in all" not in other.note


def test_one_currency_stands_in_the_head_of_the_costs_and_two_in_their_cells():
    def priced(*currencies):
        bills = [
            SimpleNamespace(total=1500.0, prices=SimpleNamespace(currency=each), unpriced=()) for each in currencies
        ]
        rows = [replace(row_of(name, 0.3), bill=bill) for name, bill in zip(("as it is", "deeper"), bills, strict=True)]
        table = variants_table(rows)
        return table.head[-1], table.rows[1][-1]

    assert priced("EUR", "EUR") == ("cost, EUR", "1500.00")
    assert priced("EUR", "CHF") == ("cost", "1500.00 CHF")


@pytest.mark.parametrize(
    ("chance", "cell"), [(0.95, "may be, 95%"), (0.004, "no, 0.4%"), (1e-6, "no, <0.002%"), (1.0, "may be, 100%")]
)
def test_chance_is_one_word_and_its_share_in_a_table_of_bays(chance, cell):
    table = variants_table([row_of("as it is", 0.3), row_of("deeper", 0.3, chance)])
    assert table.rows[1][table.head.index("chance?")] == cell


def test_twelve_bays_are_read_on_a_terminal_of_80_columns_with_two_lines_a_row_and_no_word_broken():
    names = ["as it is", *(f"canopy {k / 10:g}" for k in range(6, 17))]
    target = SimpleNamespace(name="left", asked=True, upper=0.004, limit=0.002, kind="rate", words="left the room",
                             place="", met=False)  # fmt: skip
    console = Console(width=80, record=True, file=StringIO())
    print_variants([row_of(name, 0.34, 1e-6, [target]) for name in names], console)
    text = console.export_text()
    bays = text.partition("The bays, a row each")[2].partition("Got past:")[0].strip().splitlines()
    assert len(bays) <= 3 + 2 * len(names)
    assert all(len(line) <= 80 for line in text.splitlines())
    for few in ("A, B, C, D", "E, F, G, H", "I, J, K, L"):
        assert f"Targets of {few}" in text
    assert text.count("#####>") == len(names)
    assert text.count("The bound of each") == 1


def test_a_limit_is_told_as_the_verdict_tells_it_and_not_rounded():
    target = SimpleNamespace(name="swing", asked=True, upper=0.2, limit=0.15, kind="length", words="swing", place="")
    row = row_of("as it is", 0.3, targets=[target])
    row.result.scenario.units = "imperial"
    assert targets_table([row]).rows[0][1] == "over 5 7/8 in"


def test_a_page_draws_the_bars_that_a_terminal_spells_and_says_met_without_colour():
    met, unmet = (
        SimpleNamespace(name="left", asked=True, upper=upper, limit=0.002, kind="rate", words="left the room", place="",
                        met=upper < 0.002) for upper in (0.0005, 0.004)
    )  # fmt: skip
    drawn = targets_drawn([row_of("as it is", 0.3, targets=[met]), row_of("#2", 0.3, 0.5, [unmet])])
    assert drawn.rows == (("left the room", "1 in 500", "+ 1 in 2,000", "! 1 in 250"),)
    assert drawn.taken == ((None, None, 0.25, 1.0),)
    assert "#" not in drawn.note


@pytest.mark.parametrize("text", ["deeper:", "deeper", ": canopy.depth=1m", "a: canopy.depth"])
def test_a_variant_that_cannot_be_read_shows_how_to_write_one(flightsim, text):
    code, _, err = flightsim("compare", "hall.yaml", "--variant", text)
    assert code == 2
    assert "NAME: KEY=VALUE" in err


def test_the_more_bays_are_compared_the_less_counts_as_told_apart():
    row = SimpleNamespace(past=SimpleNamespace(chance=0.025), result=SimpleNamespace(sampled=True))
    assert not_chance(row, 1)
    assert not_chance(row, 2)
    assert not not_chance(row, 3)


@pytest.mark.parametrize(
    ("share", "shown"),
    [(0.0, "..... "), (1e-9, "#.... "), (0.5, "##... "), (0.999, "####. "), (1.0, "#####>"), (7.0, "#####>")],
)
def test_a_bar_is_full_at_the_limit_and_not_before(share, shown):
    assert bar(share) == shown


@pytest.mark.parametrize(("kind", "limit", "upper", "taken"), [("rate", 0.01, 0.02, 2.0), ("length", 0.2, 0.4, 0.5),
                                                               ("length", 0.2, -0.1, float("inf"))])  # fmt: skip
def test_a_length_takes_up_its_limit_the_other_way_round(kind, limit, upper, taken):
    assert taken_up(SimpleNamespace(kind=kind, limit=limit, upper=upper)) == taken
