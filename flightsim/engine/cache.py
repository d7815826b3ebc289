"""Where the compiled engine is kept, so that a machine compiles it once.

The folder's name holds a hash of all sources that the engine is made of, and of Python, numba and the processor:
numba's own index looks at one file only, and would not notice an edit in another. A list of what was written stands
beside it: what does not match it, or has none, is cleared and compiled again.
"""

from __future__ import annotations

import json
import platform
import tempfile
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Any

import llvmlite.binding
import numba
import numpy as np
from numba.misc import appdirs

ROOMS = ("bay", "cloth", "contact", "engine", "flight")  # of the package: whose numbers and functions it is made of
_appdirs: Any = appdirs
ENTRY = "play.py"
LIST = "complete.json"


def _key() -> str:
    """A hash of everything that the compiled engine depends on."""
    package = Path(__file__).parents[1]
    found = sha256()
    for room in ROOMS:
        for source in sorted((package / room).rglob("*.py")):
            found.update(str(source).encode() + source.read_bytes())
    stamp = (package / "engine" / ENTRY).stat()  # numba looks at this as well
    machine = (llvmlite.binding.get_host_cpu_name(), llvmlite.binding.get_host_cpu_features().flatten())
    versions = (platform.python_version(), numba.__version__, np.__version__, llvmlite.__version__)
    found.update(repr((machine, versions, stamp.st_mtime_ns, stamp.st_size)).encode())
    return found.hexdigest()[:16]


def _folder() -> Path | None:
    """The folder, made if need be; None where nothing can be written."""
    folder = Path(_appdirs.user_cache_dir("flightsim")) / f"engine-{_key()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return folder
    except OSError:
        return None


FOLDER = _folder()


def is_sound() -> bool:
    """Whether the folder holds a whole compiled engine, as it was written."""
    if FOLDER is None:
        return False
    try:
        written = json.loads((FOLDER / LIST).read_text(encoding="utf-8"))
        return bool(written) and written == _hashes(FOLDER)
    except (OSError, ValueError):
        return False


def clear() -> None:
    """Remove what the folder holds: it is not whole."""
    for file in FOLDER.rglob("*") if FOLDER is not None else ():
        if file.is_file():
            with suppress(OSError):
                file.unlink()


def seal() -> None:
    """Write the list of what the folder holds."""
    if FOLDER is not None:
        with suppress(OSError):
            _write_at_once(FOLDER / LIST, json.dumps(_hashes(FOLDER)))


def _hashes(folder: Path) -> dict[str, str]:
    files = sorted(file for file in folder.rglob("*.nb*") if file.is_file())
    return {str(file.relative_to(folder)): sha256(file.read_bytes()).hexdigest() for file in files}


def _write_at_once(file: Path, text: str) -> None:
    """Write a whole file or none: another process may read it at any time."""
    with tempfile.NamedTemporaryFile("w", encoding="utf-8", dir=file.parent, delete=False) as part:
        part.write(text)
    Path(part.name).replace(file)
