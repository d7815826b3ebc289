"""What `import flightsim` gives: a dozen names, each documented and typed, and none hidden by a module."""

from __future__ import annotations

import inspect
import pkgutil
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import flightsim

ROOT = Path(flightsim.__file__).parent
DOCS = Path(__file__).parents[2] / "docs" / "library.md"
CALLS = [name for name in flightsim.__all__ if name != "__version__"]


def every_module():
    found = pkgutil.walk_packages([str(ROOT)], "flightsim.")
    return [module.name for module in found if not module.name.endswith("__main__")]


def test_no_name_of_the_library_is_that_of_a_module_or_room():
    rooms = {module.name for module in pkgutil.iter_modules([str(ROOT)])}
    assert not rooms & set(flightsim.__all__)


def test_every_name_is_still_what_it_was_once_every_module_is_imported():
    before = {name: getattr(flightsim, name) for name in flightsim.__all__}
    for name in every_module():
        import_module(name)
    assert {name: getattr(flightsim, name) for name in flightsim.__all__} == before
    assert not any(inspect.ismodule(value) for value in before.values())


@pytest.mark.parametrize("name", CALLS)
def test_every_name_is_documented_typed_and_on_the_page(name):
    thing = getattr(flightsim, name)
    assert inspect.getdoc(thing)
    assert f"`{name}`" in DOCS.read_text(encoding="utf-8") or f"`{name}(" in DOCS.read_text(encoding="utf-8")
    if inspect.isfunction(thing):
        hints = inspect.signature(thing)
        assert hints.return_annotation is not inspect.Signature.empty
        assert all(p.annotation is not inspect.Parameter.empty for p in hints.parameters.values())


def test_a_name_that_is_not_there_is_told_with_those_that_are():
    with pytest.raises(AttributeError, match="find_size"):
        _ = flightsim.find_sise


def test_importing_it_loads_no_pictures_and_no_compiler():
    code = "import flightsim, sys; print(sorted({'numba', 'matplotlib', 'scipy', 'numpy'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
