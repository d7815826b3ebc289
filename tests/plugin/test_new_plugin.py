"""A stranger's plugin from nothing: written, tested with the kit, dropped in, installed, and seen by the program."""

from __future__ import annotations

import re
import subprocess
import sys
import sysconfig
import venv
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from flightsim.contact.rebound import PartRebound, by_facing
from flightsim.errors import BadInputError, PluginError
from flightsim.plugin.hookspecs import hookimpl
from flightsim.plugin.loading import FILES, drop_in
from flightsim.plugin.manager import load_plugins
from flightsim.plugin.new.write_plugin import write_plugin
from flightsim.plugin.testing import SMALL_BAY, bay_of, check_facings, check_laws, with_plugins
from flightsim.study.run.open_bay import open_bay
from flightsim.study.run.what_if import GONE, failures


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_plugin("swing_mat", tmp_path_factory.mktemp("kit"))


@pytest.fixture
def dropped(written: Path, monkeypatch: pytest.MonkeyPatch):
    """The plugin as a dropped-in file, and a scenario without a `plugins:` line."""
    monkeypatch.setenv(FILES, "")
    drop_in([written / "swing_mat.py"])
    path = written / "plain.yaml"
    text = (written / "example.yaml").read_text(encoding="utf-8")
    path.write_text("\n".join(line for line in text.split("\n") if not line.startswith("plugins")), encoding="utf-8")
    yield path
    sys.modules.pop("flightsim_file_swing_mat", None)


def test_all_files_are_written_and_nothing_is_written_over(written):
    names = {str(path.relative_to(written)) for path in written.rglob("*") if path.is_file()}
    assert names >= {"swing_mat.py", "tests/test_swing_mat.py", "pyproject.toml", "README.md", "example.yaml"}
    with pytest.raises(BadInputError, match="there is such a folder already; nothing was written"):
        write_plugin("swing_mat", written.parent)


@pytest.mark.parametrize(
    ("name", "words"),
    [("Swing Mat", "try: swing_mat"), ("", "try: ball_rack"), ("../x", "try: x"), ("class", "no plugin can have"),
     ("screen", "try: my_screen"), ("shots", "try: my_shots"), ("random", "Python has a module"), ("a" * 60, "try: a")],
)  # fmt: skip
def test_a_name_that_no_plugin_can_have_is_refused_with_one_that_can(tmp_path, name, words):
    with pytest.raises(BadInputError, match=words):
        write_plugin(name, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_dropped_in_file_works_without_a_package_or_a_line_in_the_scenario(dropped):
    opened = open_bay(dropped)
    assert [part.name for part in opened.bay.owned_by("swing_mat")] == ["swing mat"]
    assert {problem.key for problem in opened.warnings} <= {"swing_room", "plugins"}
    (table,) = [str(problem) for problem in opened.warnings if problem.key == "plugins"]
    assert re.search(r"the law of 'swing mat' is kept as a table: within [0-2]\.\d % of a ball's speed", table)
    assert opened.plugins.describe()[-1]["distribution"].endswith("swing_mat.py")


def test_a_dropped_in_file_is_what_a_line_in_the_scenario_means(dropped, written):
    opened = open_bay(written / "example.yaml")
    assert [part.name for part in opened.bay.owned_by("swing_mat")] == ["swing mat"]
    assert opened.plugins.describe()[-1]["distribution"].endswith("swing_mat.py")


def test_a_guard_that_fails_takes_its_law_with_it(dropped):
    """The hook still gives a law for every entry of its section: nobody is blamed for a part taken away."""
    gone = [bay for guard, how, bay in failures(open_bay(dropped)) if (guard, how) == ("swing mat", GONE)]
    assert len(gone) == 1
    assert "swing mat" not in gone[0].rebounds
    assert "screen" in gone[0].rebounds


def test_its_laws_and_facings_hold(dropped):
    plugins = load_plugins()
    check_laws(
        dropped.read_text(encoding="utf-8").replace("launches: {use: [driver, mid_iron]}\n", ""), plugins, "swing_mat"
    )
    check_facings(SMALL_BAY, plugins, "swing_mat")


def test_the_kit_keeps_the_zones_of_a_bay():
    people = (
        "people: {onlookers: [{name: bench, from_end_wall: 5.3 m, from_left_wall: 1 m, width: 1 m, depth: 500 mm}]}\n"
    )
    bay, _ = bay_of(SMALL_BAY + people, with_plugins())
    assert any(zone.person == "bench" for zone in bay.zones)


def test_a_law_that_hangs_on_the_other_balls_of_a_batch_is_found():
    def odd(hits):
        after = by_facing(hits)
        return replace(after, velocity=after.velocity * (0.5 if hits.point.shape[1] < 10 else 1.0))

    visitor = ModuleType("visitor")
    visitor.HOOK_API = load_api()
    visitor.flightsim_rebounds = hookimpl(lambda context: [PartRebound("screen", odd)], specname="flightsim_rebounds")
    with pytest.raises(AssertionError, match="law of part 'screen': velocity hangs on the other balls"):
        check_laws(SMALL_BAY, with_plugins({"visitor": visitor}), "visitor")


def load_api() -> int:
    from flightsim.plugin.hookspecs import HOOK_API

    return HOOK_API


@pytest.mark.parametrize(
    ("name", "words"),
    [("no_such.py", "there is no such file"), ("notes.txt", "this is no Python module"), ("a-b.py", "no Python module"),
     ("screen.py", "try: my_screen.py")],
)  # fmt: skip
def test_a_file_that_can_be_no_plugin_is_refused(tmp_path, name, words):
    if name != "no_such.py":
        (tmp_path / name).write_text("")
    with pytest.raises(BadInputError, match=words):
        drop_in([tmp_path / name])


def test_a_file_that_is_broken_is_blamed_with_its_path(tmp_path, monkeypatch):
    (tmp_path / "broken.py").write_text("1 / 0\n")
    monkeypatch.setenv(FILES, "")
    drop_in([tmp_path / "broken.py"])
    with pytest.raises(
        PluginError, match=rf"plugin 'broken' \(from {tmp_path}/broken.py\): cannot be imported: ZeroDiv"
    ):
        load_plugins()


def own_environment(folder: Path) -> str:
    """The Python of an environment with a pip of its own, which sees all that is installed here."""
    venv.create(folder, with_pip=True)
    python = next(folder.glob("[bS]*/python*"))
    paths = sysconfig.get_paths("venv", {"base": str(folder), "platbase": str(folder)})
    line = f"import site; site.addsitedir({sysconfig.get_paths()['purelib']!r})\n"
    (Path(paths["purelib"]) / "outer.pth").write_text(line, encoding="utf-8")
    return str(python)


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_the_package_builds_installs_passes_its_own_tests_and_flies(written, tmp_path):
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(tmp_path), str(written)]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    (wheel,) = tmp_path.glob("*.whl")
    python = own_environment(tmp_path / "env")

    def call(*args: str) -> str:
        done = subprocess.run(
            [python, "-m", *args],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            timeout=300,
            check=False,
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    assert "swing_mat\t" not in call("flightsim", "plugins")
    call("pip", "install", "--no-index", "--no-deps", "--disable-pip-version-check", str(wheel))
    assert "swing_mat\t0.1\tflightsim-swing-mat\tswing_mat\t" in call("flightsim", "plugins")
    assert "5 passed" in call(
        "pytest", "-q", "-p", "no:cacheprovider", "--rootdir", str(tmp_path), str(written / "tests")
    )
    output = call("flightsim", "run", str(written / "example.yaml"), "--shots", "400", "--quick", "--out", "out")
    assert "A bay with swing mat" in output
    assert "Swing mat" in (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    picture = tmp_path / "out" / "figures" / "swing_mat_hits.svg"
    assert picture.read_text(encoding="utf-8").startswith("<svg")
    assert np.isin("swing mat", (tmp_path / "out" / "shots.csv").read_text(encoding="utf-8").split(",")).any()
