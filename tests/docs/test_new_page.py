"""docs/new.md shows a whole dialogue of `flightsim new`: it is what the command says to those answers."""

from __future__ import annotations

from pathlib import Path

from new_talk import talk

from flightsim.study.run.open_bay import open_bay

PAGE = Path(__file__).parents[2] / "docs" / "new.md"


def test_the_dialogue_of_the_page_is_what_is_said_and_its_bay_checks(tmp_path):
    shown = PAGE.read_text(encoding="utf-8").split("```text\n")[1].split("```\n")[0]
    assert talk(tmp_path).rstrip() == shown.rstrip()
    scenario = open_bay(tmp_path / "hay_shed.yaml").scenario
    assert {(one.player, one.hand) for one in scenario.entries("shots")[0].players} == {
        ("mid", "right"), ("mid", "left"), ("junior", "right"), ("junior", "left"),
    }  # fmt: skip
    assert scenario.entries("people")[0].onlookers[0].posture == "child"
