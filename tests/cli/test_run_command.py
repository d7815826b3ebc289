"""`flightsim run` as a person calls it: exit codes, files whole or not at all, and messages with a way out."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from baselines import baseline

from flightsim.cli import main
from flightsim.errors import BadInputError
from flightsim.report.pages import run_folder as write

ROOT = Path(__file__).parents[2]
GARAGE = ROOT / "scenarios" / "single_garage.yaml"
FEW = 100  # shots: enough for every shot type


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    """A run in a process of its own, as a pipe sees it."""
    folder = tmp_path_factory.mktemp("run")
    command = [sys.executable, "-W", "error", "-m", "flightsim", "run", str(GARAGE), "--shots", "400", "--out", "out"]
    return folder, subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=600)


@pytest.fixture
def flightsim(tmp_path, monkeypatch, capsys):
    """The command line in this process, in an empty folder, without pictures, which take most of a short run: exit
    code, standard output, standard error.
    """
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(write, "write_figures", lambda *_, **__: [])

    def call(*args: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["flightsim", *map(str, args)])
        with pytest.raises(SystemExit) as left:
            main()
        shown = capsys.readouterr()
        return int(left.value.code or 0), shown.out, shown.err

    return call


def test_a_run_exits_0_says_where_the_pictures_are_and_writes_every_file(done):
    folder, finished = done
    assert finished.returncode == 0, finished.stderr
    assert "report.html" in finished.stdout
    assert re.search(r"Single garage meets \d+ of the \d+ asked", finished.stdout)
    assert max(map(len, finished.stdout.splitlines())) <= 80
    assert len(finished.stdout.splitlines()) <= 12
    names = {path.name for path in (folder / "out").iterdir()}
    assert {"run.json", "summary.json", "shots.csv", "report.html", "figures"} <= names
    assert list((folder / "out" / "figures").glob("*.png"))


def test_a_run_in_a_pipe_is_quiet_on_the_error_stream(done):
    assert done[1].stderr == ""


def test_the_words_safe_and_caught_are_used_of_no_ball(done):
    text = " ".join(done[1].stdout.split()).lower().replace("not safe limits", "")
    assert not any(f" {word}" in text for word in ("safe", "caught"))


def test_help_says_what_is_counted(flightsim):
    code, help_text, _ = flightsim("run", "--help")
    assert code == 0
    assert "got past the protection" in " ".join(help_text.split())
    assert "escape < 1 in 1000" in " ".join(help_text.split())


def test_nothing_is_left_beside_the_result(done):
    assert [path.name for path in done[0].iterdir()] == ["out"]


def test_a_requirement_that_is_not_met_exits_1_and_still_writes_the_result(flightsim, tmp_path):
    code, _, _ = flightsim(
        "run", GARAGE, "--shots", FEW, "--quick", "--require", "got_out < 1 in 1000000", "--out", "o"
    )
    assert code == 1
    assert (tmp_path / "o" / "report.html").exists()


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["no_such_file.yaml"], "no_such_file.yaml"),
        ([GARAGE, "--set", "canopy.dept=1 m"], "depth"),
        ([GARAGE, "--set", "canopy.depth=1.4"], "1.4 m"),
        ([GARAGE, "--require", "got_out < banana"], "1 in"),
        ([GARAGE, "--shots", 1_000_000_000], "--seed"),
        ([GARAGE, "--shots", 6_000_000], "--yes"),
        ([GARAGE, "--shots", 3], "shot types"),
        ([GARAGE, "--shots", 0], "0"),
    ],
)
def test_bad_input_exits_2_with_a_way_out_and_writes_nothing(flightsim, tmp_path, args, words):
    code, _, errors = flightsim("run", *args, "--out", "out")
    assert code == 2
    assert words in errors
    assert "Traceback" not in errors
    assert list(tmp_path.iterdir()) == []


def test_a_folder_of_somebody_else_is_left_alone(flightsim, tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "photo.txt").write_text("mine")
    code, _, errors = flightsim("run", GARAGE, "--shots", FEW, "--out", "out")
    assert code == 2
    assert "nothing there was touched" in errors
    assert (tmp_path / "out" / "photo.txt").read_text() == "mine"


def test_an_out_that_is_a_file_is_refused(flightsim, tmp_path):
    (tmp_path / "out").write_text("mine")
    assert flightsim("run", GARAGE, "--out", "out")[0] == 2
    assert (tmp_path / "out").read_text() == "mine"


def test_a_full_disk_leaves_the_earlier_result_whole(tmp_path, monkeypatch):
    out = tmp_path / "out"
    out.mkdir()
    (out / "run.json").write_text("earlier")
    (out / ".flightsim").write_text("run.json\n")
    result = baseline("single_garage")

    def full(*args: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(write, "write_figures", lambda *_, **__: [])
    monkeypatch.setattr(write, "write_page", full)
    with pytest.raises(BadInputError, match="No space left"):
        write.write_run(result, (), write.Added, out)
    assert (out / "run.json").read_text() == "earlier"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_second_run_replaces_the_first_whole(flightsim, tmp_path):
    for seed in (1, 2):
        assert flightsim("run", GARAGE, "--shots", FEW, "--seed", seed, "--quick", "--out", "o")[0] == 0
    assert '"seed": 2' in (tmp_path / "o" / "run.json").read_text()
    assert [path.name for path in tmp_path.iterdir()] == ["o"]


def test_help_imports_neither_numpy_scipy_nor_matplotlib():
    code = (
        "import sys; sys.argv=['flightsim','--help']\n"
        "from flightsim.cli import main\n"
        "try: main()\nexcept SystemExit: pass\n"
        "print([m for m in ('numpy','scipy','matplotlib','pydantic','pint') if m in sys.modules])"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip().endswith("[]")


@pytest.mark.parametrize(("own", "threads"), [(None, "1"), ("3", "3")])
def test_linear_algebra_has_one_thread_unless_the_user_has_said_otherwise(own, threads):
    code = (
        "import os, sys; sys.argv=['flightsim','--help']\n"
        "from flightsim.cli import start\n"
        "try: start()\nexcept SystemExit: pass\n"
        "print('numpy' in sys.modules, os.environ['OPENBLAS_NUM_THREADS'])"
    )
    given = {key: value for key, value in os.environ.items() if key != "OPENBLAS_NUM_THREADS"}
    given |= {"OPENBLAS_NUM_THREADS": own} if own else {}
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=given)
    assert shown.stdout.strip().endswith(f"False {threads}")  # said before numpy reads it
