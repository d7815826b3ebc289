"""What is built: wheel and sdist hold the renamed plugins folder and all package data."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LICENCE = "docs/LICENSE"
IMPORTED_AS = {"plugins": "flightsim_plugins"}


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a wheel and an sdist, built from a copy: building leaves files in the tree."""
    tree = tmp_path_factory.mktemp("tree")
    for name in ("flightsim", "plugins"):
        shutil.copytree(ROOT / name, tree / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", LICENCE):
        (tree / name).parent.mkdir(exist_ok=True)
        shutil.copy(ROOT / name, tree / name)
    out = tmp_path_factory.mktemp("dist")
    command = [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(out), str(tree)]
    made = subprocess.run(command, capture_output=True, text=True, check=False)
    assert made.returncode == 0, made.stdout + made.stderr
    return out


def files_of_the_tree() -> set[str]:
    """Every file that belongs into the package, by its installed path."""
    found = set()
    for folder in ("flightsim", "plugins"):
        for path in (ROOT / folder).rglob("*"):
            if path.is_file() and "__pycache__" not in path.parts:
                first, *rest = path.relative_to(ROOT).parts
                found.add("/".join([IMPORTED_AS.get(first, first), *rest]))
    return found


def test_the_wheel_holds_every_file_of_both_packages(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    assert files_of_the_tree() <= names
    assert not {name for name in names if name.startswith(("plugins/", "tests/"))}


def test_the_sdist_holds_every_file_of_both_packages(built: Path) -> None:
    (sdist,) = built.glob("*.tar.gz")
    with tarfile.open(sdist) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    installed_as = {new: old for old, new in IMPORTED_AS.items()}
    wanted = {"/".join([installed_as.get(first, first), rest]) for first, _, rest in
              (name.partition("/") for name in files_of_the_tree())}  # fmt: skip
    assert wanted <= names
    assert "pyproject.toml" in names


def test_the_wheel_declares_the_command_and_the_python_it_needs(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    archive = zipfile.ZipFile(wheel)
    (entry_points,) = [name for name in archive.namelist() if name.endswith("entry_points.txt")]
    assert "flightsim = flightsim.cli:start" in archive.read(entry_points).decode()
    (metadata,) = [name for name in archive.namelist() if name.endswith("METADATA")]
    assert "Requires-Python: >=3.11" in archive.read(metadata).decode()


def test_the_wheel_and_the_sdist_ship_the_licence_that_they_name(built: Path) -> None:
    """PEP 639: the SPDX expression, and the text beside the metadata under the path that it has in the tree."""
    (wheel,), (sdist,) = built.glob("*.whl"), built.glob("*.tar.gz")
    text = (ROOT / LICENCE).read_bytes()
    archive = zipfile.ZipFile(wheel)
    (metadata,) = [name for name in archive.namelist() if name.endswith(".dist-info/METADATA")]
    head = archive.read(metadata).decode().splitlines()
    assert "License-Expression: MIT" in head
    assert f"License-File: {LICENCE}" in head
    assert archive.read(f"{Path(metadata).parent}/licenses/{LICENCE}") == text
    with tarfile.open(sdist) as packed:
        (name,) = [name for name in packed.getnames() if name.endswith(f"/{LICENCE}")]
        shipped = packed.extractfile(name)
        assert shipped is not None
        assert shipped.read() == text


def test_the_licence_is_mit_and_names_the_contributors() -> None:
    words = " ".join((ROOT / LICENCE).read_text(encoding="utf-8").split())
    assert words.startswith("MIT License Copyright (c) 2026 flightsim contributors Permission is hereby granted")
    assert words.endswith("OTHER DEALINGS IN THE SOFTWARE.")


def test_the_change_log_names_the_version(built: Path) -> None:
    version = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    assert f"\n## {version}\n" in (ROOT / "docs" / "changelog.md").read_text(encoding="utf-8")


def test_the_list_of_packages_is_complete() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]
    folders = {path.parent.relative_to(ROOT) for folder in ("flightsim", "plugins") for path in
               (ROOT / folder).rglob("*.py")}  # fmt: skip
    names = {".".join([IMPORTED_AS.get(folder.parts[0], folder.parts[0]), *folder.parts[1:]]) for folder in folders}
    assert set(settings["packages"]) == names
    assert settings["package-dir"] == {"flightsim_plugins": "plugins"}


def test_every_bundled_plugin_is_a_file_and_every_file_a_bundled_plugin_or_a_piece_of_one() -> None:
    """A plugin that has grown too long for one file has pieces, named after it and without hooks of their own."""
    from flightsim.plugin.loading import BUNDLED

    files = {path.stem: path for path in (ROOT / "plugins").glob("*.py") if path.stem != "__init__"}
    assert set(BUNDLED) <= set(files)
    for name in set(files) - set(BUNDLED):
        assert name.startswith(tuple(f"{plugin}_" for plugin in BUNDLED))
        assert "hookimpl" not in files[name].read_text(encoding="utf-8")


def test_the_wheel_runs_without_the_tree(built: Path, tmp_path: Path) -> None:
    (wheel,) = built.glob("*.whl")
    zipfile.ZipFile(wheel).extractall(tmp_path)
    code = "import flightsim_plugins.room as r; print(r.__file__); from flightsim.cli import main; main()"
    environment = {**os.environ, "PYTHONPATH": str(tmp_path)}
    command = [sys.executable, "-c", code, "plugins"]
    ran = subprocess.run(command, capture_output=True, text=True, check=True, cwd=tmp_path, env=environment)
    where, head, first, *_ = ran.stdout.splitlines()
    assert Path(where) == tmp_path / "flightsim_plugins" / "room.py"
    assert head.startswith("name\tversion")
    assert first.startswith("room\t")
