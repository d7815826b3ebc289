"""Shell completion, as docs/how-to.md tells it: the variable, commands, options and the file names of a scenario."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from flightsim.cli import COMMANDS, main

HOW_TO = (Path(__file__).parents[2] / "docs" / "how-to.md").read_text(encoding="utf-8")
LINES = re.findall(r"_FLIGHTSIM_COMPLETE=(\w+)_source flightsim", HOW_TO)


@pytest.fixture
def asked(monkeypatch, capsys):
    """What the program says to a shell that asks."""

    def ask(shell: str, what: str, words: str = "") -> str:
        monkeypatch.setattr(sys, "argv", ["flightsim"])
        monkeypatch.setenv("_FLIGHTSIM_COMPLETE", f"{shell}_{what}")
        monkeypatch.setenv("COMP_WORDS", words)
        monkeypatch.setenv("COMP_CWORD", str(len(words.split()) - 1))
        with pytest.raises(SystemExit) as left:
            main()
        assert left.value.code == 0
        return capsys.readouterr().out

    return ask


def test_the_docs_tell_three_shells():
    assert LINES == ["bash", "zsh", "fish"]


@pytest.mark.parametrize("shell", [shell for shell in LINES if shell != "bash"])  # which looks for a bash first
def test_each_shell_gets_a_function_of_the_programs_name(asked, shell):
    script = asked(shell, "source")
    assert "_flightsim_completion" in script
    assert "_FLIGHTSIM_COMPLETE" in script


def test_commands_are_completed(asked):
    completed = asked("bash", "complete", "flightsim s").split()
    assert completed == [f"plain,{name}" for name in sorted(COMMANDS) if name.startswith("s")]


def test_options_of_a_command_are_completed(asked):
    assert asked("bash", "complete", "flightsim run --s").split() == ["plain,--shots", "plain,--seed", "plain,--set"]


def test_a_scenario_is_completed_by_the_shells_own_file_names(asked):
    assert asked("bash", "complete", "flightsim run gar").split() == ["file,gar"]
