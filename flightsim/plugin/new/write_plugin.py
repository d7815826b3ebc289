"""A package with a plugin that works, for somebody to change: section, guard, facing, law, figure and test."""

from __future__ import annotations

import re
import sys
from importlib.resources import files
from keyword import iskeyword
from pathlib import Path

from flightsim.errors import Asked, BadInputError
from flightsim.plugin.border import CORE_KEYS
from flightsim.plugin.hookspecs import HOOK_API
from flightsim.plugin.loading import BUNDLED

_NAME = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")
_LONGEST = 40


def write_plugin(name: str, parent: Path) -> Path:
    """Write the package `flightsim-NAME` into a folder; the package's folder.

    Raises BadInputError for a name that no plugin can have, or a place that is taken or cannot be written.
    """
    _check(name)
    folder = parent / f"flightsim-{name.replace('_', '-')}"
    if folder.exists():
        raise BadInputError(f"{folder}: there is such a folder already; nothing was written\n  try: another name")
    try:
        for path, text in _files(name).items():
            place = folder / path
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_text(text, encoding="utf-8")
    except OSError as error:
        raise BadInputError(f"{folder}: it cannot be written: {error.strerror or error}") from error
    return folder


def _check(name: str) -> None:
    allowed = "small letters, digits and underscores, a letter first, as in ball_rack"
    if not _NAME.fullmatch(name) or iskeyword(name) or len(name) > _LONGEST:
        fix = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_0123456789")[:_LONGEST] or "ball_rack"
        raise BadInputError(
            Asked("new", name[:80]), f": no plugin can have this name\n  allowed: {allowed}\n  try: {fix}"
        )
    if name in sys.stdlib_module_names:
        raise BadInputError(Asked("new", name[:80]), f": Python has a module of this name\n  try: my_{name}")
    if name in BUNDLED or name in CORE_KEYS:
        raise BadInputError(Asked("new", name[:80]), f": flightsim has this name itself\n  try: my_{name}")


def _files(name: str) -> dict[str, str]:
    """The texts of the package by path."""
    import jinja2

    words = name.replace("_", " ")
    values = {
        "name": name, "words": words, "title": words.capitalize(), "api": HOOK_API,
        "dashed": name.replace("_", "-"), "model": "".join(word.capitalize() for word in name.split("_")),
    }  # fmt: skip
    places = {
        "plugin.py.j2": f"{name}.py", "test_plugin.py.j2": f"tests/test_{name}.py",
        "pyproject.toml.j2": "pyproject.toml",
        "README.md.j2": "README.md", "example.yaml.j2": "example.yaml",
    }  # fmt: skip
    engine = jinja2.Environment(undefined=jinja2.StrictUndefined, keep_trailing_newline=True)  # noqa: S701 - no page
    here = files("flightsim.plugin.new")
    return {
        place: engine.from_string((here / source).read_text(encoding="utf-8")).render(values)
        for source, place in places.items()
    }
