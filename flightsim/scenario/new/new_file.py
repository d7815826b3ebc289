"""A new scenario file: from a starter or from answers, written whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from contextlib import suppress
from difflib import get_close_matches
from errno import ENAMETOOLONG
from importlib.resources import files
from pathlib import Path

from flightsim.errors import Asked, BadInputError
from flightsim.scenario.reading.text import cut

STARTERS = ("garage", "hall", "lean_to")


def new_file(
    path: Path, starter: str | None, overwrite: bool, asked: Callable[[], str], more: Mapping[str, str] | None = None
) -> None:
    """Write a scenario file from a starter, or from answers: `asked` asks for them and gives the file's text.

    more: starters that plugins add, text by name. Raises BadInputError when the file is there already or cannot be
    written, or there is no such starter.
    """
    check_free(path, overwrite)
    known = {**dict.fromkeys(STARTERS), **(more or {})}
    if starter is not None and starter not in known:
        near = get_close_matches(starter, known, 1) or [STARTERS[0]]
        words = f": there is no such starter\n  allowed: {', '.join(known)}\n  try: {near[0]}"
        raise BadInputError(Asked("from", cut(starter, 60)), words)
    text = asked() if starter is None else known[starter] or starter_text(starter)
    write_whole(path, text, overwrite)


def starter_text(name: str) -> str:
    """The text of a starter."""
    return (files("flightsim.scenario.new") / f"{name}.yaml").read_text(encoding="utf-8")


def check_free(path: Path, overwrite: bool) -> None:
    """Before anything is asked: raises BadInputError where nothing could be written later."""
    if os.path.isdir(path):
        raise BadInputError(f"{path}: this is a folder\n  try: flightsim new {path / 'bay.yaml'}")
    if os.path.exists(path) and not overwrite:
        words = f"{path}: there is such a file already\n  try: another name, or "
        raise BadInputError(words, Asked("overwrite"))
    if not os.path.isdir(path.parent):
        raise BadInputError(f"{path}: there is no folder {path.parent}\n  try: mkdir -p {path.parent}")
    try:
        os.lstat(_beside(path))
    except FileNotFoundError:
        pass
    except OSError as error:  # a name that is too long
        raise _not_written(path, error) from None


def write_whole(path: Path, text: str, overwrite: bool) -> None:
    """Write beside, then move into place in one step. Raises BadInputError; the old file then stands untouched."""
    beside = _beside(path)
    try:
        with beside.open("x", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if not overwrite:
            path.open("x").close()  # claims the name: fails when somebody made the file meanwhile
        os.replace(beside, path)
    except OSError as error:
        raise _not_written(path, error) from None
    finally:
        with suppress(OSError):
            beside.unlink()


def _beside(path: Path) -> Path:
    return path.with_name(f".{path.name}.{os.getpid()}.part")


def _not_written(path: Path, error: OSError) -> BadInputError:
    words, way = error.strerror or str(error), "a shorter name" if error.errno == ENAMETOOLONG else "another folder"
    return BadInputError(f"{cut(str(path), 120)}: the file cannot be written: {words}\n  try: {way}")
