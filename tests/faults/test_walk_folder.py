"""The results folder: whatever happens, an earlier result is whole and nobody's own file is lost."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from flightsim.errors import BadInputError
from flightsim.report.pages import folder
from flightsim.report.pages.folder import LIST, built_beside, check_out

FILES = ("run.json", "shots.csv", "figures/bay.png")


def write(out: Path, words: str) -> None:
    """A small result."""
    with built_beside(out) as building:
        (building / "figures").mkdir()
        for name in FILES:
            (building / name).write_text(words)


def is_whole(out: Path, words: str) -> bool:
    names = {str(path.relative_to(out)) for path in out.rglob("*") if path.is_file()}
    return names == {*FILES, LIST} and {(out / name).read_text() for name in FILES} == {words}


def age(path: Path) -> None:
    """As if it had lain there for an hour."""
    hour_ago = path.stat().st_mtime - 3600.0
    os.utime(path, (hour_ago, hour_ago))


@pytest.fixture(params=[True, False], ids=["swapped in one step", "in two steps"])
def two_ways(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a system that can swap two folders, and with one that cannot."""
    if not request.param:
        monkeypatch.setattr(folder, "swap", lambda one, other: False)


@pytest.mark.usefixtures("two_ways")
def test_a_new_result_takes_the_place_of_the_earlier_one_and_leaves_nothing_beside_it(tmp_path):
    for words in ("first", "second", "third"):
        write(tmp_path / "out", words)
        assert is_whole(tmp_path / "out", words)
        assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.usefixtures("two_ways")
@pytest.mark.parametrize("error", [KeyboardInterrupt, OSError(28, "No space left on device"), SystemExit])
def test_a_run_that_ends_while_it_writes_changes_nothing(tmp_path, error):
    write(tmp_path / "out", "first")
    with suppress(KeyboardInterrupt, OSError, SystemExit), built_beside(tmp_path / "out") as building:
        (building / "run.json").write_text("half")
        raise error
    assert is_whole(tmp_path / "out", "first")
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("error", [KeyboardInterrupt, OSError(5, "Input/output error")])
@pytest.mark.parametrize("after", [0, 1])
def test_a_run_stopped_between_two_renames_puts_the_earlier_result_back(tmp_path, monkeypatch, error, after):
    write(tmp_path / "out", "first")
    monkeypatch.setattr(folder, "swap", lambda one, other: False)
    rename, renames = Path.rename, []

    def stopped(self: Path, target: Path) -> Path:
        renames.append(target)
        if len(renames) == 2 + after:  # the first finds the earlier result in its place
            raise error
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", stopped)
    with pytest.raises(type(error) if isinstance(error, OSError) else error):
        write(tmp_path / "out", "second")
    monkeypatch.undo()
    assert is_whole(tmp_path / "out", "first")
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


KILLED = """
import os, signal, sys
from pathlib import Path
from flightsim.report.pages import folder
from flightsim.report.pages.folder import built_beside

def die(*args, **given):
    os.kill(os.getpid(), signal.{kind})

out, point = Path(sys.argv[1]), sys.argv[2]
if point == "between":
    folder.swap = lambda one, other: False
    rename = Path.rename
    def moved(self, target):
        done = rename(self, target)
        return die() if target.suffix == ".old" else done
    Path.rename = moved
if point == "removing":
    folder.shutil.rmtree = die
with built_beside(out) as building:
    (building / "figures").mkdir()
    for name in {files}:
        (building / name).write_text("second")
        if point == "writing":
            die()
"""


@pytest.mark.parametrize(("point", "found"), [("writing", "first"), ("between", None), ("removing", "second")])
def test_a_killed_run_leaves_a_whole_result_and_the_next_one_clears_up(tmp_path, point, found):
    out = tmp_path / "out"
    write(out, "first")
    code = KILLED.format(kind="SIGKILL", files=FILES)
    done = subprocess.run([sys.executable, "-c", code, str(out), point], check=False)
    assert done.returncode == -signal.SIGKILL
    assert is_whole(out, found) if found else not out.exists()
    leftovers = [path for path in tmp_path.iterdir() if path != out]
    assert leftovers
    for path in leftovers:
        age(path)
    check_out(out)
    assert is_whole(out, found or "first")  # what was moved aside is back
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_what_another_run_is_writing_is_no_leftover(tmp_path):
    with built_beside(tmp_path / "out") as building:
        (building / "run.json").write_text("still writing")
        age(building)
        check_out(tmp_path / "out")
        assert (building / "run.json").read_text() == "still writing"
    assert (tmp_path / "out" / "run.json").read_text() == "still writing"


@pytest.mark.usefixtures("two_ways")
def test_two_runs_to_one_place_both_end_well_and_one_result_is_there_whole(tmp_path):
    out = tmp_path / "out"
    with built_beside(out) as one, built_beside(out) as two:
        for building, words in ((one, "one"), (two, "two")):
            (building / "figures").mkdir()
            for name in FILES:
                (building / name).write_text(words)
    assert is_whole(out, "one")
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("name", ["scenario.yaml", "figures/mine.png", "old/run.json", ".hidden"])
def test_a_result_that_holds_a_file_of_somebody_elses_is_not_replaced(tmp_path, name):
    out = tmp_path / "out"
    write(out, "first")
    (out / name).parent.mkdir(exist_ok=True)
    (out / name).write_text("mine")
    with pytest.raises(
        BadInputError, match=rf"holds {name}, which no run of flightsim wrote.*nothing there was touched"
    ):
        check_out(out)
    with pytest.raises(BadInputError, match=name):
        write(out, "second")
    assert (out / name).read_text() == "mine"
    assert (out / "run.json").read_text() == "first"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_what_a_file_browser_leaves_is_nobodys(tmp_path):
    write(tmp_path / "out", "first")
    (tmp_path / "out" / ".DS_Store").write_bytes(b"\x00\xff")
    check_out(tmp_path / "out")


def test_a_folder_with_a_run_json_of_another_program_is_left_alone(tmp_path):
    (tmp_path / "run.json").write_text("{}")
    with pytest.raises(BadInputError, match="no result of flightsim"):
        check_out(tmp_path)
    assert (tmp_path / "run.json").read_text() == "{}"


@pytest.mark.parametrize("out", [".", "", "..", "here", "../.."])
def test_the_folder_that_one_stands_in_is_not_replaced_under_ones_feet(tmp_path, monkeypatch, out):
    here = tmp_path / "there" / "here"
    here.mkdir(parents=True)
    monkeypatch.chdir(here)
    target = Path(out) if out != "here" else here
    with pytest.raises(BadInputError, match="the folder that you are in"):
        check_out(target)
    assert list(here.iterdir()) == []


@pytest.mark.parametrize(
    ("out", "words"),
    [
        ("/", "the folder that you are in, or holds it|whole drive"),
        ("/proc", "whole drive|no result of flightsim"),
        ("file", "is a file"),
        ("file/out", "cannot be written to: Not a directory"),
        ("n" * 250, "cannot be written to: File name too long"),
        ("/proc/out", "cannot be written to"),
    ],
)
def test_a_place_that_cannot_take_a_result_is_told_before_any_work(tmp_path, monkeypatch, out, words):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("mine")
    with pytest.raises(BadInputError, match=words):
        check_out(Path(out))
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_a_link_to_a_folder_stays_a_link_and_a_trailing_slash_is_no_matter(tmp_path):
    (tmp_path / "disk" / "results").mkdir(parents=True)
    link = tmp_path / "link"
    link.symlink_to(tmp_path / "disk" / "results")
    for words in ("first", "second"):
        out = Path(f"{link}/")
        check_out(out)
        write(out, words)
        assert is_whole(out, words)
    assert link.is_symlink()
    assert [path.name for path in (tmp_path / "disk").iterdir()] == ["results"]


def test_folders_above_are_made_and_unicode_and_odd_names_work(tmp_path):
    for name in ("a/b/c", "Größe 車庫", "-rf", "[x]*?", "out.part", ".old"):
        out = tmp_path / name
        check_out(out)
        write(out, "first")
        write(out, "second")
        assert is_whole(out, "second")
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(
        ["a", "Größe 車庫", "-rf", "[x]*?", "out.part", ".old"]
    )


def test_a_full_disk_while_anything_is_written_leaves_the_earlier_result_whole(tmp_path, monkeypatch):
    """Whichever write it is that finds no room."""
    write(tmp_path / "out", "first")
    write_text, calls = Path.write_text, []

    for room_for in range(4):
        calls.clear()

        def full(self: Path, *args: object, room: int = room_for, **given: object) -> int:
            calls.append(self)
            if len(calls) > room:
                raise OSError(28, "No space left on device")
            return write_text(self, *args, **given)

        monkeypatch.setattr(Path, "write_text", full)
        with pytest.raises(OSError, match="No space"):
            write(tmp_path / "out", "second")
        monkeypatch.undo()
        assert is_whole(tmp_path / "out", "first")
        assert [path.name for path in tmp_path.iterdir()] == ["out"]
