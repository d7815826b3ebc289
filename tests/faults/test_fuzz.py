"""Hostile scenarios, tables and command lines: never a traceback, always what was found and a way out."""

from __future__ import annotations

import random
import sys
from pathlib import Path

import pytest
from mutations import hostile_command, hostile_scenario, hostile_table

from flightsim import cli
from flightsim.errors import BadInputError
from flightsim.study.run.open_bay import open_bay

FEW, MANY, A_PIECE = 60, 33_400, 200
SIDES = ("--set", "columns.azimuth.left_is_positive=false", "--set", "columns.spin_tilt.left_is_positive=false")


def check_scenarios(folder: Path, seeds: range) -> None:
    path = folder / "hostile.yaml"
    for seed in seeds:
        path.write_text(hostile_scenario(random.Random(seed)), encoding="utf-8", errors="surrogatepass")
        refusal = refusal_of(path)
        assert not refusal or refusal.startswith(str(path)), f"seed {seed}: no file in {refusal}"


def refusal_of(path: Path) -> str:
    """What a scenario is refused with, or "". Anything but bad input, a plugin's blame among them, is raised."""
    try:
        open_bay(path)
    except BadInputError as error:
        return str(error)
    return ""


def check_commands(monkeypatch: pytest.MonkeyPatch, capsys, lines: list[list[str]]) -> None:
    monkeypatch.setattr(sys.stdin, "isatty", lambda: False, raising=False)
    for line in lines:
        monkeypatch.setattr(sys, "argv", ["flightsim", *line])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        printed, code = capsys.readouterr(), ended.value.code or 0
        allowed = (0, 1, 2, 3) if line[:1] == ["schema"] else (0, 1, 2)  # a plugin that is not installed
        assert code in allowed, f"{line}: {printed.err[-2000:]}"
        assert code != 2 or printed.err.strip(), f"{line}: refused without a word"


def tables(monkeypatch: pytest.MonkeyPatch, capsys, folder: Path, seeds: range) -> None:
    monkeypatch.chdir(folder)
    for seed in seeds:
        Path("t.csv").write_bytes(hostile_table(random.Random(seed)))
        check_commands(monkeypatch, capsys, [["measured", "t.csv", *SIDES]])


def test_hostile_scenarios_are_told_with_their_file(tmp_path):
    check_scenarios(tmp_path, range(FEW))


def test_hostile_command_lines_end_with_a_word(monkeypatch, capsys, tmp_path):
    monkeypatch.chdir(tmp_path)
    check_commands(monkeypatch, capsys, [hostile_command(random.Random(seed)) for seed in range(2 * FEW)])


def test_hostile_tables_end_with_a_word(monkeypatch, capsys, tmp_path):
    tables(monkeypatch, capsys, tmp_path, range(2 * FEW))


@pytest.mark.slow
@pytest.mark.parametrize("first", range(FEW, FEW + MANY, A_PIECE))
def test_many_hostile_inputs(monkeypatch, capsys, tmp_path, first):
    """100,200 in all, in pieces that can be run one by one."""
    seeds = range(first, first + A_PIECE)
    check_scenarios(tmp_path, seeds)
    tables(monkeypatch, capsys, tmp_path, seeds)
    check_commands(monkeypatch, capsys, [hostile_command(random.Random(seed)) for seed in seeds])
