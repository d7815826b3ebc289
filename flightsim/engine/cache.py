"""Where what is compiled is kept, so that a machine compiles it once.

A folder's name holds a hash of all sources that it is made of, and of Python, numba and the processor: numba's own
index looks at one file only, and would not notice an edit in another. A list of what was written stands beside it:
what does not match it, or has none, is cleared and compiled again. Folders of other versions that nobody has used for a
month go when a new one is written.
"""

from __future__ import annotations

import json
import os
import platform
import shutil
import tempfile
import time
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

import llvmlite.binding
import numba
import numpy as np
from numba.misc import appdirs

_appdirs: Any = appdirs
_config: Any = numba.config
LIST = "complete.json"
OLD = 30 * 24 * 3600.0  # s since it was last used
PACKAGE = Path(__file__).parents[1]


@dataclass(frozen=True)
class Kept:
    """One folder of compiled functions; None where nothing can be written."""

    folder: Path | None

    @classmethod
    def of(cls, name: str, sources: tuple[str, ...], entry: str) -> Kept:
        """The folder, made if need be. sources: rooms and files of the package that it is made of; entry: the file
        that Python calls.
        """
        folder = Path(_appdirs.user_cache_dir("flightsim")) / f"{name}-{_key(sources, entry)}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=folder):
                return cls(folder)
        except OSError:
            return cls(None)

    def is_sound(self) -> bool:
        """Whether the folder holds all that was compiled, as it was written."""
        if self.folder is None:
            return False
        try:
            written = json.loads((self.folder / LIST).read_text(encoding="utf-8"))
            sound = bool(written) and written == _hashes(self.folder)
        except (OSError, ValueError):
            return False
        with suppress(OSError):
            os.utime(self.folder / LIST)  # when it was last used
        return sound

    def clear(self) -> None:
        """Remove what the folder holds: it is not whole."""
        for file in self.folder.rglob("*") if self.folder is not None else ():
            if file.is_file():
                with suppress(OSError):
                    file.unlink()

    def seal(self) -> None:
        """Write the list of what the folder holds."""
        if self.folder is not None:
            with suppress(OSError):
                _write_at_once(self.folder / LIST, json.dumps(_hashes(self.folder)))
            self.clear_old()

    def clear_old(self) -> None:
        """Remove folders of the same name, for other versions, that nobody has used for a month."""
        if self.folder is None:
            return
        name, now = self.folder.name.rpartition("-")[0], time.time()
        for other in self.folder.parent.glob(f"{name}-*"):
            with suppress(OSError):
                if other != self.folder and now - (other / LIST).stat().st_mtime > OLD:
                    shutil.rmtree(other)


def _key(sources: tuple[str, ...], entry: str) -> str:
    """A hash of everything that what is compiled depends on."""
    found = sha256()
    for name in sources:
        room = PACKAGE / name
        for source in sorted(room.rglob("*.py")) if room.is_dir() else [room]:
            found.update(str(source).encode() + source.read_bytes())
    stamp = (PACKAGE / entry).stat()  # numba looks at this as well
    machine = (llvmlite.binding.get_host_cpu_name(), llvmlite.binding.get_host_cpu_features().flatten())
    versions = (platform.python_version(), numba.__version__, np.__version__, llvmlite.__version__)
    checks = bool(_config.BOUNDSCHECK)  # compiled in or not
    found.update(repr((machine, versions, checks, stamp.st_mtime_ns, stamp.st_size)).encode())
    return found.hexdigest()[:16]


def _hashes(folder: Path) -> dict[str, str]:
    files = sorted(file for file in folder.rglob("*.nb*") if file.is_file())
    return {str(file.relative_to(folder)): sha256(file.read_bytes()).hexdigest() for file in files}


def _write_at_once(file: Path, text: str) -> None:
    """Write a whole file or none: another process may read it at any time."""
    with tempfile.NamedTemporaryFile("w", encoding="utf-8", dir=file.parent, delete=False) as part:
        part.write(text)
    Path(part.name).replace(file)


ENGINE = Kept.of("engine", ("bay", "cloth", "contact", "engine", "flight"), "engine/follow.py")
