"""A results folder: built beside its place and moved there whole; nobody else's file is ever lost to it.

A result lists its own files in `.flightsim`. A folder that holds anything else is left alone.
"""

from __future__ import annotations

import ctypes
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from flightsim.errors import Asked, BadInputError
from flightsim.report.pages.held import held, left_behind
from flightsim.scenario.reading.text import cut

LIST = ".flightsim"  # in a result: the names of its files, one a line
UNFINISHED, ASIDE = ".part", ".old"
_DROPPED = (".DS_Store", "Thumbs.db", "desktop.ini")  # file browsers leave them wherever somebody looks
_AT_CWD, _EXCHANGE = -100, 2  # Linux: AT_FDCWD, RENAME_EXCHANGE of renameat2(2)


def check_out(out: Path) -> None:
    """Raise BadInputError where results cannot go, before any work is done. Clears what killed runs left there."""
    place = _resolved(out)
    if place == Path.cwd() or place in Path.cwd().parents:
        raise _refuse(out, "is the folder that you are in, or holds it", "a folder of its own, such as results/garage")
    if place.exists() and not place.is_dir():
        raise _refuse(out, "is a file", "a folder, new or of an earlier run")
    if os.path.ismount(place):
        raise _refuse(out, "is a whole drive, which cannot be replaced", f"a folder on it, such as {out / 'garage'}")
    home = place.parent
    while not home.exists():
        home = home.parent
    try:
        os.rmdir(tempfile.mkdtemp(prefix=f".{place.name}.", suffix=UNFINISHED, dir=home))
        clear(place)
        _check_contents(out, place)
    except OSError as error:
        raise BadInputError(
            Asked("folder", str(out)),
            f": {home} cannot be written to: {error.strerror or error}\n  try: another ",
            Asked("folder"),
        ) from error


def _resolved(out: Path) -> Path:
    """Where a folder really is. Raises BadInputError for a place that no system can have."""
    try:
        place = out.resolve()
        place.exists()
    except (OSError, RuntimeError, ValueError) as error:  # too long; links in a ring; a NUL
        words = getattr(error, "strerror", None) or "its links lead in a ring, or it has a character no name can have"
        refusal = f": {words}\n  try: another "
        raise BadInputError(Asked("folder", cut(str(out), 120)), refusal, Asked("folder")) from error
    return place


def _refuse(out: Path, found: str, allowed: str) -> BadInputError:
    words = f" {found}; nothing there was touched\n  allowed: {allowed}\n  try: another "
    return BadInputError(Asked("folder", str(out)), words, Asked("folder"))


def not_written(out: Path, error: OSError) -> BadInputError:
    """What is said where writing failed."""
    words = f": {error.strerror or error}; nothing was written there\n  try: another "
    return BadInputError(Asked("folder", str(out)), words, Asked("folder"), ", or free space")


def _check_contents(out: Path, place: Path) -> None:
    """Only a result of ours, or nothing, may be replaced."""
    if not place.is_dir():
        return
    there = sorted(str(path.relative_to(place)) for path in place.rglob("*") if path.is_symlink() or not path.is_dir())
    if there and LIST not in there:
        raise _refuse(out, "holds something that is no result of flightsim", "a new folder, or one of an earlier run")
    ours = (place / LIST).read_text(encoding="utf-8", errors="replace").splitlines() if there else []
    others = [name for name in there if name not in (LIST, *ours) and Path(name).name not in _DROPPED]
    if others:
        names = ", ".join(others[:3]) + (f" and {len(others) - 3} more" if len(others) > 3 else "")
        found = f"holds {names}, which no run of flightsim wrote"
        raise _refuse(out, found, "a folder that holds an earlier result and nothing else")


@contextmanager
def built_beside(out: Path) -> Iterator[Path]:
    """A folder to write a result into; moved to `out` when the block ends well, removed when it does not.

    Raises OSError. An earlier result stays in its place until the new one takes it, in one step where the system
    can swap two folders (Linux), else in two.
    """
    place = out.resolve()
    with folder_beside(place) as building:  # after a swap what is removed is the earlier result
        building.chmod(0o755)
        yield building
        names = sorted(str(path.relative_to(building)) for path in building.rglob("*") if not path.is_dir())
        (building / LIST).write_text("".join(f"{name}\n" for name in names), encoding="utf-8")
        _check_contents(out, place)
        _move_into_place(building, place)


@contextmanager
def folder_beside(place: Path) -> Iterator[Path]:
    """A folder beside a place, held while the block runs and then removed. Raises OSError."""
    place.parent.mkdir(parents=True, exist_ok=True)
    folder = Path(tempfile.mkdtemp(prefix=f".{place.name}.", suffix=UNFINISHED, dir=place.parent))
    with held(folder):
        try:
            yield folder
        finally:
            shutil.rmtree(folder, ignore_errors=True)


def _move_into_place(building: Path, place: Path) -> None:
    try:
        building.rename(place)  # nothing there, or an empty folder, which Windows does not replace
        return
    except OSError:
        if not place.is_dir():
            raise
    if swap(building, place):
        return
    aside = building.with_suffix(ASIDE)
    try:
        place.rename(aside)
        building.rename(place)
    except BaseException:
        if aside.exists() and not place.exists():
            aside.rename(place)
        raise
    shutil.rmtree(aside, ignore_errors=True)


def swap(one: Path, other: Path) -> bool:
    """Swap two folders in one step; False where the system cannot, and then nothing has changed."""
    try:
        renameat2 = ctypes.CDLL(None).renameat2
    except (OSError, AttributeError, TypeError):  # the last on Windows, which has no such handle
        return False
    names = os.fsencode(one), os.fsencode(other)
    renameat2.argtypes = (ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_uint)
    return bool(renameat2(_AT_CWD, names[0], _AT_CWD, names[1], _EXCHANGE) == 0)


def clear(place: Path) -> None:
    """Remove what runs that were killed left beside a result; put an earlier result back that one had moved aside."""
    if not place.parent.is_dir():
        return
    for path in place.parent.iterdir():
        if not (path.name.startswith(f".{place.name}.") and path.suffix in (UNFINISHED, ASIDE) and path.is_dir()):
            continue
        if not left_behind(path):
            continue
        if path.suffix == ASIDE and not place.exists():
            path.rename(place)
        else:
            shutil.rmtree(path, ignore_errors=True)
