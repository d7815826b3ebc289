"""Tables of cloths, kept on this machine: a lattice takes seconds, and gives the same numbers every time.

A file's name is a hash of what was asked, of every source that a table is made of, and of numpy; in the file, a hash of
the numbers stands before them. What does not match is worked out again. Where nothing can be kept, nothing is: no run
fails for it.
"""

from __future__ import annotations

import os
import platform
import sys
import tempfile
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from hashlib import sha256
from io import BytesIO
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Arrays = dict[str, NDArray[np.float64]]
MOST = 500  # tables of some 10 kB; when there are more, those go that nobody has read for longest
SEAL = 32  # bytes of the hash before the numbers


def kept_arrays(asked: str, work: Callable[[], Arrays]) -> Arrays:
    """The arrays for what was asked, from where they are kept, or worked out and kept. asked: all that decides them."""
    file = _folder() / f"{sha256((_sources() + asked).encode()).hexdigest()[:32]}.npz"
    if (found := _read(file)) is not None:
        return found
    arrays = work()
    _write(file, arrays)
    return arrays


def _read(file: Path) -> Arrays | None:
    """What a file holds, None where it is not there or not as it was written."""
    try:
        data = file.read_bytes()
        if sha256(data[SEAL:]).digest() != data[:SEAL]:
            return None
        with suppress(OSError):
            os.utime(file)  # when it was last read
        with np.load(BytesIO(data[SEAL:]), allow_pickle=False) as kept:
            return {name: np.asarray(kept[name], dtype=np.float64) for name in kept.files}
    except (OSError, ValueError):
        return None


def _write(file: Path, arrays: Arrays) -> None:
    """Write a whole file or none: another process may read it at any time."""
    with BytesIO() as out, suppress(OSError):
        np.savez(out, **arrays)  # type: ignore[arg-type]
        data = out.getvalue()
        file.parent.mkdir(parents=True, exist_ok=True)
        _make_room(file.parent)
        handle, part = tempfile.mkstemp(dir=file.parent)
        try:
            with os.fdopen(handle, "wb") as new:
                new.write(sha256(data).digest() + data)
            Path(part).replace(file)
        except BaseException:
            Path(part).unlink(missing_ok=True)
            raise


def _make_room(folder: Path) -> None:
    """Remove the files that were read longest ago, until there is room for one more."""
    read_last: list[tuple[float, Path]] = []
    for file in folder.iterdir():
        with suppress(OSError):  # another process may have removed it
            read_last.append((file.stat().st_mtime, file))
    for _, file in sorted(read_last)[: max(0, len(read_last) - MOST + 1)]:
        with suppress(OSError):
            file.unlink()


@cache
def _sources() -> str:
    """A hash of all that a table is made of."""
    found = sha256(repr((platform.machine(), platform.python_version(), np.__version__)).encode())
    for source in sorted(Path(__file__).parent.glob("*.py")):
        found.update(source.name.encode() + source.read_bytes())
    return found.hexdigest()


def _folder() -> Path:
    """Where this system keeps what can be made again."""
    home = Path(os.path.expanduser("~"))
    if sys.platform == "win32":
        caches = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif sys.platform == "darwin":
        caches = home / "Library" / "Caches"
    else:
        caches = Path(os.environ.get("XDG_CACHE_HOME") or home / ".cache")
    return caches / "flightsim" / "cloth"
