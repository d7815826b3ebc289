"""The core rooms name no option of the command line, and no bundled plugin or field of one."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from flightsim.plugin.loading import BUNDLED

ROOT = Path(__file__).parents[2] / "flightsim"
CORE = (
    "bay",
    "cloth",
    "contact",
    "engine",
    "flight",
    "library",
    "making",
    "plugin",
    "scenario",
    "shots",
    "strike",
    "study",
)
FILES = [path for room in CORE for path in sorted((ROOT / room).rglob("*.py"))]
OPTION = re.compile(r"(?<![\w-])--[a-z][a-z-]*")
PLAIN_WORDS = {
    "room",
    "build",
    "people",
    "frame",
    "facings",
    "screen",
    "ceiling",
}  # of the trade, with a meaning of their own
LISTS_THEM = "plugin/loading.py"


@cache
def read(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def said(path: Path) -> Iterator[tuple[int, str]]:
    """Line and text of every text in a file that may reach somebody: docstrings do not."""
    tree = ast.parse(read(path))
    docs = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
            yield node.lineno, node.value


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_text_of_the_core_names_an_option(path):
    found = said(path) if OPTION.search(read(path)) else ()  # parsed only where there is one, if in a remark
    assert [(line, text) for line, text in found if OPTION.search(text)] == []


def test_no_text_of_the_core_is_the_name_of_a_bundled_plugin():
    names = set(BUNDLED) - PLAIN_WORDS
    quoted = re.compile(rf"[\"'](?:{'|'.join(names)})[\"']")
    files = [path for path in FILES if quoted.search(read(path))]
    found = [(path.name, text) for path in files for _, text in said(path) if text in names]
    allowed = [path.relative_to(ROOT).as_posix() for path in FILES if path.name in {name for name, _ in found}]
    assert set(allowed) <= {LISTS_THEM}


def test_no_text_of_the_core_asks_for_a_section_of_a_bundled_plugin():
    asked = re.compile(r"entries\(\"(\w+)\"\)")
    found = {
        (path.relative_to(ROOT).as_posix(), name)
        for path in FILES
        for name in asked.findall(read(path))
        if name in BUNDLED
    }
    assert found == set()
