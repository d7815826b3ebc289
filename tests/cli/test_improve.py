"""`flightsim improve` from the command line: what is written, told and answered."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner
from improve_bays import ONE_SIZE, bare_hall

from flightsim.cli import cli
from flightsim.errors import BadInputError
from flightsim.study.improve import improve as study
from flightsim.study.run.open_bay import open_bay


@pytest.fixture(autouse=True)
def few_shots(monkeypatch, no_pictures):
    monkeypatch.setattr(study.Improver, "shots", 2048)
    monkeypatch.setattr(study, "shots_to_confirm", lambda opened, limits, looks: 3000)


def improve(folder, *words):
    return CliRunner().invoke(cli, ["improve", *map(str, words), "--out", str(folder / "o")], standalone_mode=False)


def test_a_target_that_can_be_met_is_met_confirmed_and_written_as_a_bay_that_runs(tmp_path):
    (tmp_path / "prices.yaml").write_text("tests: 1\n")  # any file will do
    path = bare_hall(tmp_path, ONE_SIZE)
    path.write_text(path.read_text().replace("name: Bare hall", "name: prices.yaml"))
    answer = improve(tmp_path, path)
    assert answer.exception is None
    assert answer.return_value == 0
    assert "Meets the 1 target asked" in answer.output
    found = json.loads((tmp_path / "o" / "improve.json").read_text())
    assert found["met"] is True
    assert found["steps"]
    after = open_bay(tmp_path / "o" / "improved.yaml").scenario.entries("canopy")[0]
    sets = [change for step in found["steps"] for change in step["changes"]]
    assert open_bay(tmp_path / "hall.yaml", sets).scenario.entries("canopy")[0] == after
    # what is named by its path from the bay is named from where the changed bay is written
    assert "name: ../prices.yaml" in (tmp_path / "o" / "improved.yaml").read_text()


def test_a_target_that_cannot_be_met_ends_with_1_and_names_what_stands_in_the_way(tmp_path):
    answer = improve(tmp_path, bare_hall(tmp_path, ONE_SIZE, hit_unprotected="1 in 100000"))
    assert answer.return_value == 1
    words = " ".join(answer.output.split())
    assert "Not yet: 1 of the 1 target asked is not met" in words
    assert "What stands in the way" in words
    assert "most of them iron clean" in words
    assert (tmp_path / "o" / "improved.yaml").exists()


def test_ctrl_c_keeps_the_best_so_far(tmp_path, monkeypatch):
    kept = study.Improver._accepted

    def stop(self, trial):
        kept(self, trial)
        raise KeyboardInterrupt

    monkeypatch.setattr(study.Improver, "_accepted", stop)
    assert improve(tmp_path, bare_hall(tmp_path, ONE_SIZE)).exit_code == 1
    found = json.loads((tmp_path / "o" / "improve.json").read_text())
    assert found["stopped"] is True
    assert found["met"] is False
    assert len(found["steps"]) == 1


def test_a_grid_is_refused_before_anything_is_flown(tmp_path):
    grid = "launches:\n  grid: {ball_speed: 50 m/s, elevation: [0 deg, 10 deg], azimuth: 0 deg, spin_rate: 3000 rpm}\n"
    answer = improve(tmp_path, bare_hall(tmp_path, shots=grid))
    assert isinstance(answer.exception, BadInputError)
    assert not (tmp_path / "o").exists()
