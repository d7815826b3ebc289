"""The ten questions of docs/how-to.md: each has its command, its seconds and its answer, and the commands run."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from flightsim.cli import cli

ROOT = Path(__file__).parents[2]
SECTION = (ROOT / "docs" / "how-to.md").read_text(encoding="utf-8").partition("## Ten questions of the trade")[2]
SECTION = SECTION.partition("\n## ")[0]
ASKED = re.findall(
    r"\*\*(\d+)\. ([^*]+\?)\*\* (\d+) s\. (.+?)\n\n```console\nflightsim (.+?)\n```", SECTION, flags=re.DOTALL
)


def test_there_are_ten_each_with_seconds_an_answer_and_a_command():
    assert [int(number) for number, *_ in ASKED] == list(range(1, 11))
    for _, question, seconds, answer, command in ASKED:
        assert int(seconds) > 0
        assert len(answer) > 20, question
        assert command.split()[1] == "scenarios/single_garage.yaml"


@pytest.mark.slow
@pytest.mark.parametrize("command", [command for *_, command in ASKED], ids=[number for number, *_ in ASKED])
def test_each_command_runs(command, tmp_path, monkeypatch):
    (tmp_path / "scenarios").symlink_to(ROOT / "scenarios", target_is_directory=True)
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(cli, shlex.split(command), standalone_mode=False)
    assert done.exception is None, done.output
    assert done.return_value in (0, 1)
    assert list((tmp_path / "results").iterdir())
