"""The rooms of the package: names say what they hold, nothing is ignored by accident, imports stand at the top."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "flightsim"
FILES = sorted(path for path in PACKAGE.rglob("*.py") if "__pycache__" not in path.parts)
BRING_COMPILER = [  # .4 s of every start
    "flightsim/cloth/table.py, _worked_out: flightsim.cloth.square_hits",
    "flightsim/plugin/offered.py, _try_air: flightsim.engine.aero_table",
]
APART = ("cli",)  # commands are named as they are called
SAY_NOTHING = {"some", "told", "mine", "at", "who"}  # of what a value holds


def test_a_file_name_is_used_once_in_the_package():
    names = Counter(
        path.name for path in FILES if path.parent.name not in APART and path.stem not in ("__init__", "__main__")
    )
    assert {name for name, count in names.items() if count > 1} == set()


def inner_imports(path: Path) -> Iterator[str]:
    """What functions of a file import of this package."""
    for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(function, ast.FunctionDef):
            for node in ast.walk(function):
                if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("flightsim"):
                    yield f"{path.relative_to(ROOT)}, {function.name}: {node.module}"


def test_only_commands_import_rooms_within_functions():
    """There it saves start-up time; elsewhere it would hide a circle. Libraries may be put off anywhere."""
    assert [found for path in FILES if path.parent.name != "cli" for found in inner_imports(path)] == BRING_COMPILER


def module(path: Path) -> str:
    """The dotted name of a file."""
    inside = path.relative_to(ROOT).with_suffix("")
    return ".".join(inside.parent.parts if inside.name == "__init__" else inside.parts)


def taken_from(path: Path, known: set[str]) -> set[str]:
    """The modules that a file imports anything from, for its types only as well."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{name.name}" for name in node.names)}
        elif isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
    return found & known


def test_no_files_need_one_another_in_a_circle():
    """Rooms are held by import-linter; this holds the files of a room, and what they take for types alone."""
    known = {module(path) for path in FILES} - {"flightsim"}  # which names the library for type checkers
    needs = {module(path): taken_from(path, known) for path in FILES if module(path) in known}
    assert len(list(TopologicalSorter(needs).static_order())) == len(known)


def test_what_git_ignores_is_named_from_the_top():
    """A pattern `build/` would leave out a room of that name."""
    patterns = (ROOT / ".gitignore").read_text(encoding="utf-8").splitlines()
    assert [pattern for pattern in patterns if not pattern.startswith("/")] == ["__pycache__/"]


def bound(path: Path) -> set[str]:
    """The names that a file gives to anything: functions, parameters, locals, attributes, imports."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, (ast.Name, ast.Attribute)) and isinstance(node.ctx, ast.Store):
            names.add(node.id if isinstance(node, ast.Name) else node.attr)
        elif isinstance(node, ast.arg):
            names.add(node.arg)
        elif isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            names.add(node.name)
        elif isinstance(node, ast.alias):
            names.add(node.asname or node.name)
    return names


def test_names_say_what_they_hold():
    """`some`, `told`, `mine`, `at` and `who` named 900 things, and a reader had to guess each."""
    everywhere = [path for room in ("flightsim", "plugins", "tests") for path in sorted((ROOT / room).rglob("*.py"))]
    assert [str(path) for path in everywhere if bound(path) & SAY_NOTHING] == []
