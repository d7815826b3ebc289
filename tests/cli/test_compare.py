"""`flightsim compare` as a person calls it."""

import json
import sys
from pathlib import Path

import pytest
from size_bays import hall

from flightsim.cli import main
from flightsim.report.words.compare_words import chance_words

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
    told = " ".join(out.split())
    assert code == 0, err
    assert "First: as it is. Second: with canopy.depth=0.5m. On the same 500 shots" in told
    assert "fewer get past in the first than in the second" in told
    assert "hit something unprotected hard" in told.partition("changed their outcome")[2]
    assert "iron clean" in told
    assert "safe" not in told
    assert sorted(path.name for path in (tmp_path / "o").iterdir()) == [".flightsim", "changed.png", "compare.json"]
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
