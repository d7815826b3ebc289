"""Files of a run's shots that are written ahead are those written afterwards; what nobody waits for is gone."""

import threading
from pathlib import Path

import pytest
from baselines import baseline

import flightsim.report.pages.run_folder as folder
import flightsim.report.pages.shots_ahead as ahead_of
from flightsim.errors import BadInputError
from flightsim.report.pages.run_folder import Added, write_run
from flightsim.report.pages.shots_ahead import shots_ahead
from flightsim.study.run.run_files import write_shot_files

FILES = ("shots.csv", "shots.npz")


@pytest.fixture
def small(monkeypatch):
    monkeypatch.setattr(folder, "write_figures", lambda *_, **__: [])
    return baseline("single_garage")


def test_files_written_ahead_are_those_written_afterwards_and_are_written_once(small, tmp_path, monkeypatch):
    write_run(small, (), Added, tmp_path / "after")
    monkeypatch.setattr(folder, "write_shot_files", None)  # it would be called
    with shots_ahead(tmp_path / "ahead", None) as files:
        files.begin(small)
        write_run(small, (), Added, tmp_path / "ahead", ahead=files)
    for name in FILES:
        assert (tmp_path / "ahead" / name).read_bytes() == (tmp_path / "after" / name).read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["after", "ahead"]


def test_files_that_were_not_begun_are_written_afterwards(small, tmp_path):
    with shots_ahead(tmp_path / "bay", None) as files:
        write_run(small, (), Added, tmp_path / "bay", ahead=files)
    assert {path.name for path in (tmp_path / "bay").iterdir()} >= {*FILES}


def test_whoever_gives_up_waits_for_no_file_and_leaves_none(small, tmp_path, monkeypatch):
    begun, end = threading.Event(), threading.Event()
    ended = []

    def write(result, out: Path, as_csv, between):
        def look():
            begun.set()
            end.wait(60.0)
            try:
                between()
            except Exception as error:
                ended.append(type(error).__name__)
                raise

        write_shot_files(result, out, as_csv, between=look)

    monkeypatch.setattr(ahead_of, "write_shot_files", write)
    with shots_ahead(tmp_path / "bay", None) as files:
        files.begin(small)
        assert begun.wait(60.0)
        files.give_up()
        end.set()
    assert ended == ["_GivenUpError"]  # at the first look, not at the end
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_fills_while_files_are_written_ahead_is_told_and_leaves_nothing(small, tmp_path, monkeypatch):
    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(ahead_of, "write_shot_files", full)
    with shots_ahead(tmp_path / "bay", None) as files:
        files.begin(small)
        with pytest.raises(BadInputError, match="No space left"):
            write_run(small, (), Added, tmp_path / "bay", ahead=files)
    assert list(tmp_path.iterdir()) == []


def test_a_place_that_takes_no_folder_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(BadInputError, match="nothing was written"), shots_ahead(tmp_path / "file" / "bay", None):
        pass
